"""Day by day, the first thing that keeps a left-out order from a start; equal days joined, the rest counted.

With a background the limit that binds is named with the share of members, and people who are missing with why; without it the
text says less and is still right.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from scheduling.fortnight.explain.background import NOTHING_KNOWN, Background, LimitTable
from scheduling.fortnight.explain.case import Case
from scheduling.fortnight.explain.surroundings import Surroundings
from scheduling.fortnight.explain.words import Clock, days_text, named, percent, slot_clock
from scheduling.fortnight.plan import Job, Plan
from scheduling.fortnight.problem import Order, Person, Problem

MOST_GROUPS = 3


def by_day(problem: Problem, plan: Plan, order_id: str, background: Background = NOTHING_KNOWN, clock: Clock = slot_clock) -> str:
    """What is in the way on each day for the order's first visit in its smallest team; "" where nothing is.

    Raises ValueError when the order is not in the problem.
    """
    order = next((order for order in problem.orders if order.id == order_id), None)
    if order is None:
        raise ValueError(f"order {order_id!r} is not in the problem; name one of its orders")
    return _told(Surroundings(problem, plan, clock), order, background)


def left_out_by_day(
    problem: Problem, plan: Plan, background: Background = NOTHING_KNOWN, clock: Clock = slot_clock
) -> dict[str, str]:
    """`by_day` of every order that the plan leaves out."""
    around = Surroundings(problem, plan, clock)
    return {order.id: _told(around, order, background) for order in problem.orders if order.id not in around.planned}


def _told(around: Surroundings, order: Order, background: Background) -> str:
    mode = min(order.modes, key=lambda one: one.team)
    case = Case(around, order, mode, Job(order.id, 0, mode.visits_min[0]))
    groups: dict[str, list[int]] = {}
    for day, cause in _causes(case, background):
        groups.setdefault(cause, []).append(day)
    if not groups:
        return ""
    largest = sorted(groups, key=lambda cause: (-len(groups[cause]), groups[cause][0]))[:MOST_GROUPS]
    shown = sorted(largest, key=lambda cause: groups[cause][0])
    more = sum(len(days) for cause, days in groups.items() if cause not in largest)
    text = "; ".join(f"{days_text(around.problem, groups[cause])}: {cause}" for cause in shown)
    return f"No start on {text}" + (f"; and {more} more days." if more else ".")


def _causes(case: Case, background: Background) -> Iterator[tuple[int, str]]:
    """(day, first cause). Days that are closed to the order count only where it is known why."""
    starts = set(case.days_to_start)
    for day in range(len(case.problem.days)):
        if day not in case.order.days:
            shut = background.shut.get(case.order.id, {}).get(day)
            if shut:
                yield day, shut.text.rstrip(".")
        elif day not in case.days_to_climb:
            yield day, "climbing is shut"
        elif day not in case.days:
            yield day, "its equipment is not there, or it is pinned to another day"
        elif day not in starts:
            limits = [one for key in (case.order.window, *case.order.also) for one in background.limits.get(key, ())]
            yield day, _weather(case, limits, day)
        else:
            missing = _people(case, background, day)
            if missing:
                yield day, missing


def _weather(case: Case, limits: Sequence[LimitTable], day: int) -> str:
    """The limit that by itself leaves the best start least chance; without limits the best chance."""
    record, slots, chances = case.problem.days[day], case.stays[day].slots, case.around.chances
    if slots > record.slots:
        return "the day is shorter than the stay"
    asked = percent(case.problem.rules.confidence)
    columns = slice(record.first_slot, record.first_slot + record.slots)
    best = float(case.chance[columns].max())
    broken = [(1.0 - float(chances.of_limit(one, slots)[columns].max()), one) for one in limits]
    share, binding = max(broken, key=lambda pair: pair[0], default=(0.0, None))
    if binding is None or share <= 1.0 - case.problem.rules.confidence + 1e-9:
        return f"the best chance is {percent(best)}, {asked} is asked for"
    if not binding.op:
        return "no daylight for so long"
    return f"{binding.broken} in {percent(share)} of members at every start"


def _people(case: Case, background: Background, day: int) -> str:
    """Who is missing at the day's best start, were there no other work; "" if nobody is."""
    group = max((group for _, group in case.staff if group.day == day), key=lambda one: len(one.people))
    able = group.people
    for need in case.order.needs:
        if group.holders(need) < need.count:
            holders = [p for p in case.problem.people if any(h.skill == need.skill and h.level >= need.level for h in p.skills)]
            there = [p for p in able if case.room.view.holds(p, need.skill, need.level, day)]
            gone = [p for p in holders if p not in there]
            who = f": {_who(case, background, gone, day)}" if gone else ""
            return f"{len(there)} of {need.count} people with {need.skill} level {need.level} are there{who}"
    if len(able) < case.mode.team:
        gone = [p for p in case.problem.people if p not in able and not p.learner]
        return f"{len(able)} of {case.mode.team} people are there: {_who(case, background, gone, day)}"
    return ""


def _who(case: Case, background: Background, people: list[Person], day: int) -> str:
    view = case.room.view

    def why(person: Person) -> str:
        known = background.absent.get(person.id, {}).get(day)
        if known:
            return known
        if (person.id, day) not in view.shifts:
            return "off"
        return "no valid certificate" if day not in person.fit_days else "shift too short, or skill not valid that day"

    return named(f"{person.name} ({why(person)})" for person in people)
