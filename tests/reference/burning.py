"""Fuels by Cantera, water by CoolProp, safety ventilation by moles.

Cantera's gri30 gives the enthalpies of all gases and, with CoolProp's heat of condensation, the gross heating value;
air is the dry air of the US Standard Atmosphere 1976. Standard volumes of fuels are those of an ideal gas at 60 °F and
one atmosphere; standard air of ventilation is 0.075 lb/ft³ at 28.96 g/mol.
"""

import functools

import cantera
from CoolProp.CoolProp import PropsSI

ATMOSPHERE, ZERO_CELSIUS = 101325.0, 273.15
REFERENCE_K = (60.0 + 459.67) / 1.8
POUND, FOOT, GALLON = 0.45359237, 0.3048, 231.0 * 0.0254**3
# International table.
BTU = 1055.05585262
FUELS = {
    "methane": {"CH4": 1.0},
    "natural_gas": {"CH4": 0.935, "C2H6": 0.036, "C3H8": 0.007, "CO2": 0.005, "N2": 0.017},
    "propane": {"C3H8": 1.0},
}
AIR = {"O2": 0.209476, "N2": 0.78084, "AR": 0.00934, "CO2": 0.000314}
WATER_G_MOL = 18.015268


def celsius(row, key="a"):
    return float(row[key]) + ZERO_CELSIUS


@functools.cache
def gas():
    return cantera.Solution("gri30.yaml")


@functools.cache
def enthalpy(species, kelvin):
    """J/mol, of formation included."""
    phase = gas()
    phase.TPX = kelvin, ATMOSPHERE, {species: 1.0}
    return phase.enthalpy_mole / 1e3


@functools.cache
def burnt(fuel, excess):
    """Air needed, air taken and products of a mole of fuel, mol, burnt completely."""
    phase = gas()
    atoms = lambda element: sum(x * phase.n_atoms(species, element) for species, x in FUELS[fuel].items())
    carbon, hydrogen, oxygen, nitrogen = (atoms(element) for element in ("C", "H", "O", "N"))
    needed = (carbon + hydrogen / 4.0 - oxygen / 2.0) / AIR["O2"]
    taken = needed * (1.0 + excess)
    products = {
        "CO2": carbon + AIR["CO2"] * taken,
        "H2O": hydrogen / 2.0,
        "N2": nitrogen / 2.0 + AIR["N2"] * taken,
        "O2": AIR["O2"] * (taken - needed),
        "AR": AIR["AR"] * taken,
    }
    return needed, taken, products


@functools.cache
def condensing():
    """Heat of condensation of water at the reference temperature, J/mol."""
    steam, water = (PropsSI("H", "T", REFERENCE_K, "Q", q, "Water") for q in (1, 0))
    return (steam - water) * WATER_G_MOL / 1e3


def content(moles, kelvin):
    return sum(n * enthalpy(species, kelvin) for species, n in moles.items())


@functools.cache
def heating_values(fuel):
    """Gross and net, J for a mole of fuel."""
    _, taken, products = burnt(fuel, 0.0)
    brought = content(FUELS[fuel], REFERENCE_K) + taken * content(AIR, REFERENCE_K)
    net = brought - content(products, REFERENCE_K)
    return net + products["H2O"] * condensing(), net


def available(row):
    """Share of the gross heating value left in the oven, %."""
    fuel, excess = row["fuel"], float(row["excess_percent"]) / 100.0
    products = burnt(fuel, excess)[2]
    gross, _ = heating_values(fuel)
    carried = content(products, celsius(row, "t_c")) - content(products, REFERENCE_K)
    return 100.0 * (1.0 - (carried + products["H2O"] * condensing()) / gross)


def fuels(row):
    fuel, excess = row["fuel"], float(row["excess_percent"]) / 100.0
    needed, taken, products = burnt(fuel, excess)
    gross, net = heating_values(fuel)
    mole_m3 = cantera.gas_constant / 1e3 * REFERENCE_K / ATMOSPHERE
    # ft³/min of a mole for each million Btu in an hour.
    scfm = mole_m3 / FOOT**3 / 60.0 * 1e6 * BTU / gross
    dry = sum(products.values()) - products["H2O"]
    return {
        "air_over_fuel": needed,
        "products": scfm * sum(products.values()),
        "air": scfm * taken,
        "oxygen": 100.0 * products["O2"] / dry,
        "net": net / gross,
        "gross": gross / mole_m3 / BTU * FOOT**3,
    }[row["quantity"]]


def water(row):
    if row["quantity"] == "steel":
        # EN 1993-1-2:2005, eq. (3.2a).
        return sum(c * float(row["a"]) ** n for n, c in enumerate((425.0, 0.773, -1.69e-3, 2.22e-6)))
    if row["quantity"] == "saturation":
        return PropsSI("P", "T", celsius(row), "Q", 0, "Water")
    start, end = celsius(row), celsius(row, "b")
    liquid = PropsSI("H", "T", start, "Q", 0, "Water")
    # Above 100 °C steam at one atmosphere, below it saturated vapour.
    state = ("P", ATMOSPHERE) if end > 373.2 else ("Q", 1)
    return (PropsSI("H", "T", end, *state, "Water") - liquid) / 1e3


def dilution(kg, molar_g, limit_percent, celsius, share=0.25):
    """Standard m³ of air that hold the vapour of a mass at a share of its lower limit."""
    limit = limit_percent / 100.0 * (1.0 - 0.000436 * (1.8 * celsius + 32.0 - 77.0))
    standard_mole_m3 = 28.96e-3 / (0.075 * POUND / FOOT**3)
    return kg / (molar_g / 1e3) * standard_mole_m3 * (1.0 - limit) / limit / share


def safety(row):
    number = lambda key: float(row[key])
    quantity = row["quantity"]
    if quantity == "purge":
        return number("c") * number("a") / number("b") / 60.0
    if quantity == "relief":
        # One square foot for each fifteen cubic feet.
        return number("a") / FOOT**3 / 15.0
    if quantity == "lfl":
        return 1.0 - 0.000436 * (1.8 * number("a") + 32.0 - 77.0)
    if quantity == "dilution":
        gallon_kg = number("a") * 8.328 * POUND
        return dilution(gallon_kg, number("b"), number("c"), number("d")) / FOOT**3
    if quantity == "powder":
        return dilution(0.09 * number("a"), 106.17, 0.9, number("b")) / FOOT**3 * 60.0
    if quantity == "products":
        return 183.0 * number("a") * 3600.0 / BTU / 1e6
    raise KeyError(quantity)


TOPICS = {"heat_available": available, "heat_fuel": fuels, "heat_water": water, "heat_safety": safety}
