"""Air properties from CoolProp and the standard atmosphere from fluids."""

from CoolProp.CoolProp import HAPropsSI, PropsSI
from fluids.atmosphere import ATMOSPHERE_1976

ZERO_CELSIUS = 273.15


def density(row):
    t, p, w = float(row["t_c"]) + ZERO_CELSIUS, float(row["p_pa"]), float(row["humidity_ratio"])
    if w == 0.0:
        return PropsSI("D", "T", t, "P", p, "Air")
    return 1.0 / HAPropsSI("Vha", "T", t, "P", p, "W", w)


def dry(name):
    return lambda row: PropsSI(name, "T", float(row["t_c"]) + ZERO_CELSIUS, "P", float(row["p_pa"]), "Air")


def barometer(row):
    return ATMOSPHERE_1976(float(row["altitude_m"])).P


TOPICS = {
    "air_density": density,
    "air_viscosity": dry("V"),
    "air_specific_heat": dry("C"),
    "air_conductivity": dry("L"),
    "barometer": barometer,
}
