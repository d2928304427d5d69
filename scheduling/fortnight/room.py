"""Where one more visit has room beside what is planned already: turbines, equipment, teams and people, one test at a time.

Used to lay work in due-date order and to say why an order was left out. Nothing here moves what stands, and nothing here
looks at money.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from copy import copy
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.check.time_rules import free_min
from scheduling.fortnight.check.view import Route, View
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Mode, Order, Person, Problem


class Room:
    """What stands so far, slot by slot, and what still fits.

    days     visits by day
    worked, stopped, closed  bool [turbines, columns]: worked on, standing still, isolated by a visit elsewhere
    use      equipment id -> visits using it, int [columns]
    """

    def __init__(self, problem: Problem, visits: Iterable[Visit] = ()) -> None:
        self.problem = problem
        self.view = View(problem, Plan((), ()))
        self.rows = {turbine.id: i for i, turbine in enumerate(problem.turbines)}
        shape = (len(self.rows), problem.total_slots)
        self.days: list[list[Visit]] = [[] for _ in problem.days]
        self._routes: dict[str, list[Route]] = {}
        self.worked, self.stopped, self.closed = (np.zeros(shape, dtype=bool) for _ in range(3))
        self.use = {piece.id: np.zeros(problem.total_slots, dtype=np.int64) for piece in problem.equipment}
        last: dict[str, Visit] = {}
        for visit in sorted(visits, key=lambda v: (v.day, v.start)):
            before = {job.order: last[job.order] for job in visit.jobs if job.order in last}
            self.put(visit, before)
            last.update((job.order, visit) for job in visit.jobs)

    def copy(self) -> Room:
        """A twin that may be filled without changing this one."""
        twin = copy(self)
        twin._routes = dict(self._routes)
        twin.days = [list(visits) for visits in self.days]
        twin.stopped, twin.worked, twin.closed = self.stopped.copy(), self.worked.copy(), self.closed.copy()
        twin.use = {piece: row.copy() for piece, row in self.use.items()}
        return twin

    def put(self, visit: Visit, before: dict[str, Visit]) -> None:
        """Place a visit; `before` holds the visit before this one of each of its orders, where there is one."""
        self.days[visit.day].append(visit)
        for person in visit.people:
            self._routes.pop(person, None)
        columns = self.view.columns(visit)
        self.worked[self.rows[visit.turbine], columns] = True
        for turbine in self.view.stops(visit):
            self.stopped[self.rows[turbine], columns] = True
            self.closed[self.rows[turbine], columns] |= turbine != visit.turbine
        for order in self.view.job_orders(visit):
            if order.stopped_between and order.id in before:
                self.stopped[self.rows[visit.turbine], self.view.columns(before[order.id]).stop : columns.start] = True
        for piece in {piece for order in self.view.job_orders(visit) for piece in order.equipment}:
            self.use[piece][columns] += 1

    def with_order(self, order: Order, mode: Mode) -> tuple[Room, list[Visit]] | None:
        """The room with every visit of the mode on the first days that fit, and these visits; None if there is no room.

        When the later visits find no room, the first one is tried on the next days.
        """
        if {number for number, _, _ in order.pins} - set(range(len(mode.visits_min))):
            return None
        tried = -1
        for first in self.fits(order, mode, Job(order.id, 0, mode.visits_min[0]), None):
            if first.day > tried:
                tried = first.day
                placed = self._with_rest(order, mode, first)
                if placed is not None:
                    return placed
        return None

    def _with_rest(self, order: Order, mode: Mode, first: Visit) -> tuple[Room, list[Visit]] | None:
        room, placed = self.copy(), [first]
        room.put(first, {})
        for number, minutes in enumerate(mode.visits_min[1:], start=1):
            visit = next(room.fits(order, mode, Job(order.id, number, minutes), placed[-1]), None)
            if visit is None:
                return None
            room.put(visit, {order.id: placed[-1]})
            placed.append(visit)
        return room, placed

    def fits(self, order: Order, mode: Mode, job: Job, before: Visit | None) -> Iterator[Visit]:
        """Visits that do the job by all rules, first day and slot first; a team that is out already before a new one."""
        for day in self.days_open(order, job, before):
            teams = self.able_teams(order, mode, day)
            for draft in self.drafts(order, job, day):
                if self.is_place_free(order, draft, before) and self.is_after_others(order, draft):
                    crewed = self.crewed(order, mode, draft, teams)
                    if crewed:
                        yield crewed

    # --- days and starts ----------------------------------------------------------------------------------------

    def days_open(self, order: Order, job: Job, before: Visit | None = None) -> list[int]:
        """Days left by the order's days, access, equipment, pins and the visit before."""
        first, last = 0, len(self.problem.days) - 1
        if before:
            first = before.day + 1
            last = last if order.max_gap_days is None else min(last, before.day + order.max_gap_days)
        days = [day for day in sorted(order.days) if first <= day <= last and self.can_climb(order, day)]
        pinned = {day for number, day, _ in order.pins if number == job.visit}
        days = [day for day in days if not pinned or day in pinned]
        return [day for day in days if all(day in self.view.equipment[piece].days for piece in order.equipment)]

    def can_climb(self, order: Order, day: int) -> bool:
        """Whether the turbine may be climbed for this order on the day."""
        return order.opens_climbing or self.view.turbines[order.turbine].access[day].by != "none"

    def chances(self, order: Order, job: Job, day: int) -> NDArray[np.float64]:
        """Chance of the stay at each start of the day, float [starts]; empty if the stay is longer than the day."""
        record, slots = self.problem.days[day], self.view.stay(order.turbine, day, [job]).slots
        if slots > record.slots:
            return np.zeros(0)
        misses = ~self.view.members(order.window)[:, record.first_slot : record.first_slot + record.slots]
        so_far = np.concatenate((np.zeros((len(misses), 1), dtype=np.int64), misses.cumsum(axis=1)), axis=1)
        good: NDArray[np.int64] = (so_far[:, slots:] == so_far[:, :-slots]).sum(axis=0)
        return good / self.problem.members

    def drafts(self, order: Order, job: Job, day: int) -> Iterator[Visit]:
        """Visits without people at every start with enough chance (and at the pinned start only, if pinned)."""
        stay = self.view.stay(order.turbine, day, [job])
        pinned = [slot for number, _, slot in order.pins if number == job.visit]
        for start, chance in enumerate(self.chances(order, job, day).tolist()):
            if chance >= self.problem.rules.confidence and (not pinned or start in pinned):
                yield Visit(order.turbine, day, start, stay.slots, -1, (job,), (), "", chance, stay.by)

    # --- the place ----------------------------------------------------------------------------------------------

    def is_place_free(self, order: Order, draft: Visit, before: Visit | None = None) -> bool:
        """Turbine, isolations, equipment and the number of turbines that stand still."""
        columns = self.view.columns(draft)
        stops = [self.rows[turbine] for turbine in order.stops]
        if self.worked[stops, columns].any() or self.closed[self.rows[order.turbine], columns].any():
            return False
        return self.is_equipment_free(order, columns) and self._may_stand(order, columns, before)

    def is_equipment_free(self, order: Order, columns: slice) -> bool:
        """Whether every piece the order needs is left in all these columns."""
        return all(self.use[e][columns].max(initial=0) < self.view.equipment[e].capacity for e in order.equipment)

    def _may_stand(self, order: Order, columns: slice, before: Visit | None) -> bool:
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

    def is_after_others(self, order: Order, draft: Visit) -> bool:
        """Whether the orders that come first are finished before the first visit."""
        if not order.after or draft.jobs[0].visit > 0:
            return True
        ends = {j.order: (v.day, v.start + v.slots) for visits in self.days for v in visits for j in v.jobs}
        return all(earlier in ends and ends[earlier] <= (draft.day, draft.start) for earlier in order.after)

    # --- the people ---------------------------------------------------------------------------------------------

    def able_teams(self, order: Order, mode: Mode, day: int) -> list[Visit]:
        """One visit of each of the day's teams that has the people for the order."""
        teams = {visit.team: visit for visit in self.days[day]}
        return [visit for visit in teams.values() if self.has_what_it_takes(order, mode, visit)]

    def crewed(self, order: Order, mode: Mode, draft: Visit, teams: list[Visit] | None = None) -> Visit | None:
        """The draft with the first of the able teams (`able_teams`, if known) that has the time, else with a new team."""
        teams = self.able_teams(order, mode, draft.day) if teams is None else teams
        with_them = (replace(draft, team=t.team, people=t.people, vehicle=t.vehicle) for t in teams)
        out = next((visit for visit in with_them if self.is_in_time(visit)), None)
        return out or self.with_new_team(order, mode, draft)

    def with_new_team(self, order: Order, mode: Mode, draft: Visit) -> Visit | None:
        """The draft with people and a vehicle that are not out that day, or None."""
        vans = self.vehicles_left(draft.day)
        people = self._picked(order, mode, draft) if vans and vans[-1][0] >= mode.team else ()
        vans = [van for van in vans if van[0] >= len(people)]
        if not people or not vans:
            return None
        team = max((v.team for v in self.days[draft.day]), default=-1) + 1
        visit = replace(draft, team=team, people=people, vehicle=vans[0][1])
        return visit if self.has_what_it_takes(order, mode, visit) and self.is_in_time(visit) else None

    def vehicles_left(self, day: int) -> list[tuple[int, str]]:
        """(seats, id) of vehicles not out that day, smallest first."""
        used = {visit.vehicle for visit in self.days[day]}
        return sorted((v.seats, v.id) for v in self.problem.vehicles if v.id not in used)

    def free_people(self, draft: Visit) -> list[Person]:
        """Fit people in no team that day who have the time for this visit alone: rescue-capable first, fewest skills first."""
        day, taken = draft.day, {person for visit in self.days[draft.day] for person in visit.people}
        route = self.view.route([draft])
        free = [p for p in self.problem.people if p.id not in taken and self.view.is_fit(p, day)]
        free = [p for p in free if self.has_time(p.id, route)]
        return sorted(free, key=lambda p: (day not in p.rescue_days, len(p.skills), p.id))

    def _picked(self, order: Order, mode: Mode, draft: Visit) -> tuple[str, ...]:
        """People for a new team: those the needs ask for first, then the ones with the fewest skills."""
        free, team = self.free_people(draft), list[Person]()
        for need in order.needs:
            self._take(team, [p for p in free if self.view.holds(p, need.skill, need.level, draft.day)], need.count)
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

    def has_what_it_takes(self, order: Order, mode: Mode, visit: Visit) -> bool:
        """Team size, rescue, skills and pairs of the visit's people."""
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

    def is_in_time(self, visit: Visit) -> bool:
        """Hops, climbs, break, shift, rest and weekly hours of the team's day with this visit."""
        mates = [v for v in self.days[visit.day] if set(v.people) == set(visit.people)]
        for mate in mates:
            hop = self.view.hop_slots(mate.turbine, visit.turbine)
            if visit.start < mate.start + mate.slots + hop and mate.start < visit.start + visit.slots + hop:
                return False
        route, rules = self.view.route([*mates, visit]), self.problem.rules
        ladder = sum(v.by == "ladder" for v in route.visits)
        if len(route.visits) > rules.climbs_a_day or ladder > rules.ladder_climbs_a_day:
            return False
        return self.has_break(route) and all(self.has_time(person, route) for person in visit.people)

    def has_break(self, route: Route) -> bool:
        """Whether the route is short or has its break."""
        rules = self.problem.rules
        return route.away_min <= rules.break_after_min or free_min(self.view, route) >= rules.break_min

    def has_time(self, person: str, route: Route) -> bool:
        """Shift, weekly hours and rest of one person who goes on this route (instead of any other that day)."""
        shift = self.view.shifts.get((person, route.day))
        if shift is None or route.leaves < shift.start or route.returns > shift.end:
            return False
        days, rules = self.problem.days, self.problem.rules
        routes, week = self._other_days(person, route.day), days[route.day].week
        left = self.view.people[person].week_left_min.get(week, rules.week_max_min)
        if route.away_min + sum(r.away_min for r in routes if days[r.day].week == week) > left:
            return False
        leaves, returns = days[route.day].start_min + route.leaves_min, days[route.day].start_min + route.returns_min
        rested = (
            days[r.day].start_min + r.leaves_min - returns
            if r.day > route.day
            else leaves - days[r.day].start_min - r.returns_min
            for r in routes
        )
        return all(minutes >= rules.rest_min for minutes in rested)

    def _other_days(self, person: str, but: int) -> list[Route]:
        if person not in self._routes:
            days = ([v for v in visits if person in v.people] for visits in self.days)
            self._routes[person] = [self.view.route(visits) for visits in days if visits]
        return [route for route in self._routes[person] if route.day != but]
