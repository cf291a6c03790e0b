"""Panels, joints, floors and growing metal, each from its equations by solvers of scipy.

Wool is stone wool of 80 to 100 kg/m³ by the engine's curve (typical declared values, from memory): what is checked is
what a wall or floor makes of it, by quadrature over the curve.
"""

import functools
import math

import ht
import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.constants import sigma
from scipy.integrate import quad
from scipy.linalg import eigh_tridiagonal, solve_banded
from scipy.optimize import brentq, fsolve

ZERO_CELSIUS, ATMOSPHERE, GRAVITY = 273.15, 101325.0, 9.80665


def wool(celsius):
    return 0.0357 + 5.9e-5 * celsius + 4.1e-7 * celsius**2


def wool_mean(hot, cold):
    return quad(wool, cold, hot)[0] / (hot - cold) if abs(hot - cold) > 1e-9 else wool(hot)


def black(first, second, emissivity):
    """Net radiation from a small surface into a large room, W/m²."""
    return emissivity * sigma * ((first + ZERO_CELSIUS) ** 4 - (second + ZERO_CELSIUS) ** 4)


def iso_convection(skin, ambient, height=3.0):
    difference = abs(skin - ambient)
    if height**3 * difference <= 10.0:
        return 1.32 * (difference / height) ** 0.25
    return 1.74 * difference ** (1.0 / 3.0)


def churchill_chu(skin, ambient, height=3.0):
    """Free convection at a wall by the ht library, W/(m²·K)."""
    film = 0.5 * (skin + ambient) + ZERO_CELSIUS
    air = lambda name: PropsSI(name, "T", film, "P", ATMOSPHERE, "Air")
    nu = air("V") / air("D")
    grashof = GRAVITY / film * abs(skin - ambient) * height**3 / nu**2
    return ht.conv_free_immersed.Nu_vertical_plate_Churchill(air("PRANDTL"), grashof) * air("L") / height


def panel(row):
    """Skin °C or loss W/(m²·K) of a wall in a plant of 25 °C, moving oven air at 15 W/(m²·K) inside."""
    inside, thick, emissivity, ambient = float(row["inside_c"]), float(row["wool_m"]), float(row["emissivity"]), 25.0
    convection = churchill_chu if row["kind"] == "reference library" else iso_convection

    def leaves(skin):
        return black(skin, ambient, emissivity) + convection(skin, ambient) * (skin - ambient)

    def left_over(skin):
        flux = leaves(skin)
        inner = inside - flux / 15.0
        return quad(wool, skin, inner)[0] / thick - flux

    skin = brentq(left_over, ambient + 1e-6, inside, xtol=1e-12)
    flux = leaves(skin)
    return {"skin": skin, "flux": flux, "u": flux / (inside - ambient)}[row["quantity"]]


def fin(h, k, thick, reach=2.0, cells=40000):
    """Heat into a fin to both sides per kelvin at its root, W/(m·K), by finite differences."""
    step = reach / cells
    bands = np.zeros((3, cells))
    bands[0, 1:] = bands[2, :-1] = -k * thick / step
    bands[1] = 2.0 * k * thick / step + h * step
    bands[1, -1] -= k * thick / step
    right = np.zeros(cells)
    right[0] = k * thick / step
    first = solve_banded((1, 1), bands, right)[0]
    # The root's own half cell loses heat too.
    return 2.0 * (k * thick / step * (1.0 - first) + 0.5 * h * step)


def joint(row):
    """Two webs of 1.2 mm steel through 100 mm, each 600 mm, between skins of 1 mm; the skins are solved as fins."""
    inside, ambient, metal = float(row["a"]), float(row["b"]), float(row["c"]) / 100.0
    k = 45.0
    inner, outer = fin(15.0, k, 0.001), fin(8.0, k, 0.001)
    # Heat into the joint from inside, along the webs and out of the outer skin is the same.
    web = k * metal * 2.0 * 0.0012 / 0.1
    matrix = np.array([[inner + web, -web], [-web, web + outer]])
    inner_line, outer_line = np.linalg.solve(matrix, [inner * inside, outer * ambient])
    psi = outer * (outer_line - ambient) / (inside - ambient)
    return {"psi": psi, "added": psi / 0.6, "line": outer_line}[row["quantity"]]


def skin(row):
    if row["law_call"] == "joint":
        return joint(row)
    if row["law_call"] == "surface":
        surface, ambient, emissivity = (float(row[key]) for key in "abc")
        return black(surface, ambient, emissivity) / (surface - ambient) + iso_convection(surface, ambient)
    # ASTM C1055 (regressions and constants from memory).
    logarithm = math.log(1000.0 * float(row["a"]))
    constants = {"first": (39.468, -0.41352, 190.60), "lasting": (15.005, 0.51907, 352.97)}
    a, b, c = constants[row["quantity"]]
    return a + b * logarithm + c / logarithm


# A floor of 6 × 30 m under 200 °C in a plant of 20 °C, slab 200 mm, ground 14 °C.
AREA, PERIMETER, INSIDE, PLANT, GROUND = 180.0, 72.0, 200.0, 20.0, 14.0
SLAB_M, SLAB_K, SLAB_RHO_C, SOIL_K, SOIL_RHO_C, DECK = 0.2, 1.8, 2300.0 * 900.0, 2.0, 2.0e6, 10.0
GAP_UPPER, CONCRETE = 0.26, 0.9


def gap_conductance(height, above, below, upper=GAP_UPPER):
    """Conduction through still air and radiation between its faces, W/(m²·K)."""
    air = PropsSI("L", "T", 0.5 * (above + below) + ZERO_CELSIUS, "P", ATMOSPHERE, "Air")
    exchange = 1.0 / (1.0 / upper + 1.0 / CONCRETE - 1.0)
    return air / height + black(above, below, exchange) / (above - below)


def below_slab(above_m2k_w):
    """Resistance from the top of the slab to the ground by ISO 13370 (from memory), m²·K/W."""
    breadth = AREA / (0.5 * PERIMETER)
    thick = 0.3 + SOIL_K * (above_m2k_w + SLAB_M / SLAB_K + 0.04)
    if thick < breadth:
        u = 2.0 * SOIL_K / (math.pi * breadth + thick) * math.log(math.pi * breadth / thick + 1.0)
    else:
        u = SOIL_K / (0.457 * breadth + thick)
    return 1.0 / u - above_m2k_w


def wool_above(wool_m, under):
    return 1.0 / DECK + wool_m / wool_mean(INSIDE, under)


def still(wool_m, gap_m):
    """Underside of the wool and top of the slab with a still gap or none, °C: the same heat passes all."""

    def top(under):
        flux = (INSIDE - under) / wool_above(wool_m, under)
        if gap_m == 0.0:
            return under
        return brentq(lambda t: gap_conductance(gap_m, under, t) * (under - t) - flux, -200.0, under - 1e-9, xtol=1e-13)

    def left(under):
        upper = wool_above(wool_m, under)
        above = upper + ((under - top(under)) / ((INSIDE - under) / upper))
        return (INSIDE - under) / upper - (top(under) - GROUND) / below_slab(above)

    under = brentq(left, GROUND + 5.0, INSIDE - 1.0, xtol=1e-12)
    return under, top(under)


def led(wool_m, gap_m, flow_m3_s):
    """Underside of the wool, air halfway through the gap and top of the slab, °C."""

    def left(x):
        under, air, top = x
        upper = wool_above(wool_m, under)
        flux = (INSIDE - under) / upper
        across = black(under, top, 1.0 / (1.0 / GAP_UPPER + 1.0 / CONCRETE - 1.0))
        # Free convection of 3 W/(m²·K) at both faces; the air's mean is halfway from plant air to what leaves.
        carried = flow_m3_s * 1.2 * 1006.0 * 2.0 * (air - PLANT) / AREA
        into = (top - GROUND) / below_slab(upper + 1.0 / gap_conductance(gap_m, under, top))
        return [flux - across - 3.0 * (under - air), 3.0 * (under + top - 2.0 * air) - carried, flux - carried - into]

    return fsolve(left, [120.0, 40.0, 60.0], xtol=1e-13)


@functools.cache
def steady(wool_m, gap_m, flow_m3_s):
    """Flux from the oven and into the ground, top of the slab, resistances above and below it, air out of the gap."""
    if flow_m3_s > 0.0:
        under, air, top = led(wool_m, gap_m, flow_m3_s)
    else:
        (under, top), air = still(wool_m, gap_m), PLANT
    above = wool_above(wool_m, under) + (1.0 / gap_conductance(gap_m, under, top) if gap_m > 0.0 else 0.0)
    return {
        "flux": (INSIDE - under) / wool_above(wool_m, under),
        "into": (top - GROUND) / below_slab(above),
        "top": top,
        "above": above,
        "below": below_slab(above),
        "air": 2.0 * air - PLANT,
    }


@functools.cache
def slab_top(wool_m, gap_m, hours):
    """Top of the slab after hours of heating, °C: even cells of slab and soil, exact in time by their eigenvalues.

    The soil is as deep as carries the steady flux.
    """
    settled = steady(wool_m, gap_m, 0.0)
    depth = (settled["below"] - SLAB_M / SLAB_K) * SOIL_K
    slab_cells, soil_cells = 100, 900
    of = lambda slab, soil: np.concatenate([np.full(slab_cells, slab), np.full(soil_cells, soil)])
    width = of(SLAB_M / slab_cells, depth / soil_cells)
    store, half = width * of(SLAB_RHO_C, SOIL_RHO_C), 0.5 * width / of(SLAB_K, SOIL_K)
    link = np.concatenate([[1.0 / (settled["above"] + half[0])], 1.0 / (half[:-1] + half[1:]), [1.0 / half[-1]]])
    # C·dT/dt = −K·T + sources, made symmetric by the root of C.
    root = np.sqrt(store)
    rates, modes = eigh_tridiagonal((link[:-1] + link[1:]) / store, -link[1:-1] / (root[:-1] * root[1:]))
    # Settled, the flux is the same everywhere.
    resistance = np.cumsum(1.0 / link)
    flux = (INSIDE - GROUND) / resistance[-1]
    ends = INSIDE - flux * resistance[:-1]
    apart = modes.T @ (root * (of(PLANT, GROUND) - ends))
    now = ends + modes @ (np.exp(-rates * 3600.0 * hours) * apart) / root
    return now[0] + link[0] * (INSIDE - now[0]) * half[0]


def floor(row):
    quantity = row["quantity"]
    if quantity == "gap":
        return 1.0 / gap_conductance(float(row["gap_m"]), 80.0, 60.0)
    wool_m, gap_m = float(row["wool_m"]), float(row["gap_m"])
    if quantity == "after":
        return slab_top(wool_m, gap_m, float(row["hours"]))
    flow = float(row["flow_m3_s"] or 0.0)
    return steady(wool_m, gap_m, flow)[quantity]


def growth(row):
    quantity, celsius = row["quantity"], float(row["t_c"])
    length = float(row["length_m"])
    if quantity == "bow":
        # Skins of different length, a thickness apart, lie on an arc; its rise over the chord.
        radius = float(row["thick_m"]) / (12.2e-6 * celsius)
        return 1e3 * radius * (1.0 - math.cos(0.5 * length / radius))
    if quantity == "stress":
        return 205e3 * 12.3e-6 * celsius
    steel = lambda t: 1.2e-5 * t + 0.4e-8 * t**2 - 2.416e-4
    stainless = lambda t: (16.0 + 4.79e-3 * t - 1.243e-6 * t**2) * (t - 20.0) * 1e-6
    elongation = {"steel": steel, "stainless": stainless}[row["material"]](celsius)
    return elongation if quantity == "elongation" else 1e3 * length * elongation


TOPICS = {"heat_panel": panel, "heat_skin": skin, "heat_floor": floor, "heat_growth": growth}
