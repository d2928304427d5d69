"""The rule of thumb to compare with: orders by due date, each on the first day that fits, teams picked by hand's rule.

Never moves what it has placed, never lets orders ride along, never looks at money. Its plans keep every hard rule.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.check.time_rules import free_min
from scheduling.fortnight.check.view import Route, Stay, View
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Mode, Order, Person, Problem


def rule_plan(problem: Problem) -> Plan:
    """A plan by the rule of thumb: pinned orders first, then by due date; the smallest team first."""
    board, left_out = _Board.empty(problem), []
    for order in _in_due_order(problem):
        for mode in sorted(order.modes, key=lambda m: m.team):
            placed = board.with_order(order, mode)
            if placed is not None:
                board = placed
                break
        else:
            left_out.append(order.id)
    plan = Plan(tuple(visit for visits in board.days for visit in visits), tuple(left_out))
    return replace(plan, parts=recompute_parts(problem, plan))


def _in_due_order(problem: Problem) -> list[Order]:
    ranked = sorted(problem.orders, key=lambda o: (not o.pins, o.due_day, -o.left_out_cost, o.id))
    done: list[Order] = []
    while ranked:
        ids = {order.id for order in ranked}
        ready = next((order for order in ranked if not ids & set(order.after)), ranked[0])
        ranked.remove(ready)
        done.append(ready)
    return done


@dataclass
class _Board:
    """What stands so far. `days`: visits by day; `use`: visits per piece of equipment and column; bool [turbines, columns]:
    `worked` on, `stopped`, and `closed` because a visit elsewhere isolates it."""

    problem: Problem
    view: View
    rows: dict[str, int]
    days: list[list[Visit]]
    stopped: NDArray[np.bool_]
    worked: NDArray[np.bool_]
    closed: NDArray[np.bool_]
    use: dict[str, NDArray[np.int64]]

    @classmethod
    def empty(cls, problem: Problem) -> _Board:
        shape = (len(problem.turbines), problem.total_slots)
        return cls(
            problem,
            View(problem, Plan((), ())),
            {turbine.id: i for i, turbine in enumerate(problem.turbines)},
            [[] for _ in problem.days],
            np.zeros(shape, dtype=bool),
            np.zeros(shape, dtype=bool),
            np.zeros(shape, dtype=bool),
            {piece.id: np.zeros(problem.total_slots, dtype=np.int64) for piece in problem.equipment},
        )

    def _copy(self) -> _Board:
        twin = copy(self)
        twin.days = [list(visits) for visits in self.days]
        twin.stopped, twin.worked, twin.closed = self.stopped.copy(), self.worked.copy(), self.closed.copy()
        twin.use = {piece: row.copy() for piece, row in self.use.items()}
        return twin

    def with_order(self, order: Order, mode: Mode) -> _Board | None:
        """The board with all visits of the mode on the first days that fit, or None."""
        board, before = self._copy(), None
        for number, minutes in enumerate(mode.visits_min):
            visit = next(board._fits(order, mode, Job(order.id, number, minutes), before), None)
            if visit is None:
                return None
            board._put(order, visit, before)
            before = visit
        pinned = {number for number, _, _ in order.pins}
        return board if pinned <= set(range(len(mode.visits_min))) else None

    def _put(self, order: Order, visit: Visit, before: Visit | None) -> None:
        self.days[visit.day].append(visit)
        columns = self.view.columns(visit)
        self.worked[self.rows[visit.turbine], columns] = True
        for turbine in order.stops:
            self.stopped[self.rows[turbine], columns] = True
            self.closed[self.rows[turbine], columns] |= turbine != visit.turbine
        if before and order.stopped_between:
            self.stopped[self.rows[visit.turbine], self.view.columns(before).stop : columns.start] = True
        for piece in order.equipment:
            self.use[piece][columns] += 1

    # --- where a visit fits -------------------------------------------------------------------------------------

    def _fits(self, order: Order, mode: Mode, job: Job, before: Visit | None) -> Iterator[Visit]:
        for day in self._days(order, job, before):
            stay = self.view.stay(order.turbine, day, [job])
            draft = Visit(order.turbine, day, 0, stay.slots, -1, (job,), (), "", 0.0, stay.by)
            teams = self._able_teams(order, mode, draft)
            for start, chance in self._starts(order, job, day, stay, before):
                placed = replace(draft, start=start, chance=chance)
                known = (replace(placed, team=t.team, people=t.people, vehicle=t.vehicle) for t in teams)
                crewed = next((v for v in known if self._is_kept(v)), None) or self._with_new_team(order, mode, placed)
                if crewed:
                    yield crewed

    def _days(self, order: Order, job: Job, before: Visit | None) -> list[int]:
        first = before.day + 1 if before else 0
        last = len(self.problem.days)
        if before and order.max_gap_days is not None:
            last = min(last, before.day + order.max_gap_days + 1)
        days = [day for day in sorted(order.days) if first <= day < last]
        days = [day for day in days if all(day in self.view.equipment[piece].days for piece in order.equipment)]
        shut = {i for i, access in enumerate(self.view.turbines[order.turbine].access) if access.by == "none"}
        days = days if order.opens_climbing else [day for day in days if day not in shut]
        pinned = {day for number, day, _ in order.pins if number == job.visit}
        return [day for day in days if not pinned or day in pinned]

    def _starts(self, order: Order, job: Job, day: int, stay: Stay, before: Visit | None) -> Iterator[tuple[int, float]]:
        record = self.problem.days[day]
        missing = ~self.view.members(order.window)[:, record.first_slot : record.first_slot + record.slots]
        before_slot = np.concatenate((np.zeros((len(missing), 1), int), missing.cumsum(axis=1)), axis=1)
        holds = (before_slot[:, stay.slots :] == before_slot[:, : -stay.slots]).sum(axis=0)
        pinned = [slot for number, _, slot in order.pins if number == job.visit]
        for start, count in enumerate(holds.tolist()):
            chance = count / self.problem.members
            if chance >= self.problem.rules.confidence and (not pinned or start in pinned):
                columns = slice(record.first_slot + start, record.first_slot + start + stay.slots)
                if self._is_free(order, columns, before) and self._comes_after(order, job, day, start):
                    yield start, chance

    def _is_free(self, order: Order, columns: slice, before: Visit | None) -> bool:
        own = self.rows[order.turbine]
        stops = [self.rows[turbine] for turbine in order.stops]
        if self.worked[stops, columns].any() or self.closed[own, columns].any():
            return False
        full = (self.use[piece][columns].max(initial=0) >= self.view.equipment[piece].capacity for piece in order.equipment)
        return not any(full) and self._standing_fits(order, columns, before)

    def _standing_fits(self, order: Order, columns: slice, before: Visit | None) -> bool:
        between = order.stopped_between and before is not None
        first = self.view.columns(before).stop if between and before else columns.start
        stopped = self.stopped[:, first : columns.stop].copy()
        stopped[[self.rows[turbine] for turbine in order.stops], columns.start - first :] = True
        stopped[self.rows[order.turbine]] |= between
        for site, limit in self.problem.rules.max_stopped.items():
            rows = [i for i, turbine in enumerate(self.problem.turbines) if turbine.site == site]
            if stopped[rows].sum(axis=0).max(initial=0) > limit:
                return False
        return True

    def _comes_after(self, order: Order, job: Job, day: int, start: int) -> bool:
        if job.visit > 0 or not order.after:
            return True
        ends = {j.order: (v.day, v.start + v.slots) for visits in self.days for v in visits for j in v.jobs}
        return all(earlier in ends and ends[earlier] <= (day, start) for earlier in order.after)

    # --- who does it --------------------------------------------------------------------------------------------

    def _able_teams(self, order: Order, mode: Mode, draft: Visit) -> list[Visit]:
        """One visit of each of the day's teams that could do the job, whenever it fits."""
        teams = {visit.team: visit for visit in self.days[draft.day]}
        return [v for v in teams.values() if self._is_able(order, mode, replace(draft, people=v.people))]

    def _with_new_team(self, order: Order, mode: Mode, draft: Visit) -> Visit | None:
        today = self.days[draft.day]
        used = {v.vehicle for v in today}
        vans = sorted((v.seats, v.id) for v in self.problem.vehicles if v.id not in used)
        people = self._picked(order, mode, draft) if vans and vans[-1][0] >= mode.team else ()
        vans = [van for van in vans if van[0] >= len(people)]
        if not people or not vans:
            return None
        visit = replace(draft, team=max((v.team for v in today), default=-1) + 1, people=people, vehicle=vans[0][1])
        return visit if self._is_able(order, mode, visit) and self._is_kept(visit) else None

    def _picked(self, order: Order, mode: Mode, draft: Visit) -> tuple[str, ...]:
        """People for a new team: those the needs ask for first, then the ones with the fewest skills."""
        day, taken = draft.day, {person for visit in self.days[draft.day] for person in visit.people}
        route = self.view.route([draft])
        free = [p for p in self.problem.people if p.id not in taken and self.view.is_fit(p, day)]
        free = [p for p in free if self._has_time(p.id, day, route)]
        free.sort(key=lambda p: (day not in p.rescue_days, len(p.skills), p.id))
        team: list[Person] = []
        for need in order.needs:
            self._take(team, [p for p in free if self.view.holds(p, need.skill, need.level, day)], need.count)
        size = max(mode.team, self.problem.rules.rescue_pair)
        self._take(team, free, size)
        return tuple(p.id for p in team) if len(team) >= size else ()

    def _take(self, team: list[Person], among: list[Person], count: int) -> None:
        """Add people until `count` of `among` are in the team, passing over those who must not work with one of it."""
        missing = count - sum(p in team for p in among)
        for person in among:
            barred = any({person.id, mate.id} == set(pair) for mate in team for pair in self.problem.apart)
            if missing > 0 and person not in team and not barred:
                team.append(person)
                missing -= 1

    def _is_able(self, order: Order, mode: Mode, visit: Visit) -> bool:
        """Team size, rescue and skills, and pairs."""
        day, rules = visit.day, self.problem.rules
        fit = [p for p in self.view.team(visit) if self.view.is_fit(p, day)]
        if len(fit) < mode.team or sum(day in p.rescue_days for p in fit) < rules.rescue_pair:
            return False
        if any(sum(self.view.holds(p, n.skill, n.level, day) for p in fit) < n.count for n in order.needs):
            return False
        out = {person for other in self.days[day] for person in other.people if other.people != visit.people}
        here = set(visit.people)
        apart = any(set(pair) <= here for pair in self.problem.apart)
        split = any(len(set(pair) & here) == 1 and set(pair) & out for pair in self.problem.together)
        return not apart and not split

    def _is_kept(self, visit: Visit) -> bool:
        """Hops, shift, climbs, break, rest and weekly hours of the team's day with this visit."""
        mates = [v for v in self.days[visit.day] if set(v.people) >= set(visit.people)]
        for mate in mates:
            hop = self.view.hop_slots(mate.turbine, visit.turbine)
            if visit.start < mate.start + mate.slots + hop and mate.start < visit.start + visit.slots + hop:
                return False
        route = self.view.route([*mates, visit])
        rules = self.problem.rules
        ladder = sum(v.by == "ladder" for v in route.visits)
        if len(route.visits) > rules.climbs_a_day or ladder > rules.ladder_climbs_a_day:
            return False
        if route.away_min > rules.break_after_min and free_min(self.view, route) < rules.break_min:
            return False
        return all(self._has_time(person, visit.day, route) for person in visit.people)

    def _has_time(self, person: str, day: int, route: Route) -> bool:
        shift = self.view.shifts.get((person, day))
        if shift is None or route.leaves < shift.start or route.returns > shift.end:
            return False
        routes, rules, days = self._routes_of(person, day), self.problem.rules, self.problem.days
        week = days[day].week
        left = self.view.people[person].week_left_min.get(week, rules.week_max_min)
        if route.away_min + sum(r.away_min for r in routes if days[r.day].week == week) > left:
            return False
        leaves, returns = days[day].start_min + route.leaves_min, days[day].start_min + route.returns_min
        rested = (
            days[r.day].start_min + r.leaves_min - returns if r.day > day else leaves - days[r.day].start_min - r.returns_min
            for r in routes
        )
        return all(minutes >= rules.rest_min for minutes in rested)

    def _routes_of(self, person: str, but: int) -> list[Route]:
        days = ([v for v in visits if person in v.people] for day, visits in enumerate(self.days) if day != but)
        return [self.view.route(visits) for visits in days if visits]
