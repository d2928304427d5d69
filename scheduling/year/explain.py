"""Sentences about a round: what came of the solve, what a planner must know, and why an item stands where it stands."""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from scheduling.year.board import Board
from scheduling.year.plan import Plan
from scheduling.year.problem import Item, Problem
from scheduling.year.tables import Tables, tables, undone_h

FEW_YEARS = 3


def warnings_of(problem: Problem) -> tuple[str, ...]:
    """What about the input makes the round less sure than it looks."""
    found = []
    years = len(problem.scenarios)
    if not years:
        found.append(
            "No weather history is known for these sites: the round goes by due dates, without lost energy and without the "
            "chance of a week. Load past weather to lay the work into calm weeks."
        )
    elif years < FEW_YEARS:
        names = ", ".join(problem.scenarios)
        found.append(
            f"Only {years} past weather {'year is' if years == 1 else 'years are'} known ({names}): shares of past years and "
            f"P90 values rest on too little. Load {FEW_YEARS} years or more."
        )
    passed = [item.label or item.id for item in problem.items if item.statutory and item.closes < 0]
    if passed:
        past = "1 statutory item is past its" if len(passed) == 1 else f"{len(passed)} statutory items are past their"
        found.append(f"{past} close and laid as early as possible: {_some(passed)}.")
    return tuple(found)


def result_text(problem: Problem, plan: Plan, status: str, bound: float, seconds: float, clashes: tuple[str, ...] = ()) -> str:
    """One or two sentences for the planner about how the solve ended."""
    placed, left = len(plan.placements), len(plan.left_out)
    laid = f"{placed} items laid into weeks, {left} left out."
    gap = max(0.0, (plan.value - bound) / abs(plan.value)) if plan.value else 0.0
    near = f"at most {gap:.1%} above the least possible cost" if np.isfinite(gap) else "how far it is from the best is not known"
    if status == "empty":
        return "Nothing falls due in these weeks: there is nothing to lay."
    if status == "infeasible":
        return "No round keeps every pinned item in its week: " + ("; ".join(clashes) or "free one of the pins") + "."
    if not placed and not plan.parts:
        return f"No round found in time ({seconds:.0f} s); the last one stays. Give the solve more seconds."
    if status == "optimal":
        return f"{laid} No round costs less."
    if status == "gap reached":
        return f"{laid} The round is {near}."
    ended = "Stopped by hand" if status == "stopped" else "Time ran out"
    return f"{laid} {ended} after {seconds:.0f} s; the round is {near}."


def clashing_pins(problem: Problem) -> tuple[str, ...]:
    """Why pinned items cannot all stand where they are pinned."""
    pinned: dict[int, list[Item]] = defaultdict(list)
    for item in problem.items:
        if item.pinned is not None:
            pinned[item.pinned].append(item)
    return tuple(text for week in sorted(pinned) for text in _clashes(problem, week, pinned[week]))


def reasons(problem: Problem, plan: Plan) -> dict[str, str]:
    """For every item one sentence: why it stands in its week, or why it was left out."""
    t = tables(problem)
    board = Board(t)
    for placed in plan.placements:
        if not placed.with_item:
            board.put(t.index[placed.item], placed.week)
    found = {name: _why_left_out(t, board, t.index[name]) for name in plan.left_out}
    partner = _partners(problem, plan)
    label = {item.id: item.label or item.id for item in problem.items}
    for placed in plan.placements:
        if placed.with_item:
            found[placed.item] = f"Done with {label[placed.with_item]}, which covers it, in {_name(t, placed.week)}."
        else:
            found[placed.item] = _why(t, board, t.index[placed.item], placed.week, partner.get(placed.item, ""))
    return found


def _why(t: Tables, board: Board, i: int, week: int, partner: str) -> str:
    item, weeks = t.problem.items[i], t.alone_weeks[i]
    if item.pinned is not None:
        return f"Pinned to {_name(t, week)}."
    if item.statutory and item.closes < 0:
        return f"Its statutory close has passed: as early as possible, {_name(t, week)}."
    if len(weeks) == 1:
        return f"{_name(t, week)} is the only week in which it may be done."
    cost = {w: t.direct[i, w] + item.stop_h * float(t.cents[i][:, w].mean()) for w in weeks}
    cheaper = sorted((w for w in weeks if cost[w] < cost[week] - 0.5), key=lambda w: cost[w])
    if not cheaper:
        return _calmest(t, i, week)
    if partner:
        return f"In one stop with {partner} in {_name(t, week)}."
    full = [w for w in cheaper if not board.may_join(i, w)]
    if len(full) == len(cheaper):
        return f"Every week that would cost it less is full ({_some([_name(t, w) for w in full])})."
    return f"{_name(t, cheaper[0])} would cost this item less, but the work of those weeks costs less together this way."


def _calmest(t: Tables, i: int, week: int) -> str:
    weeks = list(t.alone_weeks[i])
    if not t.problem.scenarios:
        return f"{_name(t, week)} is the open week nearest to its due date."
    lost = t.lost_mwh[i].mean(axis=0) * t.problem.items[i].stop_h
    return (
        f"{_name(t, week)} costs it least of {len(weeks)} open weeks: {lost[week]:.1f} MWh lost on average, "
        f"{lost[weeks].mean():.1f} MWh over all of them."
    )


def _why_left_out(t: Tables, board: Board, i: int) -> str:
    item = t.problem.items[i]
    if not t.weeks_of[i]:
        until = " by its statutory close" if item.statutory else ""
        return f"No week is open for it{until}: every week from its opening on is closed or beyond the horizon."
    if not t.alone_weeks[i]:
        return "Its equipment is not there in any of its weeks, or pinned work fills them."
    empty = Board(t)
    if not any(empty.may_join(i, w) for w in t.alone_weeks[i]):
        return f"Its {item.effort_person_h:g} person-hours do not fit even into an empty week; {_most_room(t, i)}."
    if not any(board.may_join(i, w) for w in t.alone_weeks[i]):
        weeks = _some([_name(t, w) for w in t.alone_weeks[i]])
        return f"Every week open to it is full ({weeks}); the work there costs more to leave out."
    return f"Every open week costs more than leaving it out ({t.out_cents[i] / 100:,.0f} {t.problem.currency})."


def _most_room(t: Tables, i: int) -> str:
    """In how many past years the best of its weeks takes the item alone."""
    most = 0
    for w in t.alone_weeks[i]:
        load = np.zeros((t.share.shape[0], len(t.groups)))
        load[t.limit_of[i]] = t.load[i]
        most = max(most, int((undone_h(t.share[:, :, w], t.capacity[w], load) == 0).sum()))
    return f"its best week takes them in {most} of {t.scenarios} past years, {t.need_fit} are asked; split it or add people"


def _partners(problem: Problem, plan: Plan) -> dict[str, str]:
    week = {p.item: p.week for p in plan.placements if not p.with_item}
    label = {item.id: item.label or item.id for item in problem.items}
    found = {}
    for pair in problem.together:
        if pair.first in week and week[pair.first] == week.get(pair.second):
            found[pair.first], found[pair.second] = label[pair.second], label[pair.first]
    return found


def _clashes(problem: Problem, week: int, items: list[Item]) -> list[str]:
    label, found = problem.weeks[week].label, []
    for e in problem.equipment:
        users = [item.id for item in items if e.id in item.equipment]
        if users and week not in e.weeks:
            found.append(f"{e.id} is not there in {label} for {_some(users)}")
        elif len(users) > e.capacity:
            found.append(f"{e.id} serves {e.capacity} in {label}, pinned are {_some(users)}")
    site = {t.id: t.site for t in problem.turbines}
    for name, most in problem.rules.max_down.items():
        down = sorted({item.turbine for item in items if site[item.turbine] == name and item.stop_h > 0})
        if len(down) > most:
            found.append(f"{name} allows at most {most} down in {label}, pinned are {_some(down)}")
    return found


def _name(t: Tables, week: int) -> str:
    return t.problem.weeks[week].label


def _some(names: list[str]) -> str:
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")
