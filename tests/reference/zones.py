"""Two zones on one burner at given flows, by enthalpies of CoolProp and root finding of scipy.

Every zone is well mixed; parts leave with a given effectiveness and pass the second zone first; exhaust is drawn from
both in proportion to their air, and plant air replaces it at the heater.
"""

import math

from CoolProp.CoolProp import PropsSI
from scipy.optimize import brentq, fsolve


def enthalpy(celsius):
    return PropsSI("H", "T", celsius + 273.15, "P", 101325.0, "Air")


def number(row, key):
    return float(row[key])


def second(row, flow):
    """Second zone fed with air of a given temperature, °C."""
    supply, plant, loss = (number(row, key) for key in ("supply_c", "plant_c", "loss2_w_k"))
    store, entry, water = (number(row, key) for key in ("store_w_k", "entry_c", "water_w"))
    taken = number(row, "effect2") * store

    def left(t):
        return flow * (enthalpy(supply) - enthalpy(t)) - loss * (t - plant) - taken * (t - entry) - water

    return brentq(left, -50.0, supply, xtol=1e-12)


def both(row):
    m1, m2, exhaust = (number(row, key) for key in ("m1_kg_s", "m2_kg_s", "exhaust_kg_s"))
    plant, first, store, entry = (number(row, key) for key in ("plant_c", "set_c", "store_w_k", "entry_c"))

    def parts(t2):
        between = entry + number(row, "effect2") * (t2 - entry)
        return between, store * (between - entry), number(row, "effect1") * store * (first - between)

    def left(x):
        supply, t2 = x
        _, in_second, in_first = parts(t2)
        return [
            m1 * (enthalpy(supply) - enthalpy(first)) - number(row, "loss1_w_k") * (first - plant) - in_first,
            m2 * (enthalpy(supply) - enthalpy(t2)) - number(row, "loss2_w_k") * (t2 - plant) - in_second - number(row, "water_w"),
        ]

    supply, t2 = fsolve(left, [first + 35.0, 0.6 * first], xtol=1e-13)
    share = 1.0 - exhaust / (m1 + m2)
    back = share * (m1 * enthalpy(first) + m2 * enthalpy(t2)) + exhaust * enthalpy(plant)
    burner = (m1 + m2) * enthalpy(supply) - back
    return {"supply": supply, "second": t2, "part": parts(t2)[0], "burner": burner / 1e3}


def two_zones(row):
    quantity = row["quantity"]
    if quantity == "second_alone":
        return second(row, number(row, "m2_kg_s"))
    if quantity == "flow_for":
        return brentq(lambda flow: second(row, flow) - number(row, "set_c"), 0.1, 20.0, xtol=1e-13)
    if quantity == "travel":
        # Flow over open flow of a linear damper with its share of the branch's drop.
        open_share, authority = number(row, "open_share"), number(row, "authority")
        through = 1.0 / math.sqrt(1.0 - authority + authority / open_share**2)
        return second(row, through * number(row, "m2_kg_s"))
    return both(row)[quantity]


TOPICS = {"two_zones": two_zones}
