"""Where one more visit has room beside what is planned already: turbines, equipment, teams and people, one test at a time.

Used to lay work in due-date order and to say why an order was left out. Nothing here moves what stands, and nothing here
looks at money.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass, replace

from scheduling.fortnight.check.time_rules import free_min
from scheduling.fortnight.check.view import Route
from scheduling.fortnight.place import Place
from scheduling.fortnight.plan import Job, Visit
from scheduling.fortnight.problem import Mode, Order, Person


def named_for(order: Order, number: int) -> tuple[str, ...]:
    """People who must be in the team of the order's visit of that number."""
    return next((people for visit, people in order.crew if visit == number), ())


FAR_MIN = 10**9
"""Minutes beyond any horizon."""


@dataclass(frozen=True)
class Spare:
    """What is left to a person on a day beside the other days: slots of the shift, minutes away, and minutes after slot 0 of the
    day before which the person may not leave and by which the person must be back."""

    start: int
    end: int
    away_min: int
    leaves_min: int
    returns_min: int


class Room(Place):
    """The place with its people: what still fits, and with whom."""

    def with_order(self, order: Order, mode: Mode, firsts: Iterable[Visit] | None = None) -> tuple[Room, list[Visit]] | None:
        """The room with every visit of the mode on the first days that fit, and these visits; None if there is no room.

        When the later visits find no room, the first one is tried on the next days. `firsts`: what `fits` gives for it, if known.
        """
        if {number for number, *_ in (*order.pins, *order.crew)} - set(range(len(mode.visits_min))):
            return None
        tried = -1
        for first in self.fits(order, mode, Job(order.id, 0, mode.visits_min[0]), None) if firsts is None else firsts:
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
            teams = self.able_teams(order, mode, day, job.visit)
            for draft in self.drafts(order, job, day):
                if self.is_place_free(order, draft, before) and self.is_after_others(order, draft):
                    crewed = self.crewed(order, mode, draft, teams)
                    if crewed:
                        yield crewed

    # --- the people ---------------------------------------------------------------------------------------------

    def _stay_key(self, draft: Visit) -> Hashable:
        """What people see of a stay that is a day's only one: turbines equally far away are the same to them."""
        return self.view.hop_min(None, draft.turbine), draft.day, draft.start, draft.slots, draft.by

    def able_teams(self, order: Order, mode: Mode, day: int, number: int) -> list[Visit]:
        """One visit of each of the day's teams that has the people for the order's visit of that number."""
        crew = set(named_for(order, number))

        def make() -> list[Visit]:
            teams = {visit.team: visit for visit in self.days[day] if crew <= set(visit.people)}
            return [visit for visit in teams.values() if self.has_what_it_takes(order, mode, visit)]

        return self._remember(("able", day, order.needs, mode.team, frozenset(crew)), make)

    def cannot_come(self, order: Order, draft: Visit) -> list[Person]:
        """People named for the draft who are out that day, unfit for work, or without the time for this visit alone."""
        route = self.view.route([draft])
        taken = {person for visit in self.days[draft.day] for person in visit.people}
        named = [self.view.people[person] for person in named_for(order, draft.jobs[0].visit)]
        return [p for p in named if p.id in taken or draft.day not in p.fit_days or not self.has_time(p.id, route)]

    def crewed(self, order: Order, mode: Mode, draft: Visit, teams: list[Visit] | None = None) -> Visit | None:
        """The draft with the first of the able teams (`able_teams`, if known) that has the time, else with a new team."""
        teams = self.able_teams(order, mode, draft.day, draft.jobs[0].visit) if teams is None else teams
        with_them = (
            replace(draft, team=t.team, people=t.people, vehicle=t.vehicle, starts_from=t.starts_from, ends_at=t.ends_at)
            for t in teams
        )
        out = next((visit for visit in with_them if self.is_in_time(visit)), None)
        return out or self.with_new_team(order, mode, draft)

    def with_new_team(self, order: Order, mode: Mode, draft: Visit) -> Visit | None:
        """The draft with people and a vehicle that are not out that day, or None."""
        key = ("new", self._stay_key(draft), order.needs, mode.team, named_for(order, draft.jobs[0].visit))
        found = self._remember(key, lambda: self._new_team(order, mode, draft))
        return replace(draft, team=found.team, people=found.people, vehicle=found.vehicle) if found else None

    def _new_team(self, order: Order, mode: Mode, draft: Visit) -> Visit | None:
        vans = self.vehicles_left(draft.day)
        people = self._picked(order, mode, draft) if vans and vans[-1][0] >= mode.team else ()
        vans = [van for van in vans if van[0] >= len(people)]
        if not people or not vans:
            return None
        team = max((v.team for v in self.days[draft.day]), default=-1) + 1
        visit = replace(draft, team=team, people=people, vehicle=vans[0][1])
        return visit if self.is_in_time(visit) else None

    def vehicles_left(self, day: int) -> list[tuple[int, str]]:
        """(seats, id) of vehicles not out that day, smallest first."""
        used = {visit.vehicle for visit in self.days[day]}
        return sorted((v.seats, v.id) for v in self.problem.vehicles if v.id not in used)

    def free_people(self, draft: Visit) -> list[Person]:
        """Fit people in no team that day who have the time for this visit alone: rescue-capable first, fewest skills first."""
        return self._remember(("free", self._stay_key(draft)), lambda: self._free_people(draft))

    def _free_people(self, draft: Visit) -> list[Person]:
        route = self.view.route([draft])
        free = [p for p in self.not_out(draft.day) if self.has_time(p.id, route)]
        return self._remember(("list", draft.day, tuple(p.id for p in free)), lambda: free)

    def not_out(self, day: int) -> list[Person]:
        """Fit people in no team that day: rescue-capable first, fewest skills first."""
        return self._remember(("day", day), lambda: self._not_out(day))

    def _not_out(self, day: int) -> list[Person]:
        taken = {person for visit in self.days[day] for person in visit.people}
        free = [p for p in self.problem.people if p.id not in taken and self.view.is_fit(p, day)]
        return sorted(free, key=lambda p: (day not in p.rescue_days, len(p.skills), p.id))

    def _picked(self, order: Order, mode: Mode, draft: Visit) -> tuple[str, ...]:
        """People for a new team that has what it takes: those named, those the needs ask for, those with the fewest skills."""
        named = named_for(order, draft.jobs[0].visit)
        if named and self.cannot_come(order, draft):
            return ()
        free = self.free_people(draft)
        key = ("picked", draft.day, tuple(p.id for p in free), order.needs, mode.team, named)
        return self._remember(key, lambda: self._pick(order, mode, draft, free))

    def _pick(self, order: Order, mode: Mode, draft: Visit, free: list[Person]) -> tuple[str, ...]:
        team = [self.view.people[person] for person in named_for(order, draft.jobs[0].visit)]
        for need in order.needs:
            self._take(team, [p for p in free if self.view.holds(p, need.skill, need.level, draft.day)], need.count)
        size = max(mode.team, self.problem.rules.rescue_pair)
        self._take(team, free, size)
        people = tuple(p.id for p in team) if len(team) >= size else ()
        return people if people and self.has_what_it_takes(order, mode, replace(draft, people=people)) else ()

    def _take(self, team: list[Person], among: list[Person], count: int) -> None:
        """Add people until `count` of `among` are in the team, passing over those who must not work with one of it."""
        missing = count - sum(p in team for p in among)
        for person in among:
            barred = any({person.id, mate.id} == set(pair) for mate in team for pair in self.problem.apart)
            if missing > 0 and person not in team and not barred:
                team.append(person)
                missing -= 1

    def has_what_it_takes(self, order: Order, mode: Mode, visit: Visit) -> bool:
        """Team size, rescue, skills and pairs of the visit's people; that those named come, where the visit is the order's."""
        if any(not set(named_for(order, job.visit)) <= set(visit.people) for job in visit.jobs if job.order == order.id):
            return False
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
        left = self.spare(person, route.day)
        return (
            left is not None
            and left.start <= route.leaves
            and route.returns <= left.end
            and route.away_min <= left.away_min
            and left.leaves_min <= route.leaves_min
            and route.returns_min <= left.returns_min
        )

    def spare(self, person: str, day: int) -> Spare | None:
        """What shift, weekly hours and rest leave to a person on a day, whatever the person does that day; None off shift."""
        return self._remember(("spare", person, day), lambda: self._spare(person, day))

    def _spare(self, person: str, day: int) -> Spare | None:
        shift = self.view.shifts.get((person, day))
        if shift is None:
            return None
        days, rules = self.problem.days, self.problem.rules
        routes, week, begin = self._other_days(person, day), days[day].week, days[day].start_min
        left = self.view.people[person].week_left_min.get(week, rules.week_max_min)
        left -= sum(route.away_min for route in routes if days[route.day].week == week)
        back = (days[r.day].start_min + r.returns_min for r in routes if r.day < day)
        away = (days[r.day].start_min + r.leaves_min for r in routes if r.day > day)
        first = max(back, default=-FAR_MIN) + rules.rest_min - begin
        return Spare(shift.start, shift.end, left, first, min(away, default=FAR_MIN) - rules.rest_min - begin)

    def _other_days(self, person: str, but: int) -> list[Route]:
        if person not in self._routes:
            days = ([v for v in visits if person in v.people] for visits in self.days)
            self._routes[person] = [self.view.route(visits) for visits in days if visits]
        return [route for route in self._routes[person] if route.day != but]
