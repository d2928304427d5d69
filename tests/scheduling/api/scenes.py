"""What tests of the planning API start from: a forecast, a run that ended, its draft, a published visit."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np

from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run, Visit, WeatherSet
from scheduling.services.drafts import plan_draft
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from tests import farm as rows
from tests.scheduling.services import scenes


def forecast(farm: rows.Farm, mps: float = 4.0, age_h: float = 1.0) -> WeatherSet:
    """Hourly wind at 100 m for twelve days from the midnight before NOW."""
    start = rows.NOW.replace(hour=0)
    one = series_of("wind", np.full(12 * 24, mps), start=start, step_min=60, height_m=100, averaging_min=10)
    issued = rows.NOW - timedelta(hours=age_h)
    return weather_store(site=farm.hill, kind="forecast", series=(one,), issued_at=issued)[0]


def drafted(farm: rows.Farm) -> Plan:
    """The draft of a run that planned W-1 and left W-2 out."""
    list(scenes.orders(farm))
    best: dict[str, Any] = plan_to_json(scenes.half_plan())
    run = scenes.run(farm, state="done", best=best, value=1.0, bound=1.0, asked_at=rows.NOW)
    return plan_draft(run=run)


def visit(farm: rows.Farm) -> Visit:
    """The draft's only visit, its plan published."""
    plan = drafted(farm)
    Plan.objects.filter(pk=plan.pk).update(state="published", published_at=rows.NOW)
    plan.visits.update(by="ladder")  # the lift of H1 has lapsed
    return plan.visits.get()


def run(farm: rows.Farm, **more: Any) -> Run:
    """A queued run."""
    return scenes.run(farm, **more)
