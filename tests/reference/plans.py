"""A whole plan of one slotted run, solved apart: marched from the dead end and closed at the fan."""

import functools
import json
import math
from pathlib import Path

import fluids
from CoolProp.CoolProp import PropsSI
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

import manifolds
import openings

CASES = Path(__file__).resolve().parent.parent / "outside" / "cases"
ZERO_CELSIUS, SEA_LEVEL = 273.15, 101325.0
SLIDE, ENTRY, CONSTANT = 0.61, 0.5, 0.61
# Beyond this share of velocity pressure the printed slot laws are not used.
LIMIT = 0.8


def free_streamline(r, _):
    """The small slot's closed form; `slot_free_streamline` checks it against the contour integral."""
    u = math.sqrt(r)
    inverse = math.sqrt(1.0 - r) + 2.0 / math.pi * (1.0 + r) / (1.0 - r) + u / math.pi * math.log((1.0 + u) / (1.0 - u))
    return 1.0 / inverse


MODELS = {**manifolds.MODELS, "free_streamline": free_streamline}


def air(celsius):
    state = ("T", celsius + ZERO_CELSIUS, "P", SEA_LEVEL, "Air")
    return PropsSI("D", *state), PropsSI("V", *state)


class Run:
    """Fan, one duct with slots into one zone, one return opening in the heater's wall, one door."""

    def __init__(self, case, regain, law, fans, speed):
        self.plan = json.loads((CASES / f"{case}.evenrise.json").read_text(encoding="utf-8"))
        self.regain, self.law, self.fans = regain, MODELS[law], fans
        fan, self.slots = self.plan["heater"]["fan"], self.plan["slot_rows"][0]
        self.speed = speed / fan["curve_speed_rpm"]
        self.rho, self.mu = air(self.plan["heater"]["supply_temperature_c"])
        self.zone_rho, _ = air(self.plan["zones"][0]["set_temperature_c"])
        self.duct = self.plan["ducts"][0]
        self.w, self.h = self.duct["section"]["width_m"], self.duct["section"]["height_m"]
        self.area = self.w * self.h
        self.outlet = fans * fan["outlet_area_m2"]
        static = fan["basis"] == "static"
        x = [p["flow_m3_s"] for p in fan["points"]]
        y = [
            p["pressure_pa"] + static * 0.5 * fan["curve_density_kg_m3"] * (p["flow_m3_s"] / fan["outlet_area_m2"]) ** 2
            for p in fan["points"]
        ]
        self.curve, self.end, self.scale = PchipInterpolator(x, y), x[-1], self.rho / fan["curve_density_kg_m3"]

    def friction(self, v, length):
        d = 2.0 * self.w * self.h / (self.w + self.h)
        reynolds = self.rho * v * d / self.mu
        assert reynolds > 4000.0, "the march knows turbulent flow only"
        f = fluids.friction.Clamond(reynolds, self.duct["roughness_m"] / d)
        return f * length / d * 0.5 * self.rho * v * v

    def march(self, e):
        """Flows (m³/s), total pressures before each slot and the total pressure at the duct's first point.

        Static pressure rises by R times the loss of velocity pressure across a slot; the slot sees the
        total pressure before it and the mean velocity.
        """
        flows, totals, v = [], [], 0.0
        rho, pitch = self.rho, self.slots["pitch_m"]
        widths = self.slots["widths_m"]
        for i in reversed(range(self.slots["count"])):
            a = self.slots["length_m"] * widths[i]
            if v:
                e += self.friction(v, pitch)

            def before(q, e=e, v=v):
                return e + (1.0 - self.regain) * 0.5 * rho * ((v + q / self.area) ** 2 - v * v)

            def wrong(q, v=v, a=a, before=before):
                total, mean = before(q), v + 0.5 * q / self.area
                r = min(0.5 * rho * mean * mean / total, LIMIT)
                return q - self.law(r, CONSTANT) * a * math.sqrt(2.0 * total / rho)

            q = brentq(wrong, 0.0, 1.2 * a * math.sqrt(2.0 * e / rho), xtol=1e-16, rtol=1e-14)
            e = before(q)
            assert 0.5 * rho * (v + 0.5 * q / self.area) ** 2 < LIMIT * e, "a slot near the inlet is starved"
            v += q / self.area
            flows.append(q)
            totals.append(e)
        inlet = e + self.friction(v, self.slots["first_station_m"])
        return flows[::-1], totals[::-1], inlet

    def rise(self, q):
        x = q / self.fans / self.speed
        assert x <= self.end, "beyond the maker's curve"
        return self.scale * self.speed**2 * float(self.curve(x))

    def need(self, flows, inlet):
        """Total pressure the fan must give: run, entry, box it blows into, return opening."""
        q = sum(flows)
        duct, outlet = (0.5 * self.rho * (q / area) ** 2 for area in (self.area, self.outlet))
        opening = self.plan["returns"][0]
        back = q * self.rho / (SLIDE * opening["width_m"] * opening["open_m"])
        box = 1.0 + self.plan["heater"]["fan"].get("system_effect", 0.0)
        return inlet + ENTRY * duct + box * outlet + back * back / (2.0 * self.zone_rho)

    def surplus(self, log_e):
        flows, _, inlet = self.march(math.exp(log_e))
        return self.rise(sum(flows)) - self.need(flows, inlet)

    def ends(self):
        """Pressures at the dead end, as logarithms, where the fan meets the need; by rising flow."""
        found, low, last = [], math.log(40.0), None
        for k in range(200):
            here = low + k * 0.04
            flows, *_ = self.march(math.exp(here))
            if sum(flows) > self.fans * self.speed * self.end:
                break
            value = self.surplus(here)
            if last is not None and last * value < 0.0:
                found.append((brentq(self.surplus, here - 0.04, here, xtol=1e-15, rtol=1e-14), value < last))
            last = value
        return found


@functools.cache
def solved(case, regain, law, fans, speed):
    run = Run(case, regain, law, fans, speed)
    ends = run.ends()
    return run, ends, [run.march(math.exp(end)) for end, _ in ends]


def of(row):
    key = (row["case"], float(row["regain"]), row["slot_law"], int(row["fans"]), float(row["speed_rpm"]))
    run, ends, marches = solved(*key)
    return run, ends, marches


def run(row):
    plan, ends, marches = of(row)
    assert len(ends) == 1
    (flows, totals, _), quantity = marches[0], row["quantity"]
    if quantity in ("slot_flow", "slot_total_pressure"):
        i = int(row["element"].split("/")[1]) - 1
        return plan.rho * flows[i] if quantity == "slot_flow" else totals[i]
    if quantity in ("in", "out", "neutral"):
        return door(plan, quantity)
    return {
        "total_flow": lambda: plan.rho * sum(flows),
        "max_over_min": lambda: max(flows) / min(flows),
        "worst_percent": lambda: 100.0 * max(abs(q * len(flows) / sum(flows) - 1.0) for q in flows),
        "fan_flow": lambda: sum(flows),
        "fan_pressure": lambda: plan.rise(sum(flows)),
    }[quantity]()


def door(plan, quantity):
    """The door brings what the exhaust takes, whatever the run does."""
    opening, exhaust = plan.plan["openings"][0], plan.plan["exhausts"][0]["mass_flow_kg_s"]
    ambient, _ = air(20.0)
    row = {
        "cd": opening["discharge_coefficient"],
        "width_m": opening["width_m"],
        "height_m": opening["height_m"],
        "sill_m": opening["sill_m"],
        "rho_from": plan.zone_rho,
        "rho_to": ambient,
    }

    def wrong(dp):
        return openings.exchange(row, dp)["out"] - openings.exchange(row, dp)["in"] + exhaust

    return openings.exchange(row, brentq(wrong, -100.0, 100.0, xtol=1e-13, rtol=1e-14))[quantity]


def speed(row):
    """The fan speed at which the run passes the wanted flow: its need there, found on the fan's laws."""
    plan, _, _ = of(row)
    wanted = float(row["required_kg_s"]) / plan.rho
    end = brentq(lambda x: sum(plan.march(math.exp(x))[0]) - wanted, math.log(40.0), 8.0, xtol=1e-15, rtol=1e-14)
    flows, _, inlet = plan.march(math.exp(end))
    need = plan.need(flows, inlet)

    def wrong(ratio):
        return plan.scale * ratio**2 * float(plan.curve(wanted / plan.fans / ratio)) - need

    found = brentq(wrong, wanted / plan.fans / plan.end, 5.0, xtol=1e-14, rtol=1e-14)
    return found * plan.plan["heater"]["fan"]["curve_speed_rpm"]


def points(row):
    plan, ends, marches = of(row)
    if row["quantity"] == "points":
        return float(len(ends))
    if row["quantity"] == "stable_points":
        return float(sum(stable for _, stable in ends))
    flow = sum(marches[int(row["element"]) - 1][0])
    return flow if row["quantity"] == "flow" else plan.rise(flow)


TOPICS = {
    "plan_run": run,
    "plan_regain": run,
    "plan_speed": speed,
    "plan_slot_laws": run,
    "plan_points": points,
}
