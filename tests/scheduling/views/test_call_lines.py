"""What the morning says, in words."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time
from zoneinfo import ZoneInfo

import pytest

from scheduling.day.problem import Binding, Reason, Verdict
from scheduling.services.dispatch import TeamCall
from scheduling.views.call_lines import binding_words, call_line
from tests.farm import Farm
from tests.page_rows import build_order, build_plan, build_visit

BERLIN = ZoneInfo("Europe/Berlin")
AT = datetime(2026, 6, 10, 8, 30, tzinfo=UTC)
BINDING = Binding("wind at hub", 11.23, "<=", 12.0, "m/s", 630)
GO = Verdict(
    stay="1", team="Ada, Ben", turbine="H2", verdict="go", planned_start_min=600, start_min=600, first_safe_min=600,
    last_safe_min=660, must_be_down_min=800, start_down_min=790, chance=0.859, chance_best=0.9, binding=BINDING,
    forecast_age_h=3.5, reasons=(Reason("fits", "It fits."),), caution="",
)  # fmt: skip


@pytest.fixture
def call(farm: Farm) -> TeamCall:
    """Go, everything known."""
    visit = build_visit(build_plan(farm), farm, build_order(farm.h2, farm), start=time(10))
    return TeamCall(visit, GO, AT, AT, AT, AT, AT, AT)


def test_a_go_has_its_times(call: TeamCall) -> None:
    line = call_line(call, BERLIN)
    assert dict(line["times"])["Everybody down by"] == "10:30 CEST"
    assert (line["chance"], line["age"], line["reasons"]) == ("85 %", "3 h 30 min old", ["It fits."])
    assert line["binding"] == "wind at hub 11.2 m/s at 10:30 CEST; the limit is <= 12.0 m/s"


def test_a_no_go_shows_no_time_to_start_even_where_the_weather_has_one(call: TeamCall) -> None:
    assert call_line(replace(call, verdict=replace(GO, verdict="no-go")), BERLIN)["times"] == []


def test_an_unknown_value_is_said(call: TeamCall) -> None:
    assert binding_words(replace(BINDING, value=None), call, BERLIN).startswith("wind at hub unknown")
    assert binding_words(None, call, BERLIN) == "the stay lies outside the forecast"
    assert call_line(replace(call, verdict=replace(GO, forecast_age_h=None)), BERLIN)["age"] == "no forecast"
