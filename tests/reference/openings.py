"""Doorways by integrating the local velocity, leakage and air curtains by their printed formulas."""

import math

from scipy.integrate import quad
from scipy.optimize import brentq

GRAVITY = 9.80665
CUBIC_FOOT, FOOT, INCH_OF_WATER = 0.3048**3, 0.3048, 249.08891
EN_CLASSES = {"A": 0.027, "B": 0.009, "C": 0.003, "D": 0.001}


def leakage(row):
    """l/(s·m²), with the sign of the pressure difference."""
    p = float(row["dp_pa"])
    law, grade = row["law"].split("::")[1], row["grade"]
    if law == "factor_from_cl":
        per_100_square_feet = float(grade) * (abs(p) / INCH_OF_WATER) ** 0.65
        value = 1e3 * per_100_square_feet * CUBIC_FOOT / 60.0 / (100.0 * FOOT**2)
    elif law == "factor_from_test":
        value = 1e3 * float(grade) / 12.0 * (abs(p) / 250.0) ** 0.65
    else:
        value = (EN_CLASSES[grade] if law == "class_factor" else 1e3 * float(grade)) * abs(p) ** 0.65
    return math.copysign(value, p)


def exchange(row, dp):
    """Flows both ways at a pressure difference at the floor, by quadrature over the height."""
    cd, width, sill, height, first, second = (
        float(row[key]) for key in ("cd", "width_m", "sill_m", "height_m", "rho_from", "rho_to")
    )
    rise = GRAVITY * (second - first)
    neutral = -dp / rise if rise else math.inf
    edges = sorted({sill, sill + height, min(max(neutral, sill), sill + height)})

    def passing(rho, sign):
        def per_height(z):
            return math.sqrt(2.0 * rho * max(sign * (dp + rise * z), 0.0))

        parts = (quad(per_height, *pair, epsabs=1e-13, epsrel=1e-12, limit=400)[0] for pair in zip(edges, edges[1:]))
        return cd * width * sum(parts)

    out = passing(first, 1.0)
    return {"out": out, "in": passing(second, -1.0), "out_volume": out / first, "neutral": neutral, "dp_floor": dp}


def doorway(row):
    if row["reference"] == "Brown & Solvason":
        # Equation 6 for two temperatures close together; density step over mean density in place of ΔT/T.
        first, second = float(row["rho_from"]), float(row["rho_to"])
        height, step = float(row["height_m"]), 2.0 * abs(second - first) / (first + second)
        return float(row["cd"]) / 3.0 * float(row["width_m"]) * height * math.sqrt(GRAVITY * height * step)
    if row["dp_floor_pa"]:
        return exchange(row, float(row["dp_floor_pa"]))[row["quantity"]]
    wrong = lambda dp: exchange(row, dp)["out"] - exchange(row, dp)["in"]
    return exchange(row, brentq(wrong, -500.0, 500.0, xtol=1e-14, rtol=1e-14))[row["quantity"]]


def air_curtain(row):
    """The outlet velocity whose momentum over the stack force is the wanted deflection modulus."""
    height, nozzle, jet = (float(row[key]) for key in ("height_m", "nozzle_m", "rho_jet"))
    stack = GRAVITY * height**2 * (float(row["rho_cold"]) - float(row["rho_hot"]))
    return brentq(lambda u: jet * nozzle * u * u / stack - float(row["modulus"]), 0.0, 1000.0, xtol=1e-14, rtol=1e-14)


TOPICS = {"leakage": leakage, "doorway": doorway, "air_curtain": air_curtain}
