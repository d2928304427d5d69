"""Rules about where teams sleep: who starts from a lodging, its beds, nights in a row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from scheduling.fortnight.check.view import Route, View, breach
from scheduling.fortnight.plan import Violation


def night(view: View) -> Iterator[Violation]:
    """Who ends at a lodging starts there the next day, with the same people and vehicle; nobody else does."""
    for route in view.routes:
        for visit in route.visits:
            if (visit.starts_from, visit.ends_at) != (route.starts_from, route.ends_at):
                text = f"{view.at(visit)}: the team's visits that day name different places to start from or to sleep at"
                yield breach("night", text, visit, 1, visit.people)
        if route.ends_at and not _goes_on(view, route):
            yield _alone(view, route, f"sleeps at {route.ends_at} but does not start there the next day with its vehicle")
        if route.starts_from and not any(_goes_on(view, before, route) for before in view.routes):
            yield _alone(view, route, f"starts from {route.starts_from} but did not sleep there with its vehicle")


def _alone(view: View, route: Route, what: str) -> Violation:
    text = f"the team at {route.visits[0].turbine} on {view.problem.days[route.day].date} {what}"
    return Violation("night", text, route.orders, route.people, route.day, 1)


def _goes_on(view: View, route: Route, with_: Route | None = None) -> bool:
    """Whether the route's team is the one that starts there the next day (on a certain route, if given)."""
    return any(
        bool(route.ends_at)
        and other.starts_from == route.ends_at
        and other.day == route.day + 1
        and _next_date(view, route.day)
        and set(other.people) == set(route.people)
        and {v.vehicle for v in other.visits} == {v.vehicle for v in route.visits}
        for other in ([with_] if with_ else view.routes)
    )


def _next_date(view: View, day: int) -> bool:
    before, after = (date.fromisoformat(one.date) for one in view.problem.days[day : day + 2])
    return after - before == timedelta(days=1)


def beds(view: View) -> Iterator[Violation]:
    """Beds of each lodging, night by night."""
    asleep: dict[tuple[str, int], set[str]] = defaultdict(set)
    for route in view.routes:
        if route.ends_at:
            asleep[route.ends_at, route.day].update(route.people)
    for (lodging, day), people in asleep.items():
        more = len(people) - view.lodgings[lodging].beds
        if more > 0:
            text = f"{len(people)} people sleep at {lodging} after {view.problem.days[day].date}, it has {more} beds too few"
            yield Violation("beds", text, (), tuple(sorted(people)), day, more)


def nights_in_row(view: View) -> Iterator[Violation]:
    """Nights in a row that a person sleeps away."""
    most = view.problem.rules.nights_in_row
    away: dict[str, set[int]] = defaultdict(set)
    for route in view.routes:
        for person in route.people if route.ends_at else ():
            away[person].add(route.day)
    for person, nights in away.items():
        for first in sorted(n for n in nights if n - 1 not in nights):
            row = next(n for n in range(first, len(view.problem.days) + 1) if n not in nights) - first
            if row > most:
                text = f"{view.people[person].name} sleeps away {row} nights in a row from {view.problem.days[first].date}, "
                yield Violation("nights in a row", f"{text}at most {most}", (), (person,), first, row - most)
