"""Friction: fluids for round and turbulent flow, the exact series for laminar flow in rectangles."""

import math

import fluids


def turbulent(row):
    return fluids.friction.Clamond(float(row["reynolds"]), float(row["relative_roughness"]))


def laminar_rectangle(row):
    """C of f = C/Re from the Fourier series of the exact velocity profile."""
    a = float(row["aspect"])
    series = sum(math.tanh(n * math.pi / (2.0 * a)) / n**5 for n in range(1, 400, 2))
    return 96.0 / ((1.0 + a) ** 2 * (1.0 - 192.0 * a / math.pi**5 * series))


def factor(row):
    if float(row["reynolds"]) > 4000.0:
        return turbulent(row)
    return fluids.friction.friction_laminar(float(row["reynolds"]))


def duct(row):
    """Pressure drop of a straight duct by Darcy and Weisbach."""
    number = {key: float(row[key]) for key in ("width_m", "height_m", "length_m", "q_m3_s", "rho", "mu", "eps_m")}
    round_duct = row["shape"] == "round"
    w, h = number["width_m"], number["height_m"]
    area = math.pi / 4.0 * w * w if round_duct else w * h
    d = w if round_duct else 2.0 * w * h / (w + h)
    v = number["q_m3_s"] / area
    re = number["rho"] * v * d / number["mu"]
    if re > 4000.0:
        f = fluids.friction.Clamond(re, number["eps_m"] / d)
    else:
        f = fluids.friction.friction_laminar(re) if round_duct else laminar_rectangle({"aspect": min(w, h) / max(w, h)}) / re
    return (f * number["length_m"] / d + float(row["k"])) * 0.5 * number["rho"] * v * v


TOPICS = {"friction_factor": factor, "laminar_rectangle": laminar_rectangle, "duct_drop": duct}
