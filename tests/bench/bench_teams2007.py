"""Measure crewing on public instances with published results: teams formed anew each day from skills with levels.

`manage.py bench teams2007` gives a row a case and then the mean of each set; `--case B` runs one set, `--case B3` one instance.
A case gets TEAMS2007_SECONDS of wall-clock time (default 60 for set A, 120 for set B; the challenge allowed 1,200). The aim: a
mean gap to the best known values of at most 2 % on set A and 5 % on set B, every plan within the rules by an evaluator that
knows nothing of the search.
"""

from __future__ import annotations

import json
import os
import sys
import time
from typing import Any

from tests.bench.teams2007.evaluate import value, violations
from tests.bench.teams2007.instances import ABSENT, NUMBERS, SETS, best_known, load, present
from tests.bench.teams2007.search import Search

CASES = (*(f"{letter}{number}" for letter in SETS for number in NUMBERS), *SETS)
SECONDS = {"A": 60.0, "B": 120.0}
AIMS = {"A": 0.02, "B": 0.05}

_measured: dict[tuple[str, int], dict[str, Any]] = {}
"""Rows of this process, so that the mean of a set does not measure its cases again."""


def run(case: str, seed: int) -> dict[str, Any]:
    """One row; `gap` is a share of the best known value (below zero: better than it). For a whole set: the mean of its cases."""
    if not present():
        return _row(case, seed, ABSENT)
    return _mean(case, seed) if case in SETS else _measure(case, seed)


def _row(case: str, seed: int, status: str, **numbers: Any) -> dict[str, Any]:
    names = ("value", "best_known", "gap", "seconds", "violations")
    return {"case": case, "seed": seed, **{name: numbers.get(name) for name in names}, "status": status}


def _measure(case: str, seed: int) -> dict[str, Any]:
    instance, best = load(case), best_known(case)
    began = time.perf_counter()
    plan = Search(instance, float(os.environ.get("TEAMS2007_SECONDS", SECONDS[case[0]])), seed).run()
    seconds = time.perf_counter() - began
    broken, worth = violations(instance, plan), value(instance, plan)
    row = _row(
        case,
        seed,
        "feasible" if not broken else "broken",
        value=worth,
        best_known=best,
        gap=round(worth / best - 1, 5),
        seconds=round(seconds, 1),
        violations=len(broken),
    )
    _measured[case, seed] = row
    return row


def _mean(letter: str, seed: int) -> dict[str, Any]:
    cases = [f"{letter}{number}" for number in NUMBERS]
    rows = [_measured.get((case, seed)) or _measure(case, seed) for case in cases]
    gap = sum(row["gap"] for row in rows) / len(rows)
    broken = sum(row["violations"] for row in rows)
    met = "aim met" if gap <= AIMS[letter] and not broken else "aim missed"
    return _row(letter, seed, met, gap=round(gap, 5), seconds=sum(row["seconds"] for row in rows), violations=broken)


if __name__ == "__main__":
    for name in sys.argv[1:] or ["A1"]:
        print(json.dumps(run(name, 1)), flush=True)
