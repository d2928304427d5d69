"""What a plan's visits, ways, stays, chances, hops and crews are, as plainly as can be (see naive_check.py)."""

from __future__ import annotations

import base64
import math
from fractions import Fraction
from itertools import pairwise
from typing import Any

from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Order, Person, Problem


def by_id(records: Any, wanted: str) -> Any:
    return next(record for record in records if record.id == wanted)


def orders_of(p: Problem, v: Visit) -> list[Order]:
    return [by_id(p.orders, job.order) for job in v.jobs]


def people_of(p: Problem, v: Visit) -> list[Person]:
    return [by_id(p.people, name) for name in sorted(set(v.people))]


def visits_of(plan: Plan, order_id: str) -> list[tuple[int, int, Visit]]:
    """(visit number, work minutes, visit) of an order, by number."""
    found = [(job.visit, job.work_min, v) for v in plan.visits for job in v.jobs if job.order == order_id]
    return sorted(found, key=lambda f: (f[0], f[2].day, f[2].start))


def way(p: Problem, v: Visit) -> tuple[str, int, int]:
    best = None
    for order in orders_of(p, v):
        shut = by_id(p.turbines, v.turbine).access[v.day].by == "none"
        own = order.access and (order.opens_climbing or (shut and order.behind))
        if own and (best is None or order.access.up_min + order.access.down_min > best.up_min + best.down_min):
            best = order.access
    best = best or by_id(p.turbines, v.turbine).access[v.day]
    return best.by, best.up_min, best.down_min


def work_min(p: Problem, v: Visit) -> int:
    _, up, down = way(p, v)
    return up + down + sum(job.work_min for job in v.jobs) + sum(order.pack_min for order in orders_of(p, v))


def pauses_inside(p: Problem, v: Visit) -> bool:
    stay = p.slot_min * math.ceil(Fraction(work_min(p, v), p.slot_min))
    return hop(p, "", v.turbine) + stay + hop(p, v.turbine, "") > p.rules.break_after_min


def stay_slots(p: Problem, v: Visit) -> int:
    minutes = work_min(p, v)
    if pauses_inside(p, v):
        minutes += p.rules.break_min
    return math.ceil(Fraction(minutes, p.slot_min))


def bit(p: Problem, key: str, member: int, column: int) -> bool:
    position = member * p.total_slots + column
    return bool(base64.b64decode(p.workable[key])[position // 8] >> (7 - position % 8) & 1)


def chance(p: Problem, v: Visit) -> Fraction:
    good = 0
    columns = [column(p, v.day, slot) for slot in range(v.start, v.start + v.slots) if 0 <= slot < p.days[v.day].slots]
    for member in range(p.members):
        good += all(bit(p, key, member, c) for o in orders_of(p, v) for key in [o.window, *o.also] for c in columns)
    return Fraction(good if columns and v.jobs else 0, p.members)


def column(p: Problem, day: int, slot: int) -> int:
    return sum(d.slots for d in p.days[:day]) + slot


def hop(p: Problem, a: str, b: str) -> int:
    """Minutes; "" is the base, "@inn" the lodging "inn"."""
    if a == b:
        return 0
    (xa, ya), (xb, yb) = place(p, a), place(p, b)
    return p.hop_fixed_min + math.ceil(60 * math.sqrt((xa - xb) ** 2 + (ya - yb) ** 2) / p.speed_kmh)


def place(p: Problem, name: str) -> tuple[float, float]:
    if name == "":
        return p.base_x_km, p.base_y_km
    found = by_id(p.lodgings, name[1:]) if name.startswith("@") else by_id(p.turbines, name)
    return found.x_km, found.y_km


def ends(visits: list[Visit]) -> tuple[str, str]:
    """Where a team's day begins and ends, as `hop` wants it."""
    first, last = visits[0].starts_from, visits[-1].ends_at
    return f"@{first}" if first else "", f"@{last}" if last else ""


def whole(p: Problem, minutes: int) -> int:
    return math.ceil(Fraction(minutes, p.slot_min))


def crews(plan: Plan) -> list[tuple[int, frozenset[str], list[Visit]]]:
    """(day, people, visits in start order)."""
    keys = {(v.day, frozenset(v.people)) for v in plan.visits}
    return [
        (
            d,
            who,
            sorted((v for v in plan.visits if v.day == d and set(v.people) == who), key=lambda v: (v.start, v.start + v.slots)),
        )
        for d, who in keys
    ]


def away_minutes(p: Problem, visits: list[Visit]) -> tuple[int, int]:
    """(leaves, returns): minutes since the horizon's origin."""
    morning = p.days[visits[0].day].start_min
    end = max(v.start + v.slots for v in visits)
    here, there = ends(visits)
    leaves = morning + visits[0].start * p.slot_min - hop(p, here, visits[0].turbine)
    return leaves, morning + end * p.slot_min + hop(p, visits[-1].turbine, there)


def is_fit(person: Person, day: int) -> bool:
    return day in person.fit_days and not person.learner and any(s.day == day for s in person.shifts)


def stops(p: Problem, v: Visit) -> set[str]:
    return {t for order in orders_of(p, v) for t in order.stops}


def slots_of(p: Problem, v: Visit) -> set[tuple[int, int]]:
    return {(v.day, s) for s in range(v.start, v.start + v.slots) if 0 <= s < p.days[v.day].slots}


def standing_between(p: Problem, plan: Plan) -> list[tuple[str, list[tuple[int, int]], list[int]]]:
    """(turbine, (day, slot) pairs, nights) of orders whose turbine stays stopped between visits."""
    found = []
    for order in p.orders:
        visits = [v for _, _, v in visits_of(plan, order.id)]
        for a, b in pairwise(visits):
            if order.stopped_between:
                every = [(d, s) for d, day in enumerate(p.days) for s in range(day.slots)]
                after, before = (a.day, a.start + a.slots), (b.day, b.start)
                found.append((order.turbine, [at for at in every if after <= at < before], list(range(a.day, b.day))))
    return found
