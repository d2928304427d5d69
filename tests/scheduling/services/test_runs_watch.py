"""What the solver says, written to the row, and what the row says back."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest

from scheduling import solvers
from scheduling.choices import RunState
from scheduling.models import Run
from scheduling.services.runs.watch import Watch
from tests.farm import NOW, Farm
from tests.scheduling.services import scenes


class TestWatch:
    def step(self, value: float, plan: Any = None) -> solvers.Step:
        return solvers.Step(1.0, value, 100.0, plan)

    def watch(self, farm: Farm, **more: Any) -> Watch:
        run = scenes.run(farm, state="solving", attempt=1, **more)
        return Watch(run, lambda plan: {"plan": plan})

    def test_money_goes_from_cents_to_the_currency(self, rows: Farm) -> None:
        watch = self.watch(rows)
        watch.on_step(self.step(12_345, "p1"))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.bound, watch.run.best) == (123.45, 1.0, {"plan": "p1"})

    def test_a_worse_plan_does_not_replace_a_better_one(self, rows: Farm) -> None:
        watch = self.watch(rows, best={"plan": "old"}, value=50.0)
        watch.on_step(self.step(6_000, "worse"))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.best) == (50.0, {"plan": "old"})
        watch.on_step(self.step(4_000, "better"))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.best) == (40.0, {"plan": "better"})

    def test_no_bound_yet_is_empty(self, rows: Farm) -> None:
        watch = self.watch(rows)
        watch.on_step(solvers.Step(1.0, float("inf"), float("-inf")))
        watch.write()
        watch.run.refresh_from_db()
        assert (watch.run.value, watch.run.bound, watch.run.gap) == (None, None, None)

    def test_the_trace_notes_changes_only_and_stays_small(self, rows: Farm) -> None:
        watch = self.watch(rows)
        for number in range(5_000):
            watch.on_step(self.step(10_000 - number // 2))
        assert len(watch.trace) <= 1001
        assert watch.trace[0][1] == 100.0
        assert watch.trace[-1][1] == pytest.approx((10_000 - 4_999 // 2) / 100)

    def test_a_beat_without_news_moves_the_beat(self, rows: Farm) -> None:
        watch = self.watch(rows, beat_at=datetime(2026, 6, 10, tzinfo=NOW.tzinfo))
        watch.write()
        watch.run.refresh_from_db()
        assert watch.run.beat_at == NOW

    def test_a_run_in_other_hands_is_lost_and_untouched(self, rows: Farm) -> None:
        watch = self.watch(rows)
        Run.objects.update(state=RunState.QUEUED)
        watch.on_step(self.step(100, "mine"))
        watch.write()
        assert watch.lost
        assert watch.should_stop()
        assert Run.objects.get().best is None
