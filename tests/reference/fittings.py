"""Elbows, changes of area, junctions, dampers, fans: fluids and scipy, or the printed formula worked out."""

import math

import fluids
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

METHODS = {
    # Idelchik, 3rd ed., diagram 6-7.
    "idelchik": lambda d: (0.95 + 33.5 / d)
    * (0.95 * math.sin(math.radians(d / 2)) ** 2 + 2.05 * math.sin(math.radians(d / 2)) ** 4),
    "rennels": lambda d: fluids.bend_miter(angle=d, method="Rennels"),
    # The engine's documented choice within the printed range; no single source gives a value.
    "vaned": lambda d: 0.25 * METHODS["idelchik"](d) / METHODS["idelchik"](90.0),
}


def mitred(row):
    return METHODS[row["reference"]](float(row["angle_deg"]))


def radius(row):
    angle, ratio = float(row["angle_deg"]), float(row["radius_ratio"])
    if row["reference"] == "rennels":
        fd = fluids.friction.Clamond(float(row["reynolds"]), 0.0)
        return fluids.bend_rounded(Di=1.0, angle=angle, fd=fd, bend_diameters=ratio, method="Rennels")
    # Idelchik, 3rd ed., diagram 6-1.
    a1 = 0.9 * math.sin(math.radians(angle)) if angle <= 70 else 1.0 if angle == 90 else 0.7 + 0.35 * angle / 90
    return a1 * 0.21 * ratio ** (-0.5 if ratio >= 1 else -2.5)


def area_change(row):
    n = float(row["area_ratio"])
    small, large = math.sqrt(n), 1.0
    angle, radius_ratio = (float(row[key] or 0) for key in ("angle_deg", "radius_ratio"))
    slope = math.tan(math.radians(angle / 2.0)) ** 1.25 * (1.0 - n) ** 2

    def conical(method):
        # Rennels takes the friction factor given, Idelchik's table has friction in it.
        return fluids.diffuser_conical(Di1=small, Di2=large, angle=angle, fd=0.0, method=method)

    return {
        "sudden expansion": lambda: fluids.diffuser_sharp(Di1=small, Di2=large),
        "sudden contraction, Idelchik": lambda: 0.5 * (1.0 - n) ** 0.75,
        "sudden contraction, Rennels": lambda: fluids.contraction_sharp(Di1=large, Di2=small),
        "flush entry": lambda: fluids.entrance_sharp(method="Idelchik"),
        "cone": lambda: 3.2 * slope,
        "pyramid": lambda: 4.0 * slope,
        "cone, wide": lambda: fluids.diffuser_sharp(Di1=small, Di2=large),
        "diffuser, Idelchik": lambda: conical("Idelchik"),
        "diffuser, Rennels": lambda: conical("Rennels"),
        "rounded entry": lambda: fluids.entrance_rounded(Di=1.0, rc=radius_ratio, method="Idelchik"),
        "re-entrant entry": lambda: fluids.entrance_distance(Di=1.0, t=0.001, l=1.0, method="Idelchik"),
        "exit": fluids.exit_normal,
    }[row["fitting"]]()


def gardel(kind, leg, q, a, angle):
    """Gardel 1957, sharp edges."""
    t, c = math.tan(math.radians(angle) / 2), math.cos(math.radians(angle))
    s = 1.0 - q
    if kind == "diverging":
        if leg == "straight":
            return 0.03 * s**2 + 0.35 * q**2 - 0.2 * q * s
        return 0.95 * s**2 + q**2 * (1.3 * t - 0.3 + (0.4 - 0.1 * a) / a**2) + 0.4 * q * s * (1 + 1 / a) * t
    if leg == "straight":
        return 0.03 * s**2 - q**2 * (1 + 1.62 * (c / a - 1) - 0.38 * (1 - a)) + (2 - a) * q * s
    return -0.92 * s**2 - q**2 * (1.2 * (c / a - 1) + 0.8 * (1 - 1 / a**2) - (1 / a - 1) * c) + (2 - a) * q * s


def idelchik(kind, leg, q, a, angle):
    """Idelchik, 3rd ed., chapter 7, stepwise tables 7-1, 7-4 and diagram 7-20; A_straight = A_common."""
    v, c = q / a, math.cos(math.radians(angle))
    wide = a > 0.35
    if kind == "diverging":
        if leg == "straight":
            tau = 0.4 if a <= 0.4 else (2.0 if q <= 0.5 else 0.3) * (2 * q - 1)
            return tau * q**2
        tau = (1 - 0.6 * q if q <= 0.6 else 0.6) if wide else (1.1 - 0.7 * q if q <= 0.4 else 0.85)
        return tau * (1 + v * v - 2 * v * c)
    if leg == "straight":
        k = 0.8 * q if not wide or q > 0.6 else 0.5
        return 1 - (1 - q) ** 2 - (1.4 - q) * q**2 * math.sin(math.radians(angle)) - 2 * k * v * c
    factor = (0.9 * (1 - q) if q <= 0.4 else 0.55) if wide else 1.0
    return factor * (1 + v * v - 2 * (1 - q) ** 2 - 2 / a * q * q * c)


def junction(kind):
    def value(row):
        q, a, angle = float(row["q"]), float(row["area_ratio"]), float(row["angle_deg"])
        if row["reference"] == "dead leg":
            return 1.0 if kind == "diverging" else -1.0
        if row["reference"] == "tp410":
            return fluids.K_branch_converging_Crane(
                D_run=1.0, D_branch=math.sqrt(a), Q_run=1.0 - q, Q_branch=q, angle=angle
            )
        law = {"gardel": gardel, "idelchik": idelchik}[row["reference"]]
        return law(kind, row["leg"], q, a, 180.0 - angle if row["inlet"] == "straight" else angle)

    return value


def symmetric_tee(row):
    """Idelchik, 3rd ed., diagram 7-29, on the velocity pressure of the common (side) leg."""
    q, n = float(row["q"]), float(row["area_ratio"]) ** 2
    if row["pattern"] == "diverging":
        return 1.0 + 1.5 * n * q * q
    return 1.0 + n + 3.0 * n * (q * q - q)


def blades(row):
    b = {"opposed": 0.105, "parallel": 0.0842}[row["blades"]]
    return math.exp(-1.51 + b * float(row["angle_deg"]))


def damper_travel(row):
    leak = float(row["leakage_percent"]) / 100.0
    zeta = blades({"blades": row["blades"], "angle_deg": 90.0 - 0.9 * float(row["open_percent"])})
    return leak + (1.0 - leak) * math.sqrt(0.35 / zeta)


def points(text):
    return [tuple(map(float, pair.split(":"))) for pair in text.split()]


def fan_curve(row):
    x, y = zip(*points(row["points"]))
    return float(PchipInterpolator(x, y)(float(row["q_m3_s"])))


def fan_laws(row):
    n, d = float(row["speed_ratio"]), float(row["rho"]) / float(row["rho_curve"])
    return {
        "q": float(row["q_m3_s"]) * n,
        "p": float(row["p_pa"]) * n * n * d,
        "power": float(row["power_w"]) * n**3 * d,
    }[row["quantity"]]


def fan_power(row):
    """Air power over efficiency; density changes it in proportion."""
    hot = float(row["q_m3_s"]) * float(row["p_pa"]) / float(row["efficiency"])
    return hot * float(row["rho"]) / float(row["rho_curve"])


def operating_point(row):
    c0, c1, c2, n, fans = (float(row[key]) for key in ("c0", "c1", "c2", "speed_ratio", "fans"))
    d = float(row["rho"]) / float(row["rho_curve"])

    def surplus(q):
        x = q / fans / n
        return d * n * n * (c0 + c1 * x + c2 * x * x) - float(row["fixed_pa"]) - float(row["system_k"]) * q * q

    return brentq(surplus, 1e-6, 100.0, xtol=1e-14)


def installed_flow(row):
    """Open damper and fixed resistance in a row; the damper then passes a fraction at equal drop."""
    opened, path = float(row["open_drop_pa"]), float(row["path_drop_pa"])
    rest = path - opened
    if row["law"] == "damper::authority":
        return 1.0 - rest / path
    phi = float(row["free_fraction"])
    return brentq(lambda q: opened * (q / phi) ** 2 + rest * q * q - path, 0.0, 1.0, xtol=1e-15, rtol=1e-14)


def fan_data(row):
    a, b = float(row["a"]), float(row["b"])
    if row["law"] == "fan::belt_speed":
        belt = math.pi * b * a / 60.0 * (1.0 - float(row["d"]))
        return 60.0 * belt / (math.pi * float(row["c"]))
    if row["law"] == "fan::cold_start_speed_ratio":
        return brentq(lambda n: b * n**3 - a, 0.0, 2.0, xtol=1e-15, rtol=1e-14)
    # Any flow does: shaft power Q p / eta into the heat capacity flow Q rho cp.
    q = 3.7
    return (q * a / float(row["d"])) / (q * b * float(row["c"]))


TOPICS = {
    "installed_flow": installed_flow,
    "fan_data": fan_data,
    "elbow_mitred": mitred,
    "elbow_radius": radius,
    "area_change": area_change,
    "junction_diverging": junction("diverging"),
    "junction_converging": junction("converging"),
    "symmetric_tee": symmetric_tee,
    "damper_blades": blades,
    "damper_travel": damper_travel,
    "fan_curve": fan_curve,
    "fan_laws": fan_laws,
    "fan_power": fan_power,
    "operating_point": operating_point,
}
