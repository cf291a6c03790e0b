"""What even out and set returns promise, found by a general-purpose optimiser on models of its own."""

import functools
import json
import math

from scipy.optimize import brentq, least_squares

import manifolds
import plans


@functools.cache
def slots(case):
    """Widths (mm) at which a run's slots pass equal flows, together the wanted one, at the fan's speed."""
    run = plans.Run(case, 1.0, "cross_flow_sharp", 1, 1450.0)
    wanted = run.plan["required_flow_kg_s"] / run.rho / run.slots["count"]

    def wrong(widths_mm):
        run.slots["widths_m"] = [w / 1000.0 for w in widths_mm]
        # The pressure at the dead end rises until the fan gives no more.
        low = high = math.log(60.0)
        while run.surplus(high) > 0.0:
            low, high = high, high + 0.1
        end = brentq(run.surplus, low, high, xtol=1e-14)
        return [q / wanted - 1.0 for q in run.march(math.exp(end))[0]]

    start = [18.0] * run.slots["count"]
    found = least_squares(wrong, start, bounds=(12.0, 40.0), xtol=1e-12, ftol=1e-14, gtol=1e-14)
    assert max(abs(x) for x in found.fun) < 1e-7, "the optimiser did not find equal flows"
    return list(found.x)


@functools.cache
def returns(case):
    """Openings (mm) of the slides of one header that give wanted shares, the widest 80 % open."""
    plan = json.loads((plans.CASES / f"{case}.evenrise.json").read_text(encoding="utf-8"))
    duct = next(d for d in plan["ducts"] if d.get("role") == "return")
    openings = sorted(plan["returns"], key=lambda r: r["station_m"])
    rho, mu = plans.air(plan["zones"][0]["set_temperature_c"])
    spacing = openings[1]["station_m"] - openings[0]["station_m"]
    weights = [r["weight"] for r in openings]
    shares = [w / sum(weights) for w in weights]
    # What slots bring in goes back; the door brings what the exhaust takes.
    row = {
        "rho": rho,
        "mu": mu,
        "duct_w_m": duct["section"]["width_m"],
        "duct_h_m": duct["section"]["height_m"],
        "theta": 2.0,
        "cd": plans.SLIDE,
        "spacing_m": spacing,
        "eps_m": 9e-5,
        "q_total_m3_s": plan["required_flow_kg_s"] / rho,
    }

    def wrong(opens_mm):
        areas = [r["width_m"] * h / 1000.0 for r, h in zip(openings, opens_mm)]
        flows, _ = manifolds.header(tuple({**row, "areas_m2": " ".join(f"{a:.15g}" for a in areas)}.items()))
        of_all = [q / sum(flows) - s for q, s in zip(flows, shares)]
        # One more equation than shares give: the neediest stands at the trim opening.
        return [*of_all, max(h / (1000.0 * r["height_m"]) for r, h in zip(openings, opens_mm)) - 0.8]

    start = [700.0 * r["height_m"] for r in openings]
    found = least_squares(wrong, start, bounds=(5.0, 1000.0), xtol=1e-12, ftol=1e-14, gtol=1e-14)
    assert max(abs(x) for x in found.fun) < 1e-7, "the optimiser did not find the shares"
    return {r["id"]: h for r, h in zip(openings, found.x)}


TOPICS = {
    "optimised_slots": lambda row: slots(row["case"])[int(row["element"].split("/")[1]) - 1],
    "optimised_returns": lambda row: returns(row["case"])[row["element"]],
}
