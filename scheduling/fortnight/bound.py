"""A proven lower bound and layouts over days, found by HiGHS in a process of its own beside the search.

A process and not a thread, because HiGHS would wait for Python's lock at each of its many calls back. The problem goes in as
JSON, lines of JSON come out: {"bound": cents} and {"layout": [[[order, mode, visit], ...], day], ...}. Ending it early loses
nothing that was said before.

First the model that adds hours up per day (daymodel.py), solved with cuts and branches; each solution it finds is a layout for
the search. Then the linear relaxation of the model with hours within the day (slotting.py): its row prices give a bound that
is safe whatever their accuracy, because every column has finite limits.
"""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import highspy
import numpy as np

from scheduling.fortnight.columns import JobKey, Kinds
from scheduling.fortnight.daymodel import DayModel
from scheduling.fortnight.facts import Facts, Floats
from scheduling.fortnight.problem import Problem, problem_from_json, problem_to_json
from scheduling.fortnight.rows import quiet
from scheduling.fortnight.slotting import Slotting

EURO = 100.0
"""Cents per unit of the models' objectives, so that coefficients stay small."""

DAY_SHARE = 0.5
"""Share of the time for the day model; what it does not need goes to the hours within the day."""

LayoutKeys = list[tuple[tuple[JobKey, ...], int]]
Say = Callable[[dict[str, Any]], None]


class Bound:
    """The other process, seen from the search: `value` in cents and `layouts` grow until `stop`."""

    def __init__(self, problem: Problem, seconds: float, seed: int) -> None:
        self.value = -math.inf
        self.layouts: list[LayoutKeys] = []
        root = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
        self._process = subprocess.Popen(
            [sys.executable, "-m", "scheduling.fortnight.bound"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env={**os.environ, "PYTHONPATH": path, "OMP_NUM_THREADS": "1"},
        )
        task = json.dumps({"problem": problem_to_json(problem), "seconds": seconds, "seed": seed})
        self._reader = threading.Thread(target=self._read, args=(task,), daemon=True)
        self._reader.start()

    def _read(self, task: str) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        try:
            self._process.stdin.write(task)
            self._process.stdin.close()
        except OSError:  # it was stopped before it had read its task
            return
        for line in self._process.stdout:
            if not line.startswith("{"):
                continue
            said = json.loads(line)
            self.value = max(self.value, said.get("bound", -math.inf))
            if "layout" in said:
                layout = said["layout"]
                self.layouts.append([(tuple((o, k, v) for o, k, v in jobs), day) for jobs, day in layout])

    def running(self) -> bool:
        """Whether it may still say something."""
        return self._process.poll() is None

    def stop(self) -> None:
        """End the process."""
        self._process.kill()
        self._process.wait()
        self._reader.join(timeout=1.0)


class Bounder:
    """What the process does."""

    def __init__(self, facts: Facts, kinds: Kinds, seconds: float, seed: int, say: Say) -> None:
        self.facts, self.kinds, self.seed, self.say = facts, kinds, seed, say
        self.until = time.monotonic() + seconds

    def run(self) -> None:
        """Both models, one after the other."""
        self.by_day()
        if time.monotonic() < self.until:
            self.by_hour()

    def by_day(self, share: float = DAY_SHARE) -> None:
        """The day model with whole numbers."""
        model = DayModel(self.facts, self.kinds)
        highs = self._highs(share)
        highs.setOptionValue("mip_rel_gap", 0.003)
        highs.passModel(_in_euro(model.rows.model(0.0, integer=True)))

        def layout(event: Any) -> None:
            chosen = model.chosen_days(np.array(event.data_out.mip_solution))
            keys = [[kind.jobs, day] for kind, days in chosen.items() for day, share in days if share > 0.5]
            self.say({"layout": keys})

        highs.cbMipImprovingSolution += layout
        highs.cbMipLogging += lambda event: self._say_bound(event.data_out.mip_dual_bound)
        highs.run()
        self._say_bound(highs.getInfo().mip_dual_bound)

    def by_hour(self) -> None:
        """The linear relaxation with hours within the day."""
        slotting = Slotting(self.facts, self.kinds)
        lp = _in_euro(slotting.rows.model(0.0, integer=False))
        highs = self._highs(1.0)
        highs.setOptionValue("solver", "ipm")
        highs.setOptionValue("run_crossover", "off")
        highs.passModel(lp)
        highs.run()
        prices = np.asarray(highs.getSolution().row_dual)
        if len(prices) == slotting.rows.rows:
            self._say_bound(safe_bound(lp, prices))

    def _say_bound(self, euro: float) -> None:
        if math.isfinite(euro):
            self.say({"bound": EURO * euro - 1e-6 * abs(EURO * euro)})

    def _highs(self, share: float) -> highspy.Highs:
        highs = quiet(1, self.seed)
        highs.setOptionValue("time_limit", max(0.1, share * (self.until - time.monotonic())))
        return highs


def _in_euro(lp: highspy.HighsLp) -> highspy.HighsLp:
    lp.col_cost_ = np.asarray(lp.col_cost_) / EURO
    return lp


def safe_bound(lp: highspy.HighsLp, prices: Floats) -> float:
    """Value that no point of the model undercuts, from any row prices: each column at the limit its reduced cost asks for."""
    low, high = np.asarray(lp.row_lower_), np.asarray(lp.row_upper_)
    inf = highspy.kHighsInf
    prices = np.where((prices > 0) & (low <= -inf), 0.0, prices)
    prices = np.where((prices < 0) & (high >= inf), 0.0, prices)
    start, index, value = (np.asarray(a) for a in (lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_))
    column = np.repeat(np.arange(lp.num_col_), np.diff(start))
    reduced = np.asarray(lp.col_cost_) - np.bincount(column, weights=prices[index] * value, minlength=lp.num_col_)
    upper, lower = np.asarray(lp.col_upper_), np.asarray(lp.col_lower_)
    sides = np.where(prices > 0, np.where(low <= -inf, 0.0, low), np.where(high >= inf, 0.0, high))
    total = float(sides @ prices) + float(np.where(reduced < 0, upper, lower) @ reduced)
    return total - 1e-9 * float(np.abs(sides * prices).sum())


def least(facts: Facts) -> float:
    """The bound before any work: nothing costs less than 0 where no price is below 0."""
    p = facts.problem
    signs = [*p.price_cents.values(), *p.night_cents.values(), *p.stop_mwh.values(), *p.night_mwh.values()]
    return 0.0 if all(value >= 0 for series in signs for value in series) else -1e12


def main() -> None:
    """Entry of the process: a task on standard input, what is found on standard output."""
    task = json.loads(sys.stdin.read())
    facts = Facts(problem_from_json(task["problem"]))

    def say(found: dict[str, Any]) -> None:
        print(json.dumps(found), flush=True)

    Bounder(facts, Kinds(facts), task["seconds"], task["seed"], say).run()


if __name__ == "__main__":
    main()
