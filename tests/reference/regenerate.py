"""Recomputes the outside checks' expected values and compares them with the committed ones.

    python3 -m venv target/reference-venv
    target/reference-venv/bin/python -m pip install -r tests/reference/requirements.txt
    target/reference-venv/bin/python tests/reference/regenerate.py --check

(`tests/reference/check.sh` does all three.) `--check` ends with status 1 when a committed value has
drifted; `--write` writes the values of today into `tests/outside/*.csv`.

Rows of kind "reference library" and "independent solution" are recomputed, each by the function its
topic has below. "published example" and "measured" values come from print and are left alone.
"""

import csv
import io
import math
import sys
from pathlib import Path

# The checkout stays as it was: no __pycache__ beside the modules.
sys.dont_write_bytecode = True

import burning
import design
import enquiry
import envelope
import fittings
import friction
import heat
import jets
import manifolds
import networks
import openings
import optimised
import plans
import properties
import trade_units
import zones

OUTSIDE = Path(__file__).resolve().parent.parent / "outside"
RECOMPUTED = ("reference library", "independent solution")
# What the solvers below repeat to; the tightest tolerance of any row is ten times wider.
DRIFT = 1e-8
DIGITS = 10

TOPICS = {
    **burning.TOPICS,
    **design.TOPICS,
    **enquiry.TOPICS,
    **envelope.TOPICS,
    **properties.TOPICS,
    **friction.TOPICS,
    **heat.TOPICS,
    **fittings.TOPICS,
    **jets.TOPICS,
    **manifolds.TOPICS,
    **networks.TOPICS,
    **openings.TOPICS,
    **optimised.TOPICS,
    **plans.TOPICS,
    **trade_units.TOPICS,
    **zones.TOPICS,
}


def read(path):
    with path.open(newline="", encoding="utf-8") as file:
        reader = csv.DictReader(file)
        return list(reader.fieldnames), list(reader)


def write(path, columns, rows):
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_text(text.getvalue(), encoding="utf-8")


def main():
    if sys.argv[1:] not in (["--check"], ["--write"]):
        sys.exit(__doc__)
    writing = sys.argv[1] == "--write"
    drifted, compared = [], 0
    for path in sorted(OUTSIDE.glob("*.csv")):
        if path.stem in ("report", "sensitivity"):
            continue
        columns, rows = read(path)
        for row in rows:
            if row["kind"] not in RECOMPUTED:
                continue
            if path.stem not in TOPICS:
                sys.exit(f"{path.name}: no function recomputes this topic; add one to TOPICS")
            value = TOPICS[path.stem](row)
            if not math.isfinite(value):
                sys.exit(f"{path.name} {row['id']}: recomputed value is {value}")
            compared += 1
            if writing:
                row["expected"] = f"{value:.{DIGITS}g}"
            elif abs(value - float(row["expected"])) > DRIFT * abs(value):
                drifted.append(f"{path.name} {row['id']}: committed {row['expected']}, now {value:.{DIGITS}g}")
        if writing:
            write(path, columns, rows)
    print("\n".join(drifted) or f"{compared} reference values {'written' if writing else 'unchanged'}")
    sys.exit(1 if drifted else 0)


if __name__ == "__main__":
    main()
