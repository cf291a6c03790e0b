"""Heat transfer by the ht library, conduction by its series, cure by quadrature, moist air by CoolProp."""

import math

import ht
from CoolProp.CoolProp import HAPropsSI, PropsSI
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import j0, j1

import openings

ZERO_CELSIUS = 273.15
TERMS = 60


def number(row, key):
    return float(row[key])


def nusselt(row):
    re, pr = number(row, "re"), number(row, "pr")
    law = row["law"].split("::")[1]
    if law == "cylinder":
        return ht.conv_external.Nu_cylinder_Churchill_Bernstein(re, pr)
    if law == "inside_duct":
        friction = (0.79 * math.log(re) - 1.64) ** -2
        return ht.conv_internal.turbulent_Gnielinski(Re=re, Pr=pr, fd=friction)
    if re <= 5e5:
        return ht.Nu_horizontal_plate_laminar_Baehr(re, pr)
    # Local coefficients, 0.332·x^½ up to the transition and 0.0296·x^⅘ after it, integrated along the plate.
    laminar = quad(lambda x: 0.332 * x**-0.5, 0.0, 5e5)[0]
    turbulent = quad(lambda x: 0.0296 * x**-0.2, 5e5, re)[0]
    return (laminar + turbulent) * pr ** (1 / 3)


def coefficient(row):
    """Forced convection of oven air at film temperature, W/(m²·K)."""
    t, speed, length = number(row, "film_c") + ZERO_CELSIUS, number(row, "speed_m_s"), number(row, "length_m")
    air = lambda name: PropsSI(name, "T", t, "P", 101325.0, "Air")
    re, pr = air("D") * speed * length / air("V"), air("PRANDTL")
    if row["law"] == "convection::cylinder":
        value = ht.conv_external.Nu_cylinder_Churchill_Bernstein(re, pr)
    else:
        value = ht.Nu_horizontal_plate_laminar_Baehr(re, pr)
    return value * air("L") / length


def lumped(row):
    """Time until a lumped body has a temperature, by quadrature of ρ·c·L·dT/(h·(T_air − T)), s."""
    store = number(row, "rho") * number(row, "c") * number(row, "depth_m")
    start, air, wanted = (number(row, key) for key in ("start_c", "air_c", "wanted_c"))
    return store / number(row, "h") * quad(lambda t: 1.0 / (air - t), start, wanted)[0]


def conduction(row):
    """Mean temperature of a thick plate or bar by its series, °C."""
    h, k, rho, c = (number(row, key) for key in ("h", "k", "rho", "c"))
    reach = number(row, "reach_m")
    biot, fourier = h * reach / k, k / (rho * c) * number(row, "seconds") / reach**2
    mean = 0.0
    for n in range(TERMS):
        if row["shape"] == "plate":
            z = brentq(lambda z: z * math.sin(z) - biot * math.cos(z), n * math.pi, (n + 0.5) * math.pi)
            a = 4.0 * math.sin(z) / (2.0 * z + math.sin(2.0 * z))
            mean += a * math.exp(-(z**2) * fourier) * math.sin(z) / z
        else:
            zeros = [0.0, *bessel_zeros()]
            z = brentq(lambda z: z * j1(z) - biot * j0(z), zeros[n] + 1e-12, zeros[n + 1] - 1e-12)
            a = 2.0 / z * j1(z) / (j0(z) ** 2 + j1(z) ** 2)
            mean += a * math.exp(-(z**2) * fourier) * 2.0 * j1(z) / z
    air, start = number(row, "air_c"), number(row, "start_c")
    return air + (start - air) * mean


def bessel_zeros():
    """Zeros of J₁, between which the eigenvalues of a cylinder lie."""
    from scipy.special import jn_zeros

    return jn_zeros(1, TERMS + 1)


def points(row):
    return sorted(tuple(map(float, pair.split(":"))) for pair in row["points"].split())


def time_needed(table, celsius):
    if celsius < table[0][0]:
        return math.inf
    for (c0, t0), (c1, t1) in zip(table, table[1:]):
        if celsius <= c1:
            return math.exp(math.log(t0) + (math.log(t1) - math.log(t0)) * (celsius - c0) / (c1 - c0))
    return table[-1][1]


def cure(row):
    table = points(row)
    if row["law"] == "part::Schedule":
        return time_needed(table, number(row, "metal_c"))
    # A lumped sheet in constant air, ∫dt/t_req.
    start, air, tau, end = (number(row, key) for key in ("start_c", "air_c", "tau_s", "seconds"))
    metal = lambda t: air - (air - start) * math.exp(-t / tau)
    when = lambda c: -tau * math.log((air - c) / (air - start))
    edges = [when(c) for c, _ in table if start < c < metal(end)] + [end]
    rate = lambda t: 1.0 / (60.0 * time_needed(table, metal(t)))
    return sum(quad(rate, *pair, limit=200)[0] for pair in zip(edges, edges[1:]))


def door(row):
    law = row["law"].split("::")[1]
    if law == "stop_kg_s":
        # The neutral level at the upper edge.
        rise = 9.80665 * (number(row, "rho_to") - number(row, "rho_from"))
        dp = -rise * (number(row, "sill_m") + number(row, "height_m"))
        return openings.exchange(row, dp)["in"]
    if law == "Doorway":
        # The level moves until as much more comes in as is drawn elsewhere.
        at = lambda dp: openings.exchange(row, dp)
        dp = brentq(lambda dp: at(dp)["in"] - at(dp)["out"] - number(row, "net_kg_s"), -500.0, 500.0, xtol=1e-13)
        return at(dp)["out"]
    hot, cold = number(row, "rho_from") + ZERO_CELSIUS, number(row, "rho_to") + ZERO_CELSIUS
    # Radiation of a black hole: the columns rho_from and rho_to hold the two temperatures, °C.
    return 5.670374419e-8 * (hot**4 - cold**4)


def moist(row):
    if row["law"] == "water::wet_bulb_c":
        t, w = number(row, "t_c") + ZERO_CELSIUS, number(row, "w")
        return HAPropsSI("Twb", "T", t, "P", 101325.0, "W", w) - ZERO_CELSIUS
    hot, cold, w = number(row, "t_c") + ZERO_CELSIUS, number(row, "t0_c") + ZERO_CELSIUS, number(row, "w")
    if w == 0.0:
        enthalpy = lambda t: PropsSI("H", "T", t, "P", 101325.0, "Air")
        return enthalpy(hot) - enthalpy(cold)
    enthalpy = lambda t: HAPropsSI("H", "T", t, "P", 101325.0, "W", w) / (1.0 + w)
    return enthalpy(hot) - enthalpy(cold)


def jet(row):
    """Speeds of jets by the momentum they keep, and what walls and bodies in them are given, W/(m²·K)."""
    u0, slot = number(row, "u0"), number(row, "b_m")
    if row["law"] == "convection::plane_jet_m_s":
        # Self-similar profile: the constant is Rajaratnam's.
        return u0 * 3.5 / math.sqrt(2.0 * number(row, "x_m") / slot)
    if row["law"] == "convection::merged_jets_m_s":
        # Momentum of all slots, u₀²·b each metre, in one even stream of the pitch's width.
        return brentq(lambda u: u * u * number(row, "pitch_m") - u0 * u0 * slot, 0.0, u0)
    if not row["height_m"]:
        # An oven's turbulence, on sheet only.
        turbulence = 1.5 if row["shape"] == "sheet" else 1.0
        return turbulence * coefficient({**row, "law": f"convection::{SHAPES[row['shape']]}"})
    # Martin 1977, array of slots, as in Incropera & DeWitt, eq. 7.75; hydraulic diameter twice the slot's width.
    film, height, pitch = number(row, "film_c") + ZERO_CELSIUS, number(row, "height_m"), number(row, "pitch_m")
    air = lambda name: PropsSI(name, "T", film, "P", 101325.0, "Air")
    re, open_share = u0 * 2.0 * slot * air("D") / air("V"), slot / pitch
    best = (60.0 + 4.0 * (height / (2.0 * slot) - 2.0) ** 2) ** -0.5
    assert 1500 <= re <= 40000 and 2 <= height / slot <= 80 and 0.008 <= open_share <= 2.5 * best, "outside Martin's range"
    across = 2.0 * re / (open_share / best + best / open_share)
    nu = 2.0 / 3.0 * best**0.75 * across ** (2.0 / 3.0) * air("PRANDTL") ** 0.42
    return nu * air("L") / (2.0 * slot)


SHAPES = {"sheet": "plate", "tube": "cylinder"}

TOPICS = {
    "heat_nusselt": nusselt,
    "heat_coefficient": coefficient,
    "heat_lumped": lumped,
    "heat_conduction": conduction,
    "heat_cure": cure,
    "heat_door": door,
    "heat_moist_air": moist,
    "heat_jet": jet,
}
