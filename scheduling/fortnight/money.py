"""The parts of a board's cost by name, counted from the teams on it, and the plan record with them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from itertools import pairwise

from scheduling.fortnight.board import Board, Stop, Team
from scheduling.fortnight.nights import vehicles_of
from scheduling.fortnight.plan import Job, Plan, Visit

Out = list[tuple[int, Team]]


def plan_of(board: Board, left: Iterable[int]) -> Plan:
    """The plan that stands on the board, with its parts in whole cents (each rounded once)."""
    f, p = board.facts, board.facts.problem
    out = [(day, team) for day, teams in enumerate(board.teams) for team in teams]
    gone = sorted(left)
    visits: list[Visit] = []
    vehicles = vehicles_of(board) or []
    for day in range(f.days):
        for number, team in enumerate(board.teams[day]):
            visits += [_visit(board, day, number, team, stop, vehicles[day][number]) for stop in team.stops]
    visits.sort(key=lambda v: (v.day, v.start, v.turbine))
    parts = {name: round(part(board, out)) for name, part in PARTS.items()}
    parts["left out"] = sum(p.orders[o].left_out_cost for o in gone)
    parts["change"] = _change(board, out)
    return Plan(tuple(visits), tuple(p.orders[o].id for o in gone), {k: parts[k] for k in sorted(parts)})


def _visit(board: Board, day: int, number: int, team: Team, stop: Stop, vehicle: str) -> Visit:
    p = board.facts.problem
    names = ("", *(one.id for one in p.lodgings))
    return Visit(
        turbine=p.turbines[stop.kind.turbine].id,
        day=day,
        start=stop.start,
        slots=stop.end - stop.start,
        team=number,
        jobs=tuple(Job(p.orders[o].id, v, p.orders[o].modes[k].visits_min[v]) for o, k, v in stop.kind.jobs),
        people=tuple(p.people[i].id for i in board.facts.members_of(team.mask)),
        vehicle=vehicle,
        chance=stop.chance,
        by=stop.field.by,
        starts_from=names[team.ends[0]],
        ends_at=names[team.ends[1]],
    )


def _jobs(out: Out) -> dict[int, list[tuple[int, int, Stop]]]:
    """order -> (visit, day, stop), visits in order."""
    found: dict[int, list[tuple[int, int, Stop]]] = {}
    for day, team in out:
        for stop in team.stops:
            for order, _, visit in stop.kind.jobs:
                found.setdefault(order, []).append((visit, day, stop))
    return {order: sorted(jobs, key=lambda job: job[0]) for order, jobs in found.items()}


def lost_energy(board: Board, out: Out) -> float:
    """Standing for stays, and between the visits of orders that keep their turbine stopped."""
    f, terms = board.facts, []
    for day, team in out:
        for stop in team.stops:
            at = f.first[day]
            terms += [f.stop_cents[t][at + stop.end] - f.stop_cents[t][at + stop.start] for t in stop.kind.stops]
    for order, jobs in _jobs(out).items():
        if f.problem.orders[order].stopped_between:
            t = f.own[order]
            terms += [f.standing(t, d2, b.start) - f.standing(t, d1, a.end) for (_, d1, a), (_, d2, b) in pairwise(jobs)]
    return math.fsum(terms)


def lateness(board: Board, out: Out) -> float:
    """Days that last visits lie after their due days."""
    orders = board.facts.problem.orders
    late = ((orders[order], jobs[-1][1]) for order, jobs in _jobs(out).items())
    return float(sum(o.late_cost * max(0, day - o.due_day) for o, day in late))


def likely_aborts(board: Board, out: Out) -> float:
    """Visits that weather may break off, by people; near days weigh more where the problem says so."""
    each = board.facts.abort_cents
    return math.fsum((1.0 - s.chance) * each[day] * t.mask.bit_count() for day, t in out for s in t.stops)


def travel(board: Board, out: Out) -> float:
    """Minutes of the hops of each route, by people."""
    f, total = board.facts, 0
    for _, team in out:
        places = [s.kind.turbine for s in team.stops]
        minutes = (
            f.home_min[team.ends[0]][places[0]]
            + f.home_min[team.ends[1]][places[-1]]
            + sum(f.hop_min[a][b] for a, b in pairwise(places))
        )
        total += minutes * team.mask.bit_count()
    return float(total * f.problem.weights.travel_per_person_min)


def nights_away(board: Board, out: Out) -> float:
    """Beds for each person and night."""
    lodgings = board.facts.problem.lodgings
    return float(sum(lodgings[t.ends[1] - 1].night_cost * t.mask.bit_count() for _, t in out if t.ends[1]))


def teams(board: Board, out: Out) -> float:
    """A price for each team and day."""
    return float(len(out) * board.facts.problem.weights.team_day)


def overtime(board: Board, out: Out) -> float:
    """Minutes away after each person's regular end."""
    f, total = board.facts, 0
    for day, team in out:
        for person in f.members_of(team.mask):
            regular_end = f.shift[person][day].regular_end * f.problem.slot_min
            total += max(0, team.returns_min - max(team.leaves_min, regular_end))
    return float(total * f.problem.weights.overtime_per_person_min)


def equipment(board: Board, out: Out) -> float:
    """Day rates of equipment in use, and bringing it here once."""
    used, pieces = {(e, day) for day, team in out for s in team.stops for e in s.kind.equipment}, board.facts.problem.equipment
    once = sum(pieces[e].mobilise_cost for e in {e for e, _ in used})
    return float(sum(pieces[e].day_cost for e, _ in used) + once)


def _change(board: Board, out: Out) -> int:
    f = board.facts
    stands = {(order, visit): (day, stop.start) for order, jobs in _jobs(out).items() for visit, day, stop in jobs}
    moved = sum(cost for key, old in f.published.items() for day, start, cost in old if stands.get(key) != (day, start))
    masks = {(order, visit): team.mask for _, team in out for s in team.stops for order, _, visit in s.kind.jobs}
    missing = (
        cents * (strangers + (people & ~masks[key]).bit_count())
        for key, told in f.company.told.items()
        for day, start, people, strangers, cents in told
        if stands.get(key) == (day, start)
    )
    return moved + sum(missing)


def hired_people(board: Board, out: Out) -> float:
    """Day rates of people in teams."""
    return math.fsum(board.facts.company.hire_cents(team.mask) for _, team in out)


def hand_over(board: Board, out: Out) -> float:
    """Visits whose team holds nobody of the visit before."""
    return math.fsum(board.handed_over(order) for order in board.facts.company.hand_over)


def pairs_apart(board: Board, out: Out) -> float:
    """Preferred pairs that are out in different teams."""
    company = board.facts.company
    by_day: dict[int, list[int]] = {}
    for day, team in out:
        by_day.setdefault(day, []).append(team.mask)
    return float(company.pair_cents * sum(company.all_split(masks) for masks in by_day.values()))


PARTS: dict[str, Callable[[Board, Out], float]] = {
    "lost energy": lost_energy,
    "lateness": lateness,
    "likely aborts": likely_aborts,
    "travel": travel,
    "nights away": nights_away,
    "teams": teams,
    "overtime": overtime,
    "equipment": equipment,
    "hired people": hired_people,
    "hand-over": hand_over,
    "pairs apart": pairs_apart,
}
