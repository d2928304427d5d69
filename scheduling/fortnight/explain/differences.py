"""What differs between two problems of the same base: orders, people, limits, prices, rules; in sentences, days by date.

Only days that both problems have are compared, so that a horizon that moved on by a day does not change everything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import date, timedelta
from typing import Any

import numpy as np

from scheduling.bits import unpack_members
from scheduling.fortnight.explain.fieldwords import Side, field_text
from scheduling.fortnight.explain.words import money, percent
from scheduling.fortnight.problem import Problem

KINDS = (
    ("order", "orders"),
    ("person", "people"),
    ("vehicle", "vehicles"),
    ("equipment", "equipment"),
    ("turbine", "turbines"),
    ("lodging", "lodgings"),
)
"""What has an id, and the problem's field that lists it."""

OF_BASE = (
    *("base_x_km", "base_y_km", "speed_kmh", "hop_fixed_min", "slot_min", "members", "day_weight", "currency"),
    "standby_days",
)
PAIRS = (("together", "must be in one team"), ("apart", "must not be in one team"), ("prefer", "like to be in one team"))


@dataclass(frozen=True)
class Difference:
    """One thing that is not as it was. kind: days, order, person, vehicle, equipment, turbine, lodging, weather, energy,
    price, rule, weight, pair, told; `what` its id or name."""

    kind: str
    what: str
    text: str


def differences(before: Problem, after: Problem) -> tuple[Difference, ...]:
    """What differs from `before` to `after`, kind by kind; an empty tuple when nothing does.

    Weather is told as the share of workable slots over all members, energy in MWh of a turbine that stands all the time.
    """
    if before is after:
        return ()
    sides = Side(before), Side(after)
    found: list[Difference] = [*_days(*sides)]
    for kind, name in KINDS:
        found += _by_id(kind, name, *sides)
    found += [*_weather(*sides), *_tables(*sides), *_pairs(*sides), *_numbers(*sides), *_told(*sides)]
    return tuple(found)


def _days(old: Side, new: Side) -> Iterator[Difference]:
    if old.dates == new.dates:
        return
    for name, dates in (("no longer", old.dates - new.dates), ("new", new.dates - old.dates)):
        if dates:
            yield Difference("days", name, f"Days: {name} {new.dates_text(dates)}")


def _by_id(kind: str, name: str, old: Side, new: Side) -> Iterator[Difference]:
    was, now = ({one.id: one for one in getattr(side.problem, name)} for side in (old, new))
    for key in (*was, *(key for key in now if key not in was)):
        if key not in now:
            yield Difference(kind, key, f"{kind.capitalize()} {key}: no longer there")
        elif key not in was:
            yield Difference(kind, key, f"{kind.capitalize()} {key}: new")
        elif was[key] != now[key]:
            told = [t for f in fields(now[key]) if (t := field_text(f.name, was[key], now[key], old, new))]
            if told:
                yield Difference(kind, key, f"{kind.capitalize()} {key}: {'; '.join(told)}")


def _weather(old: Side, new: Side) -> Iterator[Difference]:
    """Keys whose workable slots differ on the days that both have."""
    was, now = old.problem, new.problem
    shared = sorted(old.dates & new.dates)
    for key in sorted(set(was.workable) & set(now.workable)):
        if was.workable[key] == now.workable[key] and (was.members, was.days) == (now.members, now.days):
            continue
        a, b = (_shares(side, key, shared) for side in (old, new))
        moved = {day for day in shared if abs(a[day] - b[day]) >= 0.005}
        if moved:
            share_a, share_b = (percent(float(np.mean([part[day] for day in moved]))) for part in (a, b))
            text = f"Weather {key}: workable {share_b} of {new.dates_text(moved)}, before {share_a}"
            yield Difference("weather", key, text)


def _shares(side: Side, key: str, shared: list[date]) -> dict[date, float]:
    """Share of workable slots and members of each day."""
    p = side.problem
    good = unpack_members(p.workable[key], p.members, p.total_slots)
    days = {day: p.days[side.index(day)] for day in shared}
    return {day: float(good[:, one.first_slot : one.first_slot + one.slots].mean()) for day, one in days.items()}


def _tables(old: Side, new: Side) -> Iterator[Difference]:
    for key, a, b in _changed_sums(old, new, "stop_mwh"):
        yield Difference("energy", key, f"Energy {key}: a turbine that stands loses {b:,.1f} MWh in these days, before {a:,.1f}")
    for site, a, b in _changed_sums(old, new, "price_cents", np.mean):
        yield Difference(
            "price", site, f"Price at {site}: {money(new.problem, b)}/MWh in the mean, before {money(old.problem, a)}"
        )


def _changed_sums(old: Side, new: Side, name: str, of: Callable[[Any], Any] = np.sum) -> Iterator[tuple[str, float, float]]:
    """(key, before, after) of tables per slot that differ by more than 0.5 % on the days that both have."""
    was, now = getattr(old.problem, name), getattr(new.problem, name)
    shared = sorted(old.dates & new.dates)
    for key in sorted(set(was) & set(now)):
        if was[key] == now[key] and old.problem.days == new.problem.days:
            continue
        a, b = (float(of(_on(side, table[key], shared))) for side, table in ((old, was), (new, now)))
        if abs(a - b) > 0.005 * max(abs(a), abs(b)):
            yield key, a, b


def _on(side: Side, table: tuple[float, ...], shared: list[date]) -> np.ndarray[Any, Any]:
    days = (side.problem.days[side.index(day)] for day in shared)
    return np.concatenate([np.zeros(1), *(np.asarray(table[one.first_slot : one.first_slot + one.slots]) for one in days)])[1:]


def _pairs(old: Side, new: Side) -> Iterator[Difference]:
    for name, words in PAIRS:
        was, now = ({tuple(sorted(pair)) for pair in getattr(side.problem, name)} for side in (old, new))
        for pair in sorted(was ^ now):
            more = "no longer" if pair in was else "now"
            yield Difference("pair", " and ".join(pair), f"{' and '.join(pair)}: {more} a pair who {words}")


def _numbers(old: Side, new: Side) -> Iterator[Difference]:
    """Rules, weights and the few numbers of the problem itself."""
    for kind, name in (("rule", "rules"), ("weight", "weights")):
        was, now = getattr(old.problem, name), getattr(new.problem, name)
        for one in fields(now):
            text = field_text(one.name, was, now, old, new)
            if text:
                yield Difference(kind, one.name, f"{kind.capitalize()}: {text}")
    for one_name in OF_BASE:
        text = field_text(one_name, old.problem, new.problem, old, new)
        if text:
            yield Difference("rule", one_name, f"Base: {text}")


def _told(old: Side, new: Side) -> Iterator[Difference]:
    """Visits people have been told of."""
    was, now = (_published(side) for side in (old, new))
    gone, more = len(was - now), len(now - was)
    if gone or more:
        text = f"Published visits to keep to: {len(now)}, before {len(was)} ({gone} gone or moved, {more} new or moved)"
        yield Difference("told", "published", text)


def _published(side: Side) -> set[tuple[str, int, date, int]]:
    first = side.first
    return {(p.order, p.visit, first + timedelta(days=p.day), p.start) for p in side.problem.published}


def by_kind(found: tuple[Difference, ...]) -> Mapping[str, list[Difference]]:
    """The differences of each kind, in their order."""
    groups: dict[str, list[Difference]] = {}
    for one in found:
        groups.setdefault(one.kind, []).append(one)
    return groups
