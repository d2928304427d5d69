"""The bound of a coarse problem: its linear relaxation, tightened; then its time-indexed model solved whole by HiGHS, with cuts
for days that nobody can crew.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import highspy
import numpy as np

from scheduling.fortnight.facts import Floats
from scheduling.fortnight.rows import EURO, INF, quiet
from scheduling.fortnight.slotted_crew import Crewer, by_day
from scheduling.fortnight.slotted_cuts import tighten
from scheduling.fortnight.slotted_model import SLACK, SlottedModel, at_least

Say = Callable[[dict[str, Any]], None]
SMALL = 1e-4
FAR = 1e15
TIGHTEN = 0.3
"""Share of the time that the linear relaxation may take."""


class SlottedBound:
    """Says {"bound": cents} as it rises and {"runs": [...]} for each solution."""

    def __init__(self, model: SlottedModel, seconds: float, seed: int, say: Say) -> None:
        self.model, self.say = model, say
        self.until = time.monotonic() + seconds
        self.bound = -INF
        self.crewer = Crewer(model.facts, model.cluster, seed)
        self.highs = quiet(1, seed)
        self.highs.setOptionValue("mip_rel_gap", 0.0)
        self.highs.cbMipInterrupt += lambda event: self._tell(event.data_out.mip_dual_bound)
        self.highs.cbMipImprovingSolution += lambda event: self._solution(np.array(event.data_out.mip_solution))

    def run(self) -> None:
        """Tighten; then solve, cut, and solve again until the solution can be crewed or time is up."""
        relaxed = tighten(self.model, TIGHTEN * (self.until - time.monotonic()))
        if relaxed is not None:
            self._tell(relaxed.cost, least=0.0)
        self.highs.passModel(self.model.rows.model(0.0, integer=True))
        while (seconds := self.until - time.monotonic()) > 0:
            self.highs.setOptionValue("time_limit", seconds)
            self.highs.run()
            self._tell(self.highs.getInfo().mip_dual_bound, least=0.0)
            if self.highs.getModelStatus() != highspy.HighsModelStatus.kOptimal or not self._cut():
                return

    def _cut(self) -> bool:
        """Cut the solution off where it is proven that a day of it cannot be crewed; False where there is nothing to cut."""
        value, found = np.asarray(self.highs.getSolution().col_value), False
        for stays in by_day(stay for i in self._runs(value) for stay in self.model.runs[i].stays):
            if self.crewer.crews(stays) is None:
                few = self.crewer.too_much(stays)
                if frozenset(few) in self.crewer.proven:
                    columns = at_least(self.model, few).astype(np.int32)
                    self.highs.addRow(-INF, len(few) - 1.0, len(columns), columns, np.ones(len(columns)))
                    found = True
        return found

    def _runs(self, value: Floats) -> list[int]:
        found: list[int] = np.flatnonzero(value[self.model.x] > 0.5).tolist()
        return found

    def _tell(self, euro: float, least: float = SMALL) -> None:
        """Say the bound where it rose by more than a share of `least`."""
        if abs(euro) < FAR and (self.bound == -INF or euro > self.bound + least * abs(self.bound)):
            self.bound = euro
            self.say({"bound": EURO * (euro - SLACK * abs(euro))})

    def _solution(self, value: Floats) -> None:
        self.say({"runs": self._runs(value)})
