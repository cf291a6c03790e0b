"""Networks read from `tests/outside/cases/*.json` and solved by scipy; simple ones in closed form."""

import functools
import json
import math
from pathlib import Path

import numpy
from scipy.optimize import root

CASES = Path(__file__).resolve().parent.parent / "outside" / "cases"
GRAVITY = 9.80665


def law(branch, density):
    """Pressure drop as a function of volume flow."""
    kind = branch["law"]
    if kind["kind"] == "power":
        return lambda q: kind["c"] * q * abs(q) ** (kind["n"] - 1.0)
    if kind["kind"] == "orifice":
        c = density / 2.0 / (kind["cd"] * kind["area_m2"]) ** 2
        return lambda q: c * q * abs(q)
    if kind["kind"] == "fan":
        # The points of these cases lie on a parabola; it, not an interpolation, is the curve here.
        x, y = numpy.array(kind["points"]).T
        parabola = numpy.polyfit(x, y, 2)
        assert numpy.allclose(numpy.polyval(parabola, x), y, rtol=1e-12)
        assert kind["points_density_kg_m3"] == density and kind["speed_ratio"] == 1.0
        return lambda q: -numpy.polyval(parabola, q)
    raise ValueError(f"{branch['id']}: no law for {kind['kind']}")


@functools.cache
def solve(name):
    """Volume flows by branch and pressures by node."""
    case = json.loads((CASES / f"{name}.json").read_text(encoding="utf-8"))
    density = case["fluid"]["density_kg_m3"]
    nodes, branches = case["nodes"], case["branches"]
    free = [node["id"] for node in nodes if "total_pressure_pa" not in node]
    fixed = {node["id"]: node["total_pressure_pa"] for node in nodes if "total_pressure_pa" in node}
    inflow = {node["id"]: node.get("inflow_kg_s", 0.0) / density for node in nodes}
    laws = [law(branch, density) for branch in branches]
    level = max([abs(p) for p in fixed.values()] + [1.0])

    def wrong(x):
        flows, pressures = x[: len(branches)], {**fixed, **dict(zip(free, x[len(branches) :] * level))}
        drops = [
            (pressures[b["from"]] - pressures[b["to"]] - drop(q)) / level
            for b, drop, q in zip(branches, laws, flows)
        ]
        balance = [
            inflow[node]
            + sum(q for b, q in zip(branches, flows) if b["to"] == node)
            - sum(q for b, q in zip(branches, flows) if b["from"] == node)
            for node in free
        ]
        return drops + balance

    for start in (0.3, 0.1, 0.03, 1.0):
        found = root(wrong, [start] * len(branches) + [0.8] * len(free), method="hybr", tol=1e-15)
        # A few Newton steps with a numerical Jacobian take out what hybr leaves.
        x = found.x
        for _ in range(8):
            base = numpy.array(wrong(x))
            steps = 1e-7 * numpy.maximum(1e-3, abs(x))
            jacobian = numpy.array([(numpy.array(wrong(x + h * e)) - base) / h for h, e in zip(steps, numpy.eye(len(x)))]).T
            x = x - numpy.linalg.solve(jacobian, base)
        if max(abs(numpy.array(wrong(x)))) < 1e-12:
            break
    else:
        raise ValueError(f"{name}: no solution found")
    flows = dict(zip((b["id"] for b in branches), x[: len(branches)]))
    return flows, {**fixed, **dict(zip(free, x[len(branches) :] * level))}, density


def network(row):
    flows, pressures, density = solve(row["case"])
    if row["quantity"] == "volume_flow":
        return flows[row["element"]]
    if row["quantity"] == "mass_flow":
        return flows[row["element"]] * density
    return pressures[row["element"]]


def authority(row):
    """Installed characteristic: flow over flow fully open at constant end pressures."""
    n, phi = float(row["authority"]), float(row["free_fraction"])
    return 1.0 / math.sqrt(1.0 - n + n / phi**2)


def orifice(row):
    """Plates one after the other at one pressure difference: the reciprocal squares of Cd·a add up."""
    resistance = sum(1.0 / (float(row["cd"]) * float(a)) ** 2 for a in row["areas_m2"].split())
    return math.sqrt(2.0 * float(row["dp_pa"]) / float(row["rho"]) / resistance)


def simple_loss(row):
    q, rho = float(row["q_m3_s"]), float(row["rho"])
    if row["form"] == "k":
        return float(row["coefficient"]) * 0.5 * rho * (q / float(row["area_m2"])) ** 2
    return float(row["coefficient"]) * q ** float(row["exponent"])


TOPICS = {
    "air_loop": network,
    "balancing": network,
    "larock": network,
    "authority": authority,
    "orifice": orifice,
    "simple_loss": simple_loss,
}
