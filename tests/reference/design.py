"""What the weights of a plan ask of its slots and returns."""

import json
from pathlib import Path

PLAN = Path(__file__).resolve().parent.parent / "outside" / "cases" / "gates_fine.evenrise.json"


def share(row):
    plan = json.loads(PLAN.read_text(encoding="utf-8"))
    element = row["element"]
    if "/" in element:
        rows = {r["id"]: r for r in plan["slot_rows"]}
        total = sum(r["weight"] * r["count"] for r in rows.values())
        return plan["required_flow_kg_s"] * rows[element.split("/")[0]]["weight"] / total
    weights = {r["id"]: r["weight"] for r in plan["returns"]}
    return weights[element] / sum(weights.values())


TOPICS = {"design_shares": share}
