"""Rules about who: team size, certificates, rescue, skills, vehicles, pairs."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from scheduling.fortnight.check.view import Route, View, breach
from scheduling.fortnight.plan import Violation, Visit


def team_size(view: View) -> Iterator[Violation]:
    """Enough fit people, and nobody who is neither fit nor a learner."""
    for visit in view.visits:
        team = view.team(visit)
        fit = [person for person in team if view.is_fit(person, visit.day)]
        asked = max([view.problem.rules.min_team, *(view.team_asked(order) for order in view.job_orders(visit))])
        if len(fit) < asked:
            text = f"{view.at(visit)}: {len(fit)} fit people, {asked} are asked for"
            yield breach("team size", text, visit, asked - len(fit), visit.people)
        for person in team:
            if not person.learner and person not in fit:
                text = f"{view.at(visit)}: {person.name} is not fit for work that day and no learner"
                yield breach("team size", text, visit, 1, [person.id])
        if len(team) < len(visit.people):
            yield breach("team size", f"{view.at(visit)}: somebody is named twice", visit, len(visit.people) - len(team))


def certificate(view: View) -> Iterator[Violation]:
    """Base certificates of everybody, learners too."""
    for visit in view.visits:
        for person in view.team(visit):
            if visit.day not in person.fit_days:
                text = f"{view.at(visit)}: {person.name} lacks a valid base certificate that day"
                yield breach("certificate", text, visit, 1, [person.id])


def rescue(view: View) -> Iterator[Violation]:
    """Enough rescue-capable people among those who are fit (learners do not count)."""
    for visit in view.visits:
        able = [p for p in view.team(visit) if view.is_fit(p, visit.day) and visit.day in p.rescue_days]
        short = view.problem.rules.rescue_pair - len(able)
        if short > 0:
            text = f"{view.at(visit)}: {len(able)} rescue-capable people, {view.problem.rules.rescue_pair} are asked for"
            yield breach("rescue", text, visit, short, visit.people)


def skill(view: View) -> Iterator[Violation]:
    """Each need of each job is met by fit people of the team."""
    for visit in view.visits:
        fit = [person for person in view.team(visit) if view.is_fit(person, visit.day)]
        for order in view.job_orders(visit):
            for need in order.needs:
                holders = sum(view.holds(person, need.skill, need.level, visit.day) for person in fit)
                if holders < need.count:
                    text = f"{view.at(visit)}: {holders} hold {need.skill} level {need.level}, {need.count} are asked for"
                    yield breach("skill", f"{text} by order {order.id}", visit, need.count - holders, visit.people)


def one_team(view: View) -> Iterator[Violation]:
    """Nobody in two teams a day; a team's visits leave the hop between them; team numbers name teams."""
    teams_of: dict[tuple[int, str], list[Route]] = defaultdict(list)
    for route in view.routes:
        for person in route.people:
            teams_of[route.day, person].append(route)
    for (day, person), routes in teams_of.items():
        if len(routes) > 1:
            text = f"{view.people[person].name} is in {len(routes)} teams on {view.problem.days[day].date}"
            orders = tuple(order for route in routes for order in route.orders)
            yield Violation("one team", text, orders, (person,), day, len(routes) - 1)
    for route in view.routes:
        yield from _hops_kept(view, route)
    yield from _team_numbers(view)


def _hops_kept(view: View, route: Route) -> Iterator[Violation]:
    for a, b in pairwise(route.visits):
        short = a.start + a.slots + view.hop_slots(a.turbine, b.turbine) - b.start
        if short > 0:
            text = f"{view.at(b)}: the team is {short} slots short of being through at {a.turbine} and over here"
            yield breach("one team", text, b, short, route.people)


def _team_numbers(view: View) -> Iterator[Violation]:
    people_of: dict[tuple[int, int], frozenset[str]] = {}
    number_of: dict[tuple[int, frozenset[str]], int] = {}
    for visit in view.visits:
        people = frozenset(visit.people)
        same_people = people_of.setdefault((visit.day, visit.team), people) == people
        same_number = number_of.setdefault((visit.day, people), visit.team) == visit.team
        if not (same_people and same_number):
            text = f"{view.at(visit)}: team {visit.team} has other people elsewhere that day, or they another number"
            yield breach("one team", text, visit, 1, visit.people)


def vehicle(view: View) -> Iterator[Violation]:
    """One vehicle a team, one team a vehicle, a seat for everybody."""
    drivers: dict[tuple[int, str], set[frozenset[str]]] = defaultdict(set)
    used: dict[tuple[int, frozenset[str]], set[str]] = defaultdict(set)
    for visit in view.visits:
        people = frozenset(visit.people)
        drivers[visit.day, visit.vehicle].add(people)
        used[visit.day, people].add(visit.vehicle)
        seats = view.vehicles[visit.vehicle].seats
        if len(people) > seats:
            text = f"{view.at(visit)}: {len(people)} people in vehicle {visit.vehicle} with {seats} seats"
            yield breach("vehicle", text, visit, len(people) - seats, visit.people)
    for (day, vehicle_id), teams in drivers.items():
        if len(teams) > 1:
            text = f"vehicle {vehicle_id} serves {len(teams)} teams on {view.problem.days[day].date}"
            yield Violation("vehicle", text, day=day, amount=len(teams) - 1)
    for (day, people), vehicles in used.items():
        if len(vehicles) > 1:
            text = f"one team has {len(vehicles)} vehicles on {view.problem.days[day].date}: {', '.join(sorted(vehicles))}"
            yield Violation("vehicle", text, people=tuple(sorted(people)), day=day, amount=len(vehicles) - 1)


def together(view: View) -> Iterator[Violation]:
    """Pairs kept apart are never in one team; pairs kept together are in one team when both are out."""
    by_day: dict[int, list[Route]] = defaultdict(list)
    for route in view.routes:
        by_day[route.day].append(route)
    for day, routes in by_day.items():
        out = {person for route in routes for person in route.people}
        date = view.problem.days[day].date
        for a, b in view.problem.apart:
            if any({a, b} <= set(route.people) for route in routes):
                yield _pair(view, f"must not work together but do on {date}", (a, b), day)
        for a, b in view.problem.together:
            if {a, b} <= out and any(len({a, b} & set(route.people)) == 1 for route in routes):
                yield _pair(view, f"must be in one team but are in two on {date}", (a, b), day)


def _pair(view: View, text: str, pair: tuple[str, str], day: int) -> Violation:
    return Violation("together", f"{view.people[pair[0]].name} and {view.people[pair[1]].name} {text}", (), pair, day, 1)


def climbs(view: View) -> Iterator[Violation]:
    """Visits a person makes on a day, and of these by ladder."""
    made: dict[tuple[str, int], list[Visit]] = defaultdict(list)
    for visit in view.visits:
        for person in dict.fromkeys(visit.people):
            made[person, visit.day].append(visit)
    rules = view.problem.rules
    for (person, day), visits in made.items():
        ladder = sum(view.stay_of(visit).by == "ladder" for visit in visits)
        for count, limit, how in ((len(visits), rules.climbs_a_day, ""), (ladder, rules.ladder_climbs_a_day, " by ladder")):
            if count > limit:
                text = f"{view.people[person].name} climbs {count} times{how} on {view.problem.days[day].date}, at most {limit}"
                yield Violation("climbs", text, (), (person,), day, count - limit)
