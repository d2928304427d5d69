"""What the solver says while it works, written to the run's row; and what the row says back: stop, or not yours any more.

The solver's thread only leaves its newest step here. A thread of its own, with its own database connection, writes at once
when there is something new and at least every second, so that a solver that is deep in its work still shows a beat.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from types import TracebackType
from typing import Any

from django.db import Error as DatabaseFault
from django.db import connection

from planner.clock import now_utc
from scheduling.choices import RunState
from scheduling.models import Run
from scheduling.solvers import Step, money

log = logging.getLogger(__name__)
EVERY_S = 1.0
REST_S = 0.25
JOIN_S = 2.0
TRACE_MOST = 1000


class Watch:
    """Use as a context around a solve; give `on_step` and `should_stop` to the solver."""

    def __init__(self, run: Run, write_plan: Callable[[Any], dict[str, Any]], *, every_s: float = EVERY_S) -> None:
        self.run, self.write_plan, self.every_s = run, write_plan, every_s
        self.stop_asked = self.lost = False
        self.trace: list[list[float | None]] = []
        self._best_value = run.value if run.best is not None else None
        self._step: Step | None = None
        self._plan: dict[str, Any] | None = None
        self._lock = threading.Lock()
        self._wake, self._over = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._keep, name=f"run {run.pk}", daemon=True)

    def __enter__(self) -> Watch:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._over.set()
        self._wake.set()
        # No longer than that: a write that is stuck will find the run ended and change nothing.
        self._thread.join(JOIN_S)

    def on_step(self, step: Step) -> None:
        """Note an improvement of value or bound. Cheap; called by the solver's thread."""
        point = [round(step.seconds, 2), money(step.value), money(step.bound)]
        if self.trace and self.trace[-1][1:] == point[1:] and step.plan is None:
            return
        kept = self._better(step, point[1])
        with self._lock:
            self._step, self._plan = step, kept or self._plan
            self.trace.append(point)
            if len(self.trace) > TRACE_MOST:
                del self.trace[1:-1:2]
        self._wake.set()

    def _better(self, step: Step, value: float | None) -> dict[str, Any] | None:
        """The plan to keep if it beats the kept one (an earlier try may have left a better one)."""
        if step.plan is None or value is None or (self._best_value is not None and not value < self._best_value):
            return None
        self._best_value = value
        return self.write_plan(step.plan)

    def should_stop(self) -> bool:
        """Whether somebody asked to stop, or another worker holds the run now."""
        return self.stop_asked or self.lost

    def _keep(self) -> None:
        try:
            while not self._over.is_set():
                self._wake.wait(self.every_s)
                self._wake.clear()
                self._write_quietly()
                self._over.wait(REST_S)
        finally:
            connection.close()

    def _write_quietly(self) -> None:
        try:
            self.write()
        except DatabaseFault as error:
            # A database that is away for a moment must not end a solve; away for long, the beat goes stale and tells.
            log.warning("run %s: progress not written: %s", self.run.pk, error)
            connection.close()

    def write(self) -> None:
        """Write the newest step and the beat, if the run is still ours; read whether to stop."""
        with self._lock:
            step, plan, trace = self._step, self._plan, list(self.trace)
            self._plan = None
        mine = Run.objects.filter(pk=self.run.pk, attempt=self.run.attempt, state=RunState.SOLVING)
        try:
            mine.update(**self._fields(step, plan, trace))
        except DatabaseFault:
            with self._lock:
                self._plan = self._plan or plan
            raise
        seen = Run.objects.filter(pk=self.run.pk).values("attempt", "state", "stop_asked").first()
        if seen is not None:
            self.lost = seen["attempt"] != self.run.attempt or seen["state"] != RunState.SOLVING
            self.stop_asked = seen["stop_asked"]

    def _fields(self, step: Step | None, plan: dict[str, Any] | None, trace: list[list[float | None]]) -> dict[str, Any]:
        fields: dict[str, Any] = {"beat_at": now_utc()}
        if step is not None:
            value, bound = money(step.value), money(step.bound)
            if value is not None and self._best_value is not None:
                value = min(value, self._best_value)
            fields |= {"value": value, "bound": bound, "seconds": step.seconds, "gap": gap_of(value, bound), "trace": trace}
        if plan is not None:
            fields["best"] = plan
        return fields


def gap_of(value: float | None, bound: float | None) -> float | None:
    """Share of the value that is not proven necessary; None while either is unknown."""
    if value is None or bound is None:
        return None
    return max(0.0, (value - bound) / abs(value)) if value else 0.0
