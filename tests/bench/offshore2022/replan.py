"""The rolling replanner: plan what is known, carry it out until a surprise, plan the rest again; each time to the optimum.

A day's starts all hold the hour after noon, so "two at a time" is "two a day" and only the cheapest start of a job on a day
matters. One column a job and day, one a vessel day; HiGHS proves the optimum in a moment.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.rows import INF, Rows, quiet
from tests.bench.offshore2022 import data
from tests.bench.offshore2022.data import Job, Sea

Schedule = dict[Job, tuple[int, int]]
NEVER = 1e9


def replan(sea: Sea, start: int) -> Schedule:
    """The schedule as it was carried out from day `start` of the record, with plans made anew on the days of surprises."""
    done: Schedule = {}
    for today in sorted({job.known for job in data.JOBS}):
        done = {job: when for job, when in done.items() if when[0] < today}
        asked = [job for job in data.JOBS if job.known <= today and job not in done]
        done |= plan(sea, start, asked, today)
    return done


def plan(sea: Sea, start: int, jobs: list[Job], today: int) -> Schedule:
    """The cheapest days and hours from `today` on for these jobs; RuntimeError if they do not fit."""
    tables = [options(sea, start, job, today) for job in jobs]
    rows = Rows()
    x = [rows.add_columns(data.DAYS, cost=cents, upper=(cents < NEVER).astype(float), whole=True) for cents, _ in tables]
    vessel = rows.add_columns(data.DAYS, cost=data.VESSEL_DAY, whole=True)
    for mine in x:
        rows.add_row(1.0, 1.0, mine)
        goes = rows.add_rows(data.DAYS, -INF, 0.0)
        rows.put(goes, mine, 1.0)
        rows.put(goes, vessel, -1.0)
    for turbine in {job.turbine for job in jobs}:
        share(rows, [mine for job, mine in zip(jobs, x, strict=True) if job.turbine == turbine], 1.0)
    share(rows, x, float(data.CREWS))
    chosen = [int(np.argmax(value)) for value in solved(rows, x)]
    return {job: (day, int(hours[day])) for job, day, (_, hours) in zip(jobs, chosen, tables, strict=True)}


def share(rows: Rows, groups: list[NDArray[np.int64]], most: float) -> None:
    """At most so many of these jobs on any day."""
    row = rows.add_rows(data.DAYS, -INF, most)
    for mine in groups:
        rows.put(row, mine, 1.0)


def solved(rows: Rows, x: list[NDArray[np.int64]]) -> list[NDArray[np.float64]]:
    """Values of the columns in a proven optimum."""
    highs = quiet(1, 0)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.passModel(rows.model(0.0, integer=True))
    highs.run()
    if highs.modelStatusToString(highs.getModelStatus()) != "Optimal":
        raise RuntimeError("the jobs do not fit into the days of the record")
    value = np.asarray(highs.getSolution().col_value)
    return [value[mine] for mine in x]


def options(sea: Sea, start: int, job: Job, today: int) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Cost (dollars) of the job on each day at its cheapest hour, and that hour; NEVER where no start is allowed."""
    hours = slice(24 * start, 24 * (start + data.DAYS))
    good = (sea.wind_mps[hours, job.turbine] <= data.WIND_MPS) & (sea.wave_m[hours] <= data.WAVE_M)
    length, starts = data.JOB_HOURS, np.arange(data.FIRST_START, data.LAST_START + 1)
    spent = np.concatenate(([0.0], np.cumsum(sea.mwh[hours, job.turbine])))
    bad = np.concatenate(([0], np.cumsum(~good)))
    begins = 24 * np.arange(data.DAYS)[:, None] + starts
    late = np.arange(data.DAYS) >= job.fails
    down_from = np.where(np.arange(data.DAYS)[:, None] > job.fails, 24 * job.fails, begins)
    dollars = data.MWH * (spent[begins + length] - spent[down_from]) + np.where(late, data.AFTER, data.BEFORE)[:, None]
    dollars = np.where(bad[begins + length] == bad[begins], dollars + length * data.CREW_HOUR, NEVER)
    dollars[: max(today, job.known)] = NEVER
    return dollars.min(axis=1), starts[dollars.argmin(axis=1)]
