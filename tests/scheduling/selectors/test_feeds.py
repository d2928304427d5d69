"""A feed that stops is an alarm."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from scheduling.models import WeatherFeed, WeatherSet
from scheduling.selectors.feeds import FeedState, feed_alarms, feed_states
from tests.farm import NOW, Farm
from tests.scheduling.stay_scenes import forecast, measured


def feed(farm: Farm, kind: str = "forecast", every_h: float | None = 6, name: str = "model") -> WeatherFeed:
    """A feed of HILL."""
    return WeatherFeed.objects.create(site=farm.hill, name=name, kind=kind, recipe={}, every_h=every_h)


def came(row: WeatherSet, source: WeatherFeed, hours_ago: float) -> None:
    """The set came by a feed, so long ago."""
    WeatherSet.objects.filter(pk=row.pk).update(feed=source, received_at=NOW - timedelta(hours=hours_ago))


def state(farm: Farm, now: datetime = NOW) -> FeedState:
    """Of the only feed."""
    (found,) = feed_states(sites=[farm.hill], now=now)
    return found


@pytest.mark.parametrize(("hours_ago", "expected"), [(0, "on time"), (12, "on time"), (12.01, "stopped")])
def test_twice_its_rhythm_without_a_file_is_an_alarm(hours_ago: float, expected: str, farm: Farm) -> None:
    came(forecast(farm), feed(farm), hours_ago)
    found = state(farm)
    assert (found.state, found.alarm) == (expected, expected == "stopped")
    assert "every 6 h" in found.text


def test_files_that_come_with_an_old_forecast_are_an_alarm_too(farm: Farm) -> None:
    """HILL takes no forecast older than 12 hours."""
    row = forecast(farm, issued_at=NOW - timedelta(hours=13))
    came(row, feed(farm), 1)
    found = state(farm)
    assert (found.state, found.alarm, found.age_h) == ("too old", True, 13.0)
    assert state(farm, NOW - timedelta(hours=1)).alarm is False


@pytest.mark.parametrize(("every_h", "alarm"), [(6, True), (None, False)])
def test_a_feed_that_never_brought_anything(every_h: float | None, alarm: bool, farm: Farm) -> None:
    feed(farm, every_h=every_h)
    assert (state(farm).state, state(farm).alarm, state(farm).age_h) == ("nothing yet", alarm, None)


def test_a_feed_by_hand_never_stops_but_its_forecast_grows_old(farm: Farm) -> None:
    came(forecast(farm), feed(farm, every_h=None), 3)
    assert state(farm).state == "by hand"
    assert state(farm, NOW + timedelta(hours=10)).state == "too old"


def test_measurements_grow_old_by_their_last_value(farm: Farm) -> None:
    row = measured(farm, [5.0] * 6, start=NOW - timedelta(hours=3))
    came(row, feed(farm, kind="observed", every_h=1), 1.5)
    assert (state(farm).state, state(farm).age_h) == ("on time", 2.0)
    assert state(farm, NOW + timedelta(hours=1)).state == "stopped"


def test_the_newest_of_many_files_counts_in_one_query(farm: Farm) -> None:
    source = feed(farm)
    feed(farm, name="second")
    for hours in (30, 20, 2):
        came(forecast(farm, issued_at=NOW - timedelta(hours=hours + 1)), source, hours)
    with CaptureQueriesContext(connection) as seen:
        found = feed_states(sites=[farm.hill, farm.plain], now=NOW)
    assert len(seen) == 1
    assert [(one.feed.name, one.state) for one in found] == [("model", "on time"), ("second", "nothing yet")]
    assert [one.feed.name for one in feed_alarms(sites=[farm.hill], now=NOW)] == ["second"]
    assert feed_states(sites=[farm.plain], now=NOW) == []
