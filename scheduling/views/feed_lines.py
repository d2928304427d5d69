"""Feeds and what they brought last, ready to show."""

from __future__ import annotations

from typing import Any

from planner.views.formats import hours, moment
from scheduling.choices import SeriesKind
from scheduling.selectors.feeds import BY_HAND, NOTHING, ON_TIME, STOPPED, TOO_OLD, FeedState

MARKS = {
    ON_TIME: ("✓", "done"),
    BY_HAND: ("▱", "draft"),
    STOPPED: ("■", "no-go"),
    TOO_OLD: ("■", "no-go"),
    NOTHING: ("·", "wait"),
}
"""Shape and tint of each state; an alarm is always shown as one."""


def feed_line(one: FeedState) -> dict[str, Any]:
    """One row of the table."""
    shape, tint = MARKS["stopped" if one.alarm else one.state]
    every_h = one.feed.every_h
    until = "tells until" if one.feed.kind == SeriesKind.FORECAST else "measured until"
    return {
        "pk": one.feed.pk,
        "name": one.feed.name,
        "kind": one.feed.get_kind_display(),
        "mark": {"word": one.state, "shape": shape, "tint": tint},
        "alarm": one.alarm,
        "text": one.text,
        "received": moment(one.received_at, one.site.zone) if one.received_at else "never",
        "age": hours(one.age_h) if one.age_h is not None else "",
        "until": f"{until} {moment(one.ends_at, one.site.zone)}" if one.ends_at else "",
        "every": f"every {every_h:g} h" if every_h is not None else "by hand",
    }


def alarm_line(one: FeedState) -> str:
    """An alarm as a sentence with the feed and the site it is about."""
    return f"{one.site.name}, weather feed {one.feed.name}: {one.state}. {one.text}"
