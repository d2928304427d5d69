"""Access windows from the tiny farm's forecast."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from planner.cautions import STALE
from planner.errors import PlannerError
from planner.models import Limit, LimitSet
from scheduling.selectors.windows import access_windows
from scheduling.services.weather import weather_store
from scheduling.weather.series import series_of
from tests import farm as rows


def forecast(farm: rows.Farm, mps: list[float], age_h: float = 1.0, more: dict[str, list[float]] | None = None) -> None:
    """Hourly wind at 100 m, and what else is given, from NOW on."""
    grid = {"start": rows.NOW, "step_min": 60, "averaging_min": 10}
    given = [series_of("wind", np.array(mps), height_m=100, **grid)]
    given += [series_of(variable, np.array(values), height_m=2, **grid) for variable, values in (more or {}).items()]
    issued = rows.NOW - timedelta(hours=age_h)
    weather_store(site=farm.hill, kind="forecast", series=tuple(given), issued_at=issued)


def ask(farm: rows.Farm, stay_min: float = 180, code: str = "tower"):  # type: ignore[no-untyped-def]
    limit_set = LimitSet.objects.get(code=code)
    return access_windows(turbine=farm.h1, limit_set=limit_set, stay_min=stay_min, now=rows.NOW, days=1)


def test_a_calm_morning_before_a_storm(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 6 + [20.0] * 18)
    found = ask(farm)
    assert found.starts[0].chance == 1.0
    assert found.starts[6].chance == 1.0  # 09:00 to 12:00 just fits
    assert found.starts[7].chance == 0.0  # half an hour later it does not
    assert (found.starts[0].limit, found.starts[0].bound) == ("", None)
    assert found.starts[7].limit.startswith("10 min wind at hub 2")
    assert found.starts[7].limit.endswith(", limit <= 12 m/s")
    assert found.starts[-1].limit == "beyond the forecast"
    assert found.shear == "same height"


def test_the_last_safe_start_the_time_to_be_down_and_the_longest_window(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 6 + [20.0] * 12 + [3.0] * 6)
    found = ask(farm)
    noon = rows.NOW + timedelta(hours=6)
    first = found.openings[0]
    assert (first.first_start, first.last_start, first.down_by) == (rows.NOW, rows.NOW + timedelta(hours=3), noon)
    assert [start.down_by for start in found.starts[:12]] == [noon] * 12
    assert found.starts[12].down_by is None
    assert (found.longest_start, found.longest_end, found.longest_h) == (rows.NOW, noon, 6.0)
    assert [one.first_start for one in found.openings] == [rows.NOW, rows.NOW + timedelta(hours=18)]


def test_what_closes_an_hour_is_known_by_name_and_value(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 2 + [20.0] + [3.0] * 21)
    bound = ask(farm, code="blade").starts[2].bound
    assert bound is not None
    assert bound.at == rows.NOW + timedelta(hours=2)
    assert (bound.binding.variable, bound.binding.name, bound.binding.limit) == ("wind", "10 min wind at hub", 8.0)
    assert bound.binding.value == pytest.approx(20.0, abs=3.0)


def test_every_blocked_hour_says_what_blocks_it(farm: rows.Farm) -> None:
    sight = [9_000.0] * 24
    sight[3], sight[4], sight[10] = 700.0, 500.0, float("nan")
    limits = LimitSet.objects.get(code="tower")
    Limit.objects.create(limit_set=limits, quantity="visibility", comparison=">=", value=1000)
    forecast(farm, [3.0] * 2 + [22.0] + [3.0] * 21, more={"visibility": sight})
    found = [(round((one.start - rows.NOW) / timedelta(hours=1)), one.end - one.start, one.bound) for one in ask(farm).blocked]
    assert [(hour, length.seconds // 3600) for hour, length, _ in found] == [(2, 1), (3, 2), (10, 1)]
    wind, fog, unknown = (bound.binding for _, _, bound in found if bound is not None)
    assert (wind.name, wind.limit) == ("10 min wind at hub", 12.0)
    assert (fog.name, fog.value) == ("visibility", 500.0)
    assert (unknown.name, np.isnan(unknown.value)) == ("visibility", True)


def test_a_missing_hour_opens_no_window(farm: rows.Farm) -> None:
    forecast(farm, [3.0, 3.0, float("nan"), 3.0, 3.0, 3.0] + [3.0] * 18)
    found = ask(farm)
    assert found.starts[0].chance == 0.0
    assert found.starts[0].limit.endswith("unknown")
    assert found.starts[6].chance == 1.0


def test_blade_work_waits_for_daylight(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 24)
    dark = [start for start in ask(farm, code="blade").starts if start.limit == "dark"]
    assert dark
    # Sunset in Schleswig on 10 June is about 21:50 local, 19:50 UTC (astral); a stay of 3 h cannot start at 17:00 UTC.
    assert min(start.start for start in dark) == rows.NOW.replace(hour=17, minute=0)
    assert dark[0].bound is not None
    assert dark[0].bound.binding.variable == "daylight"


def test_the_time_to_stay_clear_of_lightning_runs_again_from_every_stroke(farm: rows.Farm) -> None:
    near = LimitSet.objects.get(code="tower")
    Limit.objects.create(limit_set=near, quantity="lightning_distance", comparison=">=", value=16_000, clear_after_min=60)
    far = [50_000.0] * 24
    far[4] = far[5] = 8_000.0
    forecast(farm, [3.0] * 24, more={"lightning_distance": far})
    found = ask(farm, stay_min=30)
    closed = [n for n, start in enumerate(found.starts) if start.chance == 0.0]
    assert closed == [8, 9, 10, 11, 12, 13]  # two hours of strokes and an hour after the last
    assert found.starts[13].limit == "lightning distance over the last 60 min 8000.0, limit >= 16000 m"


def test_heat_makes_a_stay_longer(farm: rows.Farm) -> None:
    limits = LimitSet.objects.get(code="tower")
    Limit.objects.create(limit_set=limits, quantity="work_share", comparison=">=", value=50, metabolic_class=2, acclimatised=True)
    # A WBGT of 29 degC lets half of each hour be work in class 2 for people used to the heat (ISO 7243, from memory).
    forecast(farm, [3.0] * 12 + [20.0] * 12, more={"wbgt": [20.0] * 6 + [29.0] * 18})
    last = ask(farm, stay_min=180).openings[0].last_start
    assert last == rows.NOW + timedelta(hours=6)  # 12:00 to 18:00 holds three hours of work
    Limit.objects.filter(quantity="work_share").update(value=100)
    assert ask(farm, stay_min=180).openings[0].last_start == rows.NOW + timedelta(hours=3)


def test_an_old_forecast_gives_no_window(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 24, age_h=12.5)
    found = ask(farm)
    assert (found.starts, found.openings, found.longest_start) == ((), (), None)
    assert found.note == STALE


@pytest.mark.parametrize("stay_min", [0, -5, 1441, float("nan")])
def test_a_stay_that_cannot_be_is_refused(farm: rows.Farm, stay_min: float) -> None:
    with pytest.raises(PlannerError, match="Give a stay of 1 to 1440"):
        ask(farm, stay_min)


def test_a_limit_set_without_limits_is_refused(farm: rows.Farm) -> None:
    forecast(farm, [3.0] * 24)
    LimitSet.objects.create(code="bare", name="Bare")
    with pytest.raises(PlannerError, match="limit set 'bare': it names no limit; add at least the wind limit"):
        ask(farm, code="bare")
