"""The forecast of a day."""

from __future__ import annotations

from datetime import time, timedelta

from planner.cautions import STALE
from scheduling.views.weather_lines import forecast_line
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_forecast, build_order, build_plan, build_visit


def test_a_fresh_forecast_is_drawn_with_its_age(farm: Farm) -> None:
    build_forecast(farm.hill)
    line = forecast_line(farm.hill, TODAY, [], NOW)
    issued, carried, error = line["said"].split("; ")
    assert issued == "issued Wed 10 Jun 2026, 05:00 CEST, 3 h 00 min old"
    assert carried == "wind given at the hub", "how it came to the hub is always said"
    assert error.startswith("members by its error: published default, for want of a fit to the site's own forecasts")
    assert "Forecast wind at Hillside, 100 m, 10-min mean" in line["strip"]
    assert line["stale"] == ""


def test_exactly_as_old_as_allowed_is_not_stale(farm: Farm) -> None:
    build_forecast(farm.hill, issued_at=NOW - timedelta(hours=12))
    assert forecast_line(farm.hill, TODAY, [], NOW)["stale"] == ""
    assert forecast_line(farm.hill, TODAY, [], NOW + timedelta(seconds=1))["stale"] == STALE


def test_a_stale_one_is_not_drawn(farm: Farm) -> None:
    build_forecast(farm.hill, issued_at=NOW - timedelta(hours=13))
    assert forecast_line(farm.hill, TODAY, [], NOW)["strip"] == ""


def test_none_is_missing_and_stale(farm: Farm) -> None:
    line = forecast_line(farm.hill, TODAY, [], NOW)
    assert (line["missing"], line["stale"]) == (True, STALE)


def test_a_forecast_issued_later_is_not_known_yet(farm: Farm) -> None:
    build_forecast(farm.hill, issued_at=NOW + timedelta(hours=1))
    assert forecast_line(farm.hill, TODAY, [], NOW)["missing"] is True


def test_the_lowest_limit_of_the_day_is_drawn(farm: Farm) -> None:
    """Blade work stops at 8 m/s, work in the tower at 12."""
    build_forecast(farm.hill)
    plan = build_plan(farm)
    lamp, blade = (build_order(farm.h1, farm, f"HILL-{work}", work) for work in ("lamp", "blade-look"))
    visits = [build_visit(plan, farm, lamp), build_visit(plan, farm, blade, start=time(14))]
    assert "limit 8 m/s" in forecast_line(farm.hill, TODAY, visits, NOW)["strip"]
    assert "limit 12 m/s" in forecast_line(farm.hill, TODAY, visits[:1], NOW)["strip"]
