"""Whether weather still comes: a feed that stopped is an alarm, not an old green."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Max

from planner.models import Site
from scheduling.choices import SeriesKind
from scheduling.models import WeatherFeed

ON_TIME, BY_HAND, STOPPED, TOO_OLD, NOTHING = "on time", "by hand", "stopped", "too old", "nothing yet"
STATES = (ON_TIME, BY_HAND, STOPPED, TOO_OLD, NOTHING)
MISSED = 2
"""A feed has stopped when nothing came for so many times its rhythm."""


@dataclass(frozen=True)
class FeedState:
    """One feed: when something came last, until when it tells anything, and whether that is an alarm.

    `age_h` is counted from the issue of the newest forecast, or to the last measured value; None where nothing came yet.
    """

    feed: WeatherFeed
    site: Site
    state: str
    alarm: bool
    text: str
    received_at: datetime | None
    issued_at: datetime | None
    ends_at: datetime | None
    age_h: float | None


def feed_states(*, sites: Iterable[Site], now: datetime) -> list[FeedState]:
    """The state of every feed of these sites, by site and name. One query."""
    own = {site.pk: site for site in sites}
    feeds = WeatherFeed.objects.filter(site__in=own).annotate(
        received_at=Max("sets__received_at"), issued_at=Max("sets__issued_at"), ends_at=Max("sets__ends_at")
    )
    return [_state(feed, own[feed.site_id], now) for feed in feeds.order_by("site__code", "name")]


def feed_alarms(*, sites: Iterable[Site], now: datetime) -> list[FeedState]:
    """Only those that are an alarm. One query."""
    return [one for one in feed_states(sites=sites, now=now) if one.alarm]


def _state(feed: WeatherFeed, site: Site, now: datetime) -> FeedState:
    found: FeedState = FeedState(
        feed, site, ON_TIME, False, "", feed.received_at, feed.issued_at, feed.ends_at, _age_h(feed, now)  # type: ignore[attr-defined]
    )  # fmt: skip
    state, alarm, text = _judged(found, now)
    return FeedState(**{**vars(found), "state": state, "alarm": alarm, "text": text})


def _age_h(feed: WeatherFeed, now: datetime) -> float | None:
    forecast = feed.kind == SeriesKind.FORECAST
    newest: datetime | None = feed.issued_at if forecast else feed.ends_at  # type: ignore[attr-defined]
    return None if newest is None else max(0.0, (now - newest) / timedelta(hours=1))


def _judged(found: FeedState, now: datetime) -> tuple[str, bool, str]:
    """(state, alarm, sentence). A feed without a rhythm is fetched by hand; only the age of its forecast is judged."""
    every_h = found.feed.every_h
    if found.received_at is None:
        return NOTHING, every_h is not None, "No file has come from it yet."
    silent_h = (now - found.received_at) / timedelta(hours=1)
    if every_h is not None and silent_h > MISSED * every_h:
        return STOPPED, True, f"Nothing has come for {silent_h:.0f} h; it should come every {every_h:g} h."
    stale_h, age_h = found.site.stale_after_h, found.age_h
    if found.feed.kind == SeriesKind.FORECAST and age_h is not None and age_h > stale_h:
        return TOO_OLD, True, f"Its newest forecast is {age_h:.0f} h old; the site takes none older than {stale_h:g} h."
    if every_h is None:
        return BY_HAND, False, "It is fetched by hand: nobody is told when it stops."
    return ON_TIME, False, f"The last file came {silent_h:.0f} h ago; it should come every {every_h:g} h."
