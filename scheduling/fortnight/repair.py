"""Repair: somebody is ill, a vehicle or a turbine is out, and a plan is in force that people know.

The plan in force is what the problem's published visits say, so a repair needs nothing but its problem and can be solved again
like any other. Visits that keep this problem's rules stay on the board, the others are taken off and planned anew at the price
of changing them; of the visits that nothing forces to change at most MOST_CHANGED may, whatever that would save.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduling.fortnight.board import Board
from scheduling.fortnight.columns import Kinds
from scheduling.fortnight.explain.words import Clock, day_text, named, slot_clock, time_text
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.plan import Plan, Result, Visit
from scheduling.fortnight.problem import Problem, PublishedVisit
from scheduling.fortnight.reload import put_what_holds
from scheduling.fortnight.solve import OnProgress, Params, ShouldStop, solve
from scheduling.fortnight.told import told_plan

MOST_CHANGED = 0.1
"""Share of the unaffected visits that a repair may change (a planner's judgement, no source)."""


@dataclass(frozen=True)
class Change:
    """What became of one published visit. `why` says what hit it ("" for a visit that could stand as it was); `now` is its
    new visit, None where its order is left out; `along` tells of another visit of its order that is hit."""

    was: PublishedVisit
    why: str
    now: Visit | None
    along: str = ""

    @property
    def stays(self) -> bool:
        """Whether day, start and people are as they were."""
        return self.now is not None and not (self.moved or set(self.now.people) != set(self.was.people))

    @property
    def moved(self) -> bool:
        """Whether it stands on another day or slot."""
        return self.now is not None and (self.now.day, self.now.start) != (self.was.day, self.was.start)


def repair(
    problem: Problem,
    params: Params | None = None,
    on_progress: OnProgress | None = None,
    should_stop: ShouldStop | None = None,
) -> Result:
    """The published plan mended: as `solve`, going on from what holds of it; the text says what was hit and what changed.

    Without published visits that say who goes it is an ordinary solve, and says so. Money in whole cents.
    """
    start = told_plan(problem)
    if start is None or not problem.orders:
        result = solve(problem, params, on_progress, should_stop)
        return replace(result, text=f"{result.text} There was no published plan to go on from.")
    asked = replace(params or Params(), most_changed=MOST_CHANGED)
    result = solve(problem, asked, on_progress, should_stop, start)
    if result.status == "infeasible":
        hit = affected(problem)
        why = f" Hit are {_listed(problem, hit)}." if hit else ""
        return replace(result, text=f"{result.text}{why} The published plan stays.")
    return replace(result, text=f"{summary(problem, changes(problem, result.plan))} {result.text}")


def affected(problem: Problem) -> dict[tuple[str, int], str]:
    """(order, visit) -> why, for each published visit that cannot stand as it is; the reason in a planner's words."""
    start = told_plan(problem)
    kept: set[tuple[str, int]] = set()
    if start is not None:
        facts = Facts(problem)
        kept = put_what_holds(Orders(Board(facts, Kinds(facts)), random.Random(0)), start)
    return {
        (told.order, told.visit): _why(problem, told)
        for told in problem.published
        if told.people and (told.order, told.visit) not in kept
    }


def changes(problem: Problem, plan: Plan) -> tuple[Change, ...]:
    """Every published visit with what a plan made of it, by day and start."""
    hit = affected(problem)
    stands = {(job.order, job.visit): visit for visit in plan.visits for job in visit.jobs}
    told = sorted((one for one in problem.published if one.people), key=lambda one: (one.day, one.start, one.order))
    return tuple(
        Change(one, hit.get((one.order, one.visit), ""), stands.get((one.order, one.visit)), _along(one, hit)) for one in told
    )


def _along(told: PublishedVisit, hit: dict[tuple[str, int], str]) -> str:
    """Why a visit that could stand may have to move all the same: another visit of its order is hit."""
    other = [visit for order, visit in hit if order == told.order and visit != told.visit]
    return f"visit {other[0] + 1} of the order is hit" if other else ""


def summary(problem: Problem, found: tuple[Change, ...]) -> str:
    """What a repair did, in two sentences."""
    hit, others = [one for one in found if one.why], [one for one in found if not one.why]
    same = sum(one.stays for one in others)
    rest = f"{same} of the {len(others)} others stay as they were" if others else "there are no others"
    if not hit:
        return f"No published visit is hit: {rest.removeprefix('there are ')}."
    fates = ", ".join(_fates(hit))
    reasons = named(list(dict.fromkeys(one.why for one in hit)))
    return f"{len(hit)} published visit{'s are' if len(hit) > 1 else ' is'} hit ({reasons}): {fates}; {rest}."


def change_texts(problem: Problem, found: tuple[Change, ...], clock: Clock = slot_clock) -> Iterator[tuple[Change, str]]:
    """The visits that did not stay, each with a sentence of what became of it."""
    names = {person.id: person.name for person in problem.people}
    for one in found:
        was, now = one.was, one.now
        if one.stays:
            continue
        place = f"{was.order}, {time_text(problem, was.day, was.start, clock)}"
        if now is None:
            text = "is left out"
        elif one.moved:
            text = f"moves to {time_text(problem, now.day, now.start, clock)}, {named(names[p] for p in now.people)}"
        else:
            text = f"stays, now with {named(names[p] for p in now.people)}"
        why = one.why or one.along or "nothing forces it: the plan as a whole costs less this way"
        yield one, f"{place}: {text} ({why})"


def _fates(hit: list[Change]) -> Iterator[str]:
    out = sum(one.now is None for one in hit)
    moved = sum(one.moved for one in hit)
    other = len(hit) - out - moved
    yield from (f"{count} {what}" for count, what in ((other, "with other people"), (moved, "moved"), (out, "left out")) if count)


def _listed(problem: Problem, hit: dict[tuple[str, int], str]) -> str:
    return "; ".join(f"{order} visit {visit + 1} ({why})" for (order, visit), why in list(hit.items())[:5])


def _why(problem: Problem, told: PublishedVisit) -> str:
    """What keeps a published visit from standing, from the plainest reason on."""
    order = next(one for one in problem.orders if one.id == told.order)
    people = {person.id: person for person in problem.people}
    when = day_text(problem, told.day)
    for one in told.people:
        if one not in people:
            return f"{one} is not among the people any more"
        person = people[one]
        if all(shift.day != told.day for shift in person.shifts):
            return f"{person.name} is not there on {when}"
        if told.day not in person.fit_days:
            return f"{person.name}'s certificates do not hold on {when}"
    if told.day not in order.days:
        return f"{order.id} may not be worked on {when}"
    access = next(one for one in problem.turbines if one.id == order.turbine).access[told.day]
    if access.by == "none" and not order.opens_climbing and not (order.behind and order.access):
        return f"{order.turbine} may not be climbed on {when}"
    return f"team, vehicles, weather or work do not fit on {when} any more"
