"""What a schedule costs and what it breaks, hour by hour from the definition. Shares no code with the replanner.

Hours count from the start day's midnight. A turbine that failed stands from the midnight that begins its failure day until its
job ends; a job on the failure day itself stops it for the job's hours only (so the published hours of standstill have it).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from tests.bench.offshore2022 import data
from tests.bench.offshore2022.data import Job, Sea

Schedule = dict[Job, tuple[int, int]]
"""Job -> (day from the start, hour of that day at which it begins)."""


@dataclass
class Cost:
    """A schedule's cost in dollars with its parts, the hours that turbines stood still, and breaches in words."""

    parts: dict[str, float] = field(default_factory=dict)
    stood_hours: int = 0
    violations: list[str] = field(default_factory=list)

    @property
    def value(self) -> float:
        """Sum of the parts."""
        return sum(self.parts.values())


def evaluate(sea: Sea, start: int, schedule: Schedule) -> Cost:
    """Cost of the schedule that begins on day `start` of the record."""
    cost = Cost(violations=violations(sea, start, schedule))
    lost, price = 0.0, 0.0
    for turbine in range(data.TURBINES):
        stood = standing(turbine, schedule)
        cost.stood_hours += len(stood)
        lost += sum(float(sea.mwh[24 * start + hour, turbine]) for hour in stood)
    for job, (day, _) in schedule.items():
        price += data.AFTER if job.surprise or day >= job.fails else data.BEFORE
    cost.parts["jobs"] = price
    cost.parts["crews"] = len(schedule) * data.JOB_HOURS * data.CREW_HOUR
    cost.parts["vessel"] = len({day for day, _ in schedule.values()}) * data.VESSEL_DAY
    cost.parts["lost energy"] = lost * data.MWH
    return cost


def standing(turbine: int, schedule: Schedule) -> set[int]:
    """Hours in which the turbine stands."""
    hours: set[int] = set()
    for job, (day, hour) in schedule.items():
        if job.turbine == turbine:
            begins = 24 * day + hour
            first = 24 * job.fails if day > job.fails else begins
            hours |= set(range(first, begins + data.JOB_HOURS))
    return hours


def violations(sea: Sea, start: int, schedule: Schedule) -> list[str]:
    """Every breach of a rule, one sentence each."""
    found = [f"{job} is not planned" for job in data.JOBS if job not in schedule]
    for job, (day, hour) in schedule.items():
        found += job_breaches(sea, start, job, day, hour)
    at_work = Counter(24 * day + hour + i for day, hour in schedule.values() for i in range(data.JOB_HOURS))
    found += [f"{n} jobs at once in hour {hour}" for hour, n in at_work.items() if n > data.CREWS]
    a_day = Counter(day for day, _ in schedule.values())
    found += [f"{n} jobs on day {day}" for day, n in a_day.items() if n > data.CREWS]
    on_turbine = Counter((job.turbine, 24 * d + h + i) for job, (d, h) in schedule.items() for i in range(data.JOB_HOURS))
    found += [f"two jobs at once on turbine {turbine}" for (turbine, _), n in on_turbine.items() if n > 1]
    return found


def job_breaches(sea: Sea, start: int, job: Job, day: int, hour: int) -> list[str]:
    """Breaches of one job by itself."""
    found = []
    if not 0 <= day < data.DAYS or not data.FIRST_START <= hour <= data.LAST_START:
        return [f"{job} starts outside the days or hours allowed"]
    if day < job.known:
        found.append(f"{job} is done before anybody knows of it")
    for i in range(data.JOB_HOURS):
        at = 24 * (start + day) + hour + i
        if not (sea.wind_mps[at, job.turbine] <= data.WIND_MPS and sea.wave_m[at] <= data.WAVE_M):
            found.append(f"{job} is outside its window in hour {hour + i} of day {day}")
            break
    return found
