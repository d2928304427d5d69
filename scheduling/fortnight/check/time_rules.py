"""Rules about working time: shift, break, daily rest, weekly hours. Minutes are real minutes, hops to the minute."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from scheduling.fortnight.check.view import Route, View
from scheduling.fortnight.plan import Violation


def shift(view: View) -> Iterator[Violation]:
    """The time away, hops in whole slots, lies inside everybody's shift."""
    for route in view.routes:
        for person in route.people:
            envelope = view.shifts.get((person, route.day))
            name, date = view.people[person].name, view.problem.days[route.day].date
            if envelope is None:
                yield Violation("shift", f"{name} has no shift on {date}", route.orders, (person,), route.day, 1)
                continue
            over = max(0, envelope.start - route.leaves) + max(0, route.returns - envelope.end)
            if over:
                text = f"{name} is away from slot {route.leaves} to {route.returns} on {date}, the shift is "
                text += f"{envelope.start} to {envelope.end}"
                yield Violation("shift", text, route.orders, (person,), route.day, over)


def pause(view: View) -> Iterator[Violation]:
    """A team away longer than break_after_min has break_min in one piece between visits, or a break built into a stay."""
    rules = view.problem.rules
    for route in view.routes:
        free = free_min(view, route)
        if route.away_min > rules.break_after_min and free < rules.break_min:
            text = f"a team is away {route.away_min} min on {view.problem.days[route.day].date} with {free} min of break "
            text += f"in one piece, {rules.break_min} are asked for"
            yield Violation("break", text, route.orders, route.people, route.day, rules.break_min - free)


def free_min(view: View, route: Route) -> int:
    """Longest stretch of the route, in minutes, without work, climbing or driving: a gap beyond the hop, or a built-in break."""
    built_in = [view.problem.rules.break_min for visit in route.visits if view.stay_of(visit).has_break]
    gaps = [
        (b.start - a.start - a.slots) * view.problem.slot_min - view.hop_min(a.turbine, b.turbine)
        for a, b in pairwise(route.visits)
    ]
    return max([0, *built_in, *gaps])


def rest(view: View) -> Iterator[Violation]:
    """Between two days away: rest_min by the real clock."""
    asked = view.problem.rules.rest_min
    for person, routes in _days_away(view).items():
        by_day: dict[int, list[Route]] = defaultdict(list)
        for route in routes:
            by_day[route.day].append(route)
        for (day_a, before), (day_b, after) in pairwise(sorted(by_day.items())):
            returns = view.problem.days[day_a].start_min + max(route.returns_min for route in before)
            between = view.problem.days[day_b].start_min + min(route.leaves_min for route in after) - returns
            if between < asked:
                date = view.problem.days[day_b].date
                text = f"{view.people[person].name} rests {between} min before {date}, {asked} are asked for"
                yield Violation("rest", text, after[0].orders, (person,), day_b, asked - between)


def weekly_hours(view: View) -> Iterator[Violation]:
    """Minutes away per person and week against what is left of the week."""
    for person, routes in _days_away(view).items():
        weeks: dict[str, int] = defaultdict(int)
        for route in routes:
            weeks[view.problem.days[route.day].week] += route.away_min
        for week, minutes in weeks.items():
            limit = view.people[person].week_left_min.get(week, view.problem.rules.week_max_min)
            if minutes > limit:
                text = f"{view.people[person].name} is away {minutes} min in week {week}, {limit} are left"
                yield Violation("weekly hours", text, people=(person,), amount=minutes - limit)


def _days_away(view: View) -> dict[str, list[Route]]:
    away: dict[str, list[Route]] = defaultdict(list)
    for route in view.routes:
        for person in route.people:
            away[person].append(route)
    return away
