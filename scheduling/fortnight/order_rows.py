"""Rows about whole orders that the day model and the master problem share: done or left out, visits in sequence.

Both models have columns `x` for candidates (something done on a day), `day` of each, `candidates` by job and a column `left`
per order.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np

from scheduling.fortnight.columns import JobKey
from scheduling.fortnight.facts import Facts, Ints
from scheduling.fortnight.rows import INF, Rows

NONE = np.zeros(0, np.int64)


class Model(Protocol):
    """What the rows need to know."""

    facts: Facts
    rows: Rows
    x: Ints
    day: Ints
    left: Ints
    candidates: dict[JobKey, Ints]
    done: dict[JobKey, Ints]


def complete(m: Model) -> None:
    """Each order is left out or done in one mode, with each visit of that mode once."""
    for i, order in enumerate(m.facts.problem.orders):
        if all(len(mode.visits_min) == 1 for mode in order.modes):
            chosen = [m.candidates.get((i, k, 0), NONE) for k in range(len(order.modes))]
            m.rows.add_row(1.0, 1.0, np.concatenate([m.left[i : i + 1], *(m.x[c] for c in chosen)]))
            continue
        modes = m.rows.add_columns(len(order.modes), whole=True)
        m.rows.add_row(1.0, 1.0, np.concatenate([m.left[i : i + 1], modes]))
        for k, mode in enumerate(order.modes):
            for visit in range(len(mode.visits_min)):
                row = m.rows.add_row(0.0, 0.0, m.x[m.candidates.get((i, k, visit), NONE)])
                m.rows.put(row, modes[k], -1.0)


def done_by(m: Model, job: JobKey) -> Ints:
    """Columns, one a day: the share of this visit that is done by the end of the day."""
    if job not in m.done:
        days = m.facts.days
        done = m.rows.add_columns(days)
        row = m.rows.add_rows(days, 0.0, 0.0)
        m.rows.put(row, done, 1.0)
        m.rows.put(row[1:], done[:-1], -1.0)
        chosen = m.candidates.get(job, NONE)
        m.rows.put(row[m.day[chosen]], m.x[chosen], -1.0)
        m.done[job] = done
    return m.done[job]


def sequence(m: Model) -> None:
    """Visits of an order on different days, in order, within its longest gap."""
    for i, order in enumerate(m.facts.problem.orders):
        for k, mode in enumerate(order.modes):
            for visit in range(1, len(mode.visits_min)):
                before, now = done_by(m, (i, k, visit - 1)), done_by(m, (i, k, visit))
                m.rows.add_row(0.0, 0.0, now[0])
                row = m.rows.add_rows(m.facts.days - 1, -1.0, 0.0)
                m.rows.put(row, now[1:], 1.0)
                m.rows.put(row, before[:-1], -1.0)
                gap = order.max_gap_days
                if gap is not None and gap < m.facts.days:
                    row = m.rows.add_rows(m.facts.days - gap, -1.0, 0.0)
                    m.rows.put(row, before[: m.facts.days - gap], 1.0)
                    m.rows.put(row, now[gap:], -1.0)


def after(m: Model) -> None:
    """An order that waits for another is planned only with it, and starts on its last day at the earliest, or on as many days
    later as its wait takes in any case."""
    for i, earlier in enumerate(m.facts.after):
        for other in earlier:
            m.rows.add_row(0.0, 1.0, np.array([m.left[i], m.left[other]]), np.array([1.0, -1.0]))
            row = m.rows.add_rows(m.facts.days, -1.0, 0.0)
            for k in range(len(m.facts.problem.orders[i].modes)):
                m.rows.put(row, done_by(m, (i, k, 0)), 1.0)
            days, ends = latest_end(m.facts, m.facts.problem.orders[i].after_gap_min, int((i, other) in m.facts.behind))
            for k, mode in enumerate(m.facts.problem.orders[other].modes):
                m.rows.put(row[days], done_by(m, (other, k, len(mode.visits_min) - 1))[ends], -1.0)


class Linked(Protocol):
    """A model with one column for each job and day."""

    facts: Facts
    rows: Rows
    x: Ints
    job_day: dict[tuple[JobKey, int], int]


def equipment(m: Linked) -> None:
    """A piece of equipment costs its day rate on each day on which an order that needs it is done, and once its bringing."""
    p = m.facts.problem
    for item in p.equipment:
        days: list[int] = []
        for day in item.days:
            users = [i for (job, d), i in m.job_day.items() if d == day and item.id in p.orders[job[0]].equipment]
            if users and (item.day_cost or item.mobilise_cost):
                used = m.rows.add_columns(1, cost=item.day_cost, whole=True)
                days += used.tolist()
                for i in users:
                    m.rows.put(m.rows.add_row(-INF, 0.0, [m.x[i]]), used, -1.0)
        brought(m.rows, days, item.mobilise_cost)


def brought(rows: Rows, used: list[int], cost: float) -> None:
    """A price paid once if any of these columns (a piece of equipment used on a day) is."""
    if used and cost:
        once = rows.add_columns(1, cost=cost, whole=True)
        row = rows.add_rows(len(used), -INF, 0.0)
        rows.put(row, used, 1.0)
        rows.put(row, once, -1.0)


def latest_end(facts: Facts, gap_min: int, apart: int = 0) -> tuple[Ints, Ints]:
    """Days on which an order may start so many minutes and days after another, and for each the latest day on which that may
    end."""
    days, ends = [], []
    for day in range(facts.days):
        last = facts.moment(day, facts.slots[day])
        before = [d for d in range(day + 1 - apart) if facts.moment(d, 0) + gap_min <= last]
        if before:
            days.append(day)
            ends.append(before[-1])
    return np.array(days, np.int64), np.array(ends, np.int64)
