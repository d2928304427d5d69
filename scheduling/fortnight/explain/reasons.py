"""Why an order was left out: the rules are tested one at a time on every start it could have; the one that binds is named.

For each mode and visit the tests run from what no planner can change today (days, access, weather) to what he can (people,
other work). A mode's reason is that of its hardest visit, an order's that of the mode that came furthest.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from scheduling.fortnight.explain import blocks
from scheduling.fortnight.explain.case import Case
from scheduling.fortnight.explain.cover_block import covered
from scheduling.fortnight.explain.surroundings import Surroundings
from scheduling.fortnight.explain.words import Clock, money, slot_clock, time_text
from scheduling.fortnight.plan import Job, Plan
from scheduling.fortnight.problem import Mode, Order, Problem

CODES: dict[str, str] = {
    "comes after": "an order that comes first is left out, or ends too late for the wait asked after it",
    "no allowed day": "parts, permits or closures leave too few days",
    "no access": "nobody may climb on the days left",
    "equipment away": "shared equipment is not there on the days left",
    "too long": "the stay is longer than any day's grid",
    "no chance": "no start has enough chance",
    "crew away": "people who are named for a visit cannot come on the starts with enough chance",
    "too few people": "on the starts with enough chance too few fit people are on shift for the whole time away",
    "too few rescuers": "too few of them are rescue-capable",
    "no skill": "too few of them hold a skill",
    "no vehicle": "no vehicle seats the team",
    "no team": "no set of people suits in all ways at once",
    "turbine busy": "the turbine is worked on, or isolated, at every start that would do",
    "equipment taken": "others use the equipment at every start that would do",
    "too many stopped": "too many turbines of the site stand still at every start that would do",
    "people busy": "there was room only at the cost of other, mostly dearer work: people are out on other orders",
    "vehicles out": "there was room only at the cost of other work: every vehicle that seats the team is out",
    "no cover": "wherever there is room nobody who can rescue would be near enough",
    "no row of days": "each visit has room, but not one after another within the gap allowed",
    "not worth it": "doing it costs more than leaving it out",
    "room found": "it fits beside the plan and would pay; the search ended before it found that",
}
"""Every code a reason may have, hardest first, in plain words."""


@dataclass(frozen=True)
class Reason:
    """Why an order was left out: a code of CODES, a sentence, and the numbers in it (cents, minutes, shares, people)."""

    code: str
    text: str
    numbers: dict[str, float] = field(default_factory=dict)


TESTS: tuple[Callable[[Case], blocks.Block | None], ...] = (
    blocks.days,
    blocks.access,
    blocks.equipment_days,
    blocks.length,
    blocks.chance,
    blocks.crew_away,
    blocks.people,
    blocks.rescuers,
    blocks.skills,
    blocks.vehicle,
    blocks.team,
    blocks.place,
    blocks.crew,
    covered,
)


def why_left_out(problem: Problem, plan: Plan, order_id: str, clock: Clock = slot_clock) -> Reason:
    """The reason that binds for one order that the plan leaves out.

    Raises ValueError when the order is not in the problem or is planned.
    """
    order = next((order for order in problem.orders if order.id == order_id), None)
    if order is None:
        raise ValueError(f"order {order_id!r} is not in the problem; name one of its orders")
    if any(job.order == order_id for visit in plan.visits for job in visit.jobs):
        raise ValueError(f"order {order_id!r} is planned; ask why_here for its visits")
    return _reason(Surroundings(problem, plan, clock), order)


def reasons(problem: Problem, plan: Plan, clock: Clock = slot_clock) -> dict[str, Reason]:
    """Order id -> reason, for every order without a visit, in the problem's order."""
    around = Surroundings(problem, plan, clock)
    return {order.id: _reason(around, order) for order in problem.orders if order.id not in around.planned}


def _reason(around: Surroundings, order: Order) -> Reason:
    waits = [earlier for earlier in order.after if earlier not in around.planned]
    if waits:
        opens = ", which opens the way and" if waits[0] in order.behind else ", which"
        return Reason("comes after", f"It comes after {waits[0]}{opens} is left out itself.")
    last_named = max((number for number, _ in order.crew), default=-1)
    modes = [mode for mode in order.modes if len(mode.visits_min) > last_named]
    found = [_mode_reason(around, order, mode) for mode in modes]
    rank = list(CODES)
    return max(found, key=lambda reason: rank.index(reason.code))


def _mode_reason(around: Surroundings, order: Order, mode: Mode) -> Reason:
    cases = [Case(around, order, mode, Job(order.id, number, minutes)) for number, minutes in enumerate(mode.visits_min)]
    tested = (next((block for test in TESTS if (block := test(case)) is not None), None) for case in cases)
    found = [block for block in tested if block is not None]
    if not found:
        return _as_a_whole(around, order, mode, cases[0])
    rank = list(CODES)
    code, text, numbers = min(found, key=lambda block: rank.index(block[0]))
    return Reason(code, text, numbers)


def _as_a_whole(around: Surroundings, order: Order, mode: Mode, first: Case) -> Reason:
    """Every visit has room by itself: do all of them, and does it pay?"""
    problem = around.problem
    placed = around.room.with_order(order, mode, first.crewed(first.free(first.starts)))
    if placed is None:
        gap = "" if order.max_gap_days is None else f" within {order.max_gap_days} days of each other"
        return Reason("no row of days", f"Each of its {len(mode.visits_min)} visits has room, but not one after another{gap}.")
    visits = placed[1]
    cost = around.cost_of(order, visits)
    numbers = {"cost_cents": float(cost), "left_out_cents": float(order.left_out_cost), "day": float(visits[0].day)}
    when = time_text(problem, visits[0].day, visits[0].start, around.clock)
    text = f"It fits beside the plan from {when}, at {money(problem, cost)}; "
    text += f"leaving it out costs {money(problem, order.left_out_cost)}"
    if cost >= order.left_out_cost:
        return Reason("not worth it", f"{text}, so it waits.", numbers)
    return Reason("room found", f"{text}. The search ended before it found that; solve again with more time.", numbers)
