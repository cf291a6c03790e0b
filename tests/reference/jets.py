"""Jets from slots and holes: the published decay of their axis velocity and what buoyancy does."""

import math

GRAVITY = 9.80665


def decay(row):
    """Axis velocity or air carried, by the similarity constants of plane and round jets."""
    size, u0, x = float(row["size_m"]), float(row["u0_m_s"]), float(row["x_m"])
    ratio = math.sqrt(float(row["density_ratio"]))
    if row["id"].startswith("jet_gutmark"):
        # Fit of measurements with hot wires; the virtual origin lies 4.72 slot widths downstream.
        return u0 / math.sqrt(0.189 * (x / size - 4.72))
    return {
        "plane_velocity": 3.50 * u0 * ratio * math.sqrt(0.5 * size / x),
        "round_velocity": 6.3 * u0 * ratio * size / x,
        "plane_carried": 0.44 * math.sqrt(x / (0.5 * size)),
    }[row["quantity"]]


def buoyancy(row):
    """Archimedes number and momentum length of a plane jet, by their definitions."""
    b, u0 = float(row["b_m"]), float(row["u0_m_s"])
    jet, around = float(row["jet_c"]) + 273.15, float(row["around_c"]) + 273.15
    lift = GRAVITY * (jet - around) / around
    if row["quantity"] == "archimedes":
        return lift * b / (u0 * u0)
    density = around / jet
    momentum, flux = density * u0 * u0 * b, lift * density * u0 * b
    return momentum / flux ** (2.0 / 3.0)


TOPICS = {"jet_decay": decay, "jet_buoyancy": buoyancy}
