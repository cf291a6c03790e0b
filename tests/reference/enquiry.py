"""Heat and air needed by a list of parts: parts by differential equations, air by CoolProp, openings by quadrature."""

import functools
import json
import math
from pathlib import Path

import ht
from CoolProp.CoolProp import HAPropsSI, PropsSI
from scipy.constants import sigma
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

import openings

CASE = Path(__file__).resolve().parent.parent / "outside" / "cases" / "enquiry.evenrise.json"
ZERO_CELSIUS, ATMOSPHERE = 273.15, 101325.0
# What the enquiry leaves to the usual: speed at the parts, times, room, opening, humidity of plant and oven air.
AIR_M_S, DRY_S, WIDTH, HEIGHT, CLEAR, SEAL = 1.5, 240.0, 0.6 + 2 * 0.9, 1.2 + 0.9 + 0.6, 0.1, 0.5
OUTSIDE_W, OVEN_W, TRADE_W_M2K = 0.008, 0.06, 0.35 * 5.678263
STEEL = 7850.0, 490.0


def air(name, celsius):
    return PropsSI(name, "T", celsius + ZERO_CELSIUS, "P", ATMOSPHERE, "Air")


def lift(hot, cold):
    """Enthalpy moist plant air takes from cold to hot, J/kg of the mixture."""
    h = lambda t: HAPropsSI("H", "T", t + ZERO_CELSIUS, "P", ATMOSPHERE, "W", OUTSIDE_W)
    return (h(hot) - h(cold)) / (1.0 + OUTSIDE_W)


def black(hot, cold):
    return sigma * ((hot + ZERO_CELSIUS) ** 4 - (cold + ZERO_CELSIUS) ** 4)


def steam(vapour, liquid):
    """Heat of water from liquid to thin vapour, J/kg."""
    return PropsSI("H", "T", vapour + ZERO_CELSIUS, "P", 1000.0, "Water") - PropsSI(
        "H", "T", liquid + ZERO_CELSIUS, "Q", 0, "Water"
    )


def wet_bulb(celsius):
    """Where the water evaporated takes what the air gives, Lewis number one, °C."""
    heat = 1007.0 + 1860.0 * OVEN_W

    def left(wet):
        vapour = PropsSI("P", "T", wet + ZERO_CELSIUS, "Q", 0, "Water")
        saturated = 0.621945 * vapour / (ATMOSPHERE - vapour)
        latent = PropsSI("H", "T", wet + ZERO_CELSIUS, "Q", 1, "Water") - PropsSI("H", "T", wet + ZERO_CELSIUS, "Q", 0, "Water")
        return latent * (saturated - OVEN_W) - heat * (celsius - wet)

    return brentq(left, 20.0, 95.0, xtol=1e-10)


@functools.cache
def plan():
    return json.loads(CASE.read_text(encoding="utf-8"))


@functools.cache
def way():
    """The part through both zones."""
    asked, load = plan()["enquiry"], plan()["load"]
    part = load["parts"][0]
    speed = asked["parts_per_hour"] / asked["parts_per_m"] / 3600.0
    height, half = part["height_m"], part["shape"]["sheet"]["thickness_m"] / 2.0
    store = STEEL[0] * STEEL[1] * half

    def h(zone, skin):
        film = 0.5 * (zone + skin)
        re = AIR_M_S * height * air("D", film) / air("V", film)
        nu = ht.conv_external.Nu_horizontal_plate_laminar_Baehr(re, air("PRANDTL", film))
        radiation = part["emissivity"] * black(zone, skin) / (zone - skin)
        return 1.5 * nu * air("L", film) / height + radiation

    def heat(zone, start, seconds, until=None):
        """Temperature after a time, or the time until a temperature."""
        rate = lambda _, t: [h(zone, t[0]) * (zone - t[0]) / store]
        reached = lambda _, t: t[0] - (until or 1e9)
        reached.terminal = True
        found = solve_ivp(rate, (0.0, seconds), [start], rtol=1e-9, atol=1e-9, events=reached if until else None)
        return found.t[-1] if until else found.y[0, -1]

    dry, cure = asked["dry_off_c"], asked["cure_c"]
    wet = wet_bulb(dry)
    warming = heat(dry, load["entry_temperature_c"], 1e5, wet)
    latent = steam(wet, wet)
    drying = warming + part["water_kg_m2"] * latent / (h(dry, wet) * (dry - wet))
    round_up = lambda length: math.ceil(2.0 * length - 1e-9) / 2.0
    dry_m = max(round_up(speed * max(DRY_S, drying)), 2.0)
    dry_exit = heat(dry, wet, dry_m / speed - drying)
    bring_up = heat(cure, asked["cure_entry_c"], 1e5, plan()["coating"]["cure_points"][0]["temperature_c"])
    dwell = 60.0 * plan()["coating"]["cure_points"][0]["minutes"]
    cure_m = max(round_up(speed * (bring_up + dwell)), 3.0)
    return {
        "speed": speed,
        "water": speed * part["water_kg_m2"] * part["kg_per_m"] / (STEEL[0] * half),
        "drying": drying,
        "dry_exit": dry_exit,
        "bring_up": bring_up,
        "exit": heat(cure, asked["cure_entry_c"], cure_m / speed),
        "length": {"dry-off": dry_m, "cure": cure_m},
    }


def needed(row):
    asked, load, ambient = plan()["enquiry"], plan()["load"], plan()["site"]["ambient_c"]
    part, quantity, zone = load["parts"][0], row["quantity"], row["zone"]
    found = way()
    if quantity in ("speed", "drying", "dry_exit", "bring_up", "exit"):
        return found[quantity]
    inside = asked["dry_off_c"] if zone == "dry-off" else asked["cure_c"]
    length, speed = found["length"][zone], found["speed"]
    metal = lambda kg, rise: speed * kg * STEEL[1] * rise
    door = {
        "cd": 0.65,
        "width_m": 0.6 + 2 * CLEAR,
        "height_m": 1.2 + 2 * CLEAR,
        "sill_m": 0.9 - CLEAR,
        "rho_from": air("D", inside),
        "rho_to": air("D", ambient),
    }

    def spill(door, net):
        at = lambda dp: openings.exchange(door, dp)
        return at(brentq(lambda dp: at(dp)["in"] - at(dp)["out"] - net, -300.0, 300.0, xtol=1e-12))["out"]

    if quantity == "length":
        return length
    if quantity == "product":
        start, end = (load["entry_temperature_c"], found["dry_exit"]) if zone == "dry-off" else (asked["cure_entry_c"], found["exit"])
        return metal(part["kg_per_m"], end - start)
    if quantity in ("hangers", "chain"):
        start = load[quantity]["entry_temperature_c"] if zone == "dry-off" else asked["dry_off_c"]
        return metal(load[quantity]["kg_per_m"], inside - start)
    if quantity == "water":
        return found["water"] * steam(inside, load["entry_temperature_c"])
    if quantity == "walls":
        return TRADE_W_M2K * (2.0 * length * HEIGHT + WIDTH * HEIGHT) * (inside - ambient)
    if quantity == "roof":
        return TRADE_W_M2K * length * WIDTH * (inside - ambient)
    if quantity == "exhaust":
        return 0.5 * asked["exhaust_kg_s"] * lift(inside, ambient)
    if quantity == "openings":
        rolled = spill(door, 0.5 * asked["exhaust_kg_s"])
        area = door["width_m"] * door["height_m"]
        return (1.0 - SEAL) * (rolled * lift(inside, ambient) + area * black(inside, ambient))
    if quantity == "between_zones":
        between = {**door, "rho_from": air("D", asked["cure_c"]), "rho_to": air("D", asked["dry_off_c"])}
        return (1.0 - SEAL) * spill(between, 0.0) * lift(asked["cure_c"], asked["dry_off_c"])
    raise KeyError(quantity)


TOPICS = {"heat_need": needed}
