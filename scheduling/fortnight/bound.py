"""A proven lower bound from the slotting model, found beside the search in a thread of its own.

First the linear relaxation; its row prices give a bound that is safe whatever their accuracy, because every column has
finite limits. Then HiGHS goes on with the whole-number model: its cuts and branches raise the bound until it is stopped.
"""

from __future__ import annotations

import math
import threading
import time
from typing import Any

import highspy
import numpy as np

from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.facts import Facts, Floats
from scheduling.fortnight.rows import quiet
from scheduling.fortnight.slotting import Slotting

EURO = 100.0
"""Cents per unit of the model's objective, so that coefficients stay small."""


class Bound(threading.Thread):
    """Raises `value` (cents) while it runs. Stop it with `stop`; wait with join."""

    def __init__(self, facts: Facts, kinds: Kinds, seconds: float, seed: int) -> None:
        super().__init__(daemon=True)
        self.facts, self.kinds, self.seed = facts, kinds, seed
        self.until = time.monotonic() + seconds
        self.value = least(facts)
        self.error = ""
        self.optimal = False
        self._stop_asked = threading.Event()

    def stop(self) -> None:
        """Ask it to end; it does so within about a second."""
        self._stop_asked.set()

    def run(self) -> None:
        """Model, relaxation, whole numbers."""
        try:
            self._work()
        except Exception as error:  # a bound is a help: the plan must not be lost because of it
            self.error = f"{type(error).__name__}: {error}"

    def _work(self) -> None:
        slotting = Slotting(self.facts, self.kinds)
        if not slotting.rows.columns or self._over():
            return
        lp = slotting.rows.model(0.0, integer=False)
        lp.col_cost_ = np.asarray(lp.col_cost_) / EURO
        highs = self._highs()
        highs.setOptionValue("solver", "ipm")
        highs.setOptionValue("run_crossover", "off")
        highs.passModel(lp)
        highs.run()
        prices = np.asarray(highs.getSolution().row_dual)
        if len(prices) == slotting.rows.rows:
            self.value = max(self.value, EURO * safe_bound(lp, prices))
        if not self._over():
            self._whole_numbers(slotting)

    def _whole_numbers(self, slotting: Slotting) -> None:
        lp = slotting.rows.model(0.0, integer=True)
        lp.col_cost_ = np.asarray(lp.col_cost_) / EURO
        highs = self._highs()
        highs.setOptionValue("mip_rel_gap", 0.0)
        highs.passModel(lp)
        highs.cbMipInterrupt += self._progress
        highs.run()
        self._raise(highs.getInfo().mip_dual_bound)

    def _progress(self, event: Any) -> None:
        self._raise(event.data_out.mip_dual_bound)
        if self._over():
            event.data_in.user_interrupt = True

    def _raise(self, euro: float) -> None:
        if math.isfinite(euro):
            self.value = max(self.value, EURO * euro - 1e-6 * abs(EURO * euro))

    def _highs(self) -> highspy.Highs:
        highs = quiet(1, self.seed)
        highs.setOptionValue("time_limit", max(0.1, self.until - time.monotonic()))
        highs.cbSimplexInterrupt += self._interrupt
        highs.cbIpmInterrupt += self._interrupt
        return highs

    def _interrupt(self, event: Any) -> None:
        if self._over():
            event.data_in.user_interrupt = True

    def _over(self) -> bool:
        return self._stop_asked.is_set() or time.monotonic() > self.until


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
