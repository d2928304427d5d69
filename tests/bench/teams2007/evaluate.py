"""Judge a plan, written from the definition alone: it knows neither the search nor its tables.

A team is the set of people of a visit. It is fixed for the day, works its jobs one after another inside 0..120, and nobody is in
two teams of a day or works when absent. A job needs, in each domain and at each level, so many people *of at least that level*.
A job starts when all its predecessors have ended; time runs on over days, 120 units each. Jobs given to others cost at most the
budget together, and whatever waits for one of them is given to others too.

The value is 28 C1 + 14 C2 + 4 C3 + C: Ck the latest end among the jobs of priority k that we do, C the latest end of all.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from tests.bench.teams2007.reader import DAY, Instance, Job

WEIGHTS = {1: 28, 2: 14, 3: 4}
WEIGHT_OF_ALL = 1


@dataclass(frozen=True)
class Visit:
    """A job on a day (the first is 1) from `start` (0..120) with these people (their numbers)."""

    job: int
    day: int
    start: int
    people: frozenset[int]


@dataclass(frozen=True)
class Plan:
    """What we do and what others do."""

    visits: tuple[Visit, ...]
    outsourced: frozenset[int] = frozenset()


def value(instance: Instance, plan: Plan) -> int:
    """The value of a plan (smaller is better), whether or not it keeps the rules."""
    jobs = _jobs(instance)
    total = WEIGHT_OF_ALL * max((_end(jobs, v) for v in plan.visits), default=0)
    for priority, weight in WEIGHTS.items():
        total += weight * max((_end(jobs, v) for v in plan.visits if jobs[v.job].priority == priority), default=0)
    return total


def violations(instance: Instance, plan: Plan) -> list[str]:
    """Every rule that the plan breaks, as sentences; an empty list if it keeps them all."""
    jobs = _jobs(instance)
    known = [v for v in plan.visits if v.job in jobs]
    strange = [f"job {v.job} does not exist" for v in plan.visits if v.job not in jobs]
    strange += [f"job {n} does not exist" for n in sorted(plan.outsourced - jobs.keys())]
    rules = (_complete, _inside, _present, _levels, _one_team, _one_at_a_time, _order, _given_away)
    return strange + [sentence for rule in rules for sentence in rule(instance, jobs, Plan(tuple(known), plan.outsourced))]


def _jobs(instance: Instance) -> dict[int, Job]:
    return {job.number: job for job in instance.jobs}


def _start(visit: Visit) -> int:
    return (visit.day - 1) * DAY + visit.start


def _end(jobs: dict[int, Job], visit: Visit) -> int:
    return _start(visit) + jobs[visit.job].duration


def _complete(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    times = Counter(v.job for v in plan.visits) + Counter(plan.outsourced)
    for number in jobs:
        if times[number] != 1:
            yield f"job {number} is done {times[number]} times"


def _inside(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    for v in plan.visits:
        if v.day < 1 or v.start < 0 or v.start + jobs[v.job].duration > DAY:
            yield f"job {v.job} is not inside a day"


def _present(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    away = {person.number: person.away for person in instance.people}
    for v in plan.visits:
        if not v.people:
            yield f"job {v.job} has nobody"
        for person in sorted(v.people):
            if person not in away:
                yield f"technician {person} of job {v.job} does not exist"
            elif v.day in away[person]:
                yield f"technician {person} of job {v.job} is absent on day {v.day}"


def _levels(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    held = {person.number: person.levels for person in instance.people}
    for v in plan.visits:
        for domain, by_level in enumerate(jobs[v.job].needs):
            levels = [held[person][domain] for person in v.people if person in held]
            for level, needed in enumerate(by_level, 1):
                have = sum(1 for one in levels if one >= level)
                if have < needed:
                    yield f"job {v.job} has {have} people of level {level} in domain {domain + 1}, it needs {needed}"


def _one_team(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    teams: dict[tuple[int, int], set[frozenset[int]]] = defaultdict(set)
    for v in plan.visits:
        for person in v.people:
            teams[v.day, person].add(v.people)
    for (day, person), sets in sorted(teams.items()):
        if len(sets) > 1:
            yield f"technician {person} is in {len(sets)} teams on day {day}"


def _one_at_a_time(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    by_team: dict[tuple[int, frozenset[int]], list[Visit]] = defaultdict(list)
    for v in plan.visits:
        by_team[v.day, v.people].append(v)
    for visits in by_team.values():
        visits.sort(key=_start)
        for first, then in pairwise(visits):
            if _end(jobs, first) > _start(then):
                yield f"jobs {first.job} and {then.job} of one team overlap"


def _order(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    begins = {v.job: _start(v) for v in plan.visits}
    ends = {v.job: _end(jobs, v) for v in plan.visits}
    for job in instance.jobs:
        for before in job.after:
            if job.number in begins and before in ends and ends[before] > begins[job.number]:
                yield f"job {job.number} starts before job {before} has ended"


def _given_away(instance: Instance, jobs: dict[int, Job], plan: Plan) -> Iterator[str]:
    given = plan.outsourced & jobs.keys()
    spent = sum(jobs[n].cost for n in given)
    if spent > instance.budget:
        yield f"jobs given to others cost {spent}, the budget is {instance.budget}"
    for job in instance.jobs:
        if job.number not in given and given & set(job.after):
            yield f"job {job.number} waits for a job given to others and is not"
