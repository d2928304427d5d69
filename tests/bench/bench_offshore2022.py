"""Measure replanning at sea on published instances (tests/bench/offshore2022): our cost beside the best published strategy's.

A case is a start day; the last rows are means: over the 21 starts whose published results follow from the definition, and over
all 30. `net_...` leaves out vessel days that were booked and not used. The planner is a small exact model of its own: the
fortnight's problem has no job price that jumps on a failure day and no turbine that stands from a failure until its job, so
of our core only the sparse rows and HiGHS are used. Job length, prices, failure days and the absence of a cap are inferred
(see the package).
"""

from __future__ import annotations

import json
import sys
import time
from functools import cache
from typing import Any

from tests.bench.offshore2022 import data
from tests.bench.offshore2022.evaluate import evaluate
from tests.bench.offshore2022.replan import replan

MEANS = {"mean of 21": data.matched, "mean of 30": lambda: data.STARTS}
CASES = (*(str(start) for start in data.STARTS), *MEANS)
NUMBERS = ("value", "published", "net_published", "stood_hours", "lost_energy", "seconds", "violations")


def run(case: str, seed: int = 1) -> dict[str, Any]:
    """One row in dollars; the gap is (value - published) / published, so below 0 is better. Nothing is random."""
    if not data.here():
        return {"case": case, "note": f"instances not here ({data.FOLDER})"}
    rows = [measure(start) for start in (MEANS[case]() if case in MEANS else (int(case),))]
    row: dict[str, Any] = {"case": case, **{name: round(sum(r[name] for r in rows) / len(rows), 2) for name in NUMBERS}}
    row["violations"] = sum(r["violations"] for r in rows)
    for of in ("published", "net_published"):
        row["gap" if of == "published" else "net_gap"] = round((row["value"] - row[of]) / row[of], 4)
    return row


@cache
def measure(start: int) -> dict[str, float]:
    """Numbers of one start."""
    sea, old = data.read_sea(), data.published()[start]
    began = time.perf_counter()
    schedule = replan(sea, start)
    seconds = time.perf_counter() - began
    cost = evaluate(sea, start, schedule)
    net = old.cost - (old.vessel_booked - old.vessel_used) * data.VESSEL_DAY
    numbers = (cost.value, old.cost, net, cost.stood_hours, cost.parts["lost energy"], seconds, len(cost.violations))
    return dict(zip(NUMBERS, numbers, strict=True))


if __name__ == "__main__":
    for name in sys.argv[1:] or CASES:
        print(json.dumps(run(name)))
