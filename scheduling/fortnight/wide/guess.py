"""First prices for a wide master: what an hour of people is worth where there is more work than time.

Orders are filled into the fortnight's person-slots by what they would cost if left out per slot of work; the last one that
still fits tells what a person-slot is worth. At these prices most routes neither pay nor cost much, so that the first rounds
bring routes that stay.
"""

from __future__ import annotations

import numpy as np

from scheduling.fortnight.facts import Facts, Floats
from scheduling.fortnight.wide.master import WideMaster


def slot_cents(facts: Facts) -> float:
    """What a person-slot is worth at the margin; 0 where everything fits."""
    p = facts.problem
    room = float(sum(_room_slots(facts, person) for person in range(len(p.people))))
    work = [min(m.team * sum(m.visits_min) for m in o.modes) / p.slot_min for o in p.orders]
    worth = sorted(((o.left_out_cost / max(w, 1.0), w) for o, w in zip(p.orders, work, strict=True)), reverse=True)
    for cents, slots in worth:
        room -= slots / WORKING
        if room < 0:
            return cents * WORKING
    return 0.0


WORKING = 0.75
"""Share of the time away that is work: common practice, no source; the rounds that follow put it right."""


def _room_slots(facts: Facts, person: int) -> float:
    """Slots that a person may be away in the fortnight: shifts, and hours of each week."""
    by_week: dict[str, int] = {}
    for day, mask in enumerate(facts.fit):
        if mask >> person & 1:
            shift, week = facts.shift[person][day], facts.problem.days[day].week
            by_week[week] = by_week.get(week, 0) + shift.end - shift.start
    return float(sum(min(slots, facts.week_left(person, week) / facts.problem.slot_min) for week, slots in by_week.items()))


def first_prices(master: WideMaster) -> Floats:
    """Prices of all rows, cents: a visit is worth its people's slots, an hour of the week what its slots are."""
    f, worth = master.facts, slot_cents(master.facts)
    price = np.zeros(master.rows.rows)
    per_hour = worth * 60.0 / f.problem.slot_min
    for rows in (master.week_row,):
        price[rows] = -per_hour
    least = np.full(len(master.job_day), np.inf)
    for day, tables in master.days.items():
        for table in tables:
            own = table.own.min(axis=1) + table.slots * (worth * table.size)
            for k, cents in zip(table.kinds.tolist(), own.tolist(), strict=True):
                jobs = master.kinds[k].jobs
                if len(jobs) == 1:
                    at = master.job_day[jobs[0], day]
                    least[at] = min(least[at], cents)
    price[master.link] = np.where(np.isfinite(least), -least, 0.0)
    return price
