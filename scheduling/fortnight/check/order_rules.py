"""Rules about orders: what is planned at all, in which sequence, and where pins hold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from scheduling.fortnight.check.view import View, breach
from scheduling.fortnight.plan import Violation, Visit
from scheduling.fortnight.problem import Order


def known(view: View) -> Iterator[Violation]:
    """Every id exists, jobs stand on their own turbine, nothing is planned or listed twice."""
    for visit in view.plan.visits:
        for what in _unknown(view, visit):
            yield Violation("known", f"a visit names {what}", tuple(job.order for job in visit.jobs), day=visit.day)
    for visit in view.visits:
        if not visit.jobs or not visit.people:
            yield breach("known", f"{view.at(visit)}: a visit without jobs or without people", visit)
        for order in view.job_orders(visit):
            if order.turbine != visit.turbine:
                yield breach("known", f"{view.at(visit)}: order {order.id} stands on turbine {order.turbine}", visit)
    jobs = Counter((job.order, job.visit) for visit in view.plan.visits for job in visit.jobs)
    for (order_id, number), times in jobs.items():
        if times > 1:
            yield Violation(
                "known", f"visit {number} of order {order_id} is planned {times} times", (order_id,), amount=times - 1
            )
    for order_id, times in Counter(view.plan.left_out).items():
        if order_id not in view.orders or times > 1:
            yield Violation("known", f"left out names {order_id!r}, unknown or listed {times} times", (order_id,))


def _unknown(view: View, visit: Visit) -> Iterator[str]:
    if visit.turbine not in view.turbines:
        yield f"turbine {visit.turbine!r}, which is not in the problem"
    if not 0 <= visit.day < len(view.problem.days):
        yield f"day {visit.day}, which lies outside the horizon"
    if visit.vehicle not in view.vehicles:
        yield f"vehicle {visit.vehicle!r}, which is not in the problem"
    for lodging in {visit.starts_from, visit.ends_at} - {"", *view.lodgings}:
        yield f"lodging {lodging!r}, which is not in the problem"
    for person in visit.people:
        if person not in view.people:
            yield f"person {person!r}, who is not in the problem"
    for job in visit.jobs:
        if job.order not in view.orders:
            yield f"order {job.order!r}, which is not in the problem"


def complete(view: View) -> Iterator[Violation]:
    """All visits of one mode, or left out and listed."""
    for order in view.problem.orders:
        jobs, listed = view.planned.get(order.id, []), order.id in view.plan.left_out
        if not jobs and not listed:
            yield Violation("complete", f"order {order.id} is neither planned nor listed as left out", (order.id,))
        if jobs and listed:
            yield Violation("complete", f"order {order.id} is planned and yet listed as left out", (order.id,))
        if jobs and not _is_one_mode(view, order):
            done = ", ".join(f"{job.visit}: {job.work_min} min" for job, _ in jobs)
            text = f"order {order.id}: the planned visits ({done}) are not all visits of one of its modes"
            yield Violation("complete", text, (order.id,))


def _is_one_mode(view: View, order: Order) -> bool:
    jobs = [job for job, _ in view.planned[order.id]]
    numbers, minutes = [job.visit for job in jobs], tuple(job.work_min for job in jobs)
    return numbers == list(range(len(jobs))) and any(mode.visits_min == minutes for mode in order.modes)


def sequence(view: View) -> Iterator[Violation]:
    """Visits on different days in order, close enough; orders that come first are finished first."""
    for order_id, jobs in view.planned.items():
        order = view.orders[order_id]
        for (_, a), (job, b) in pairwise(jobs):
            gap = b.day - a.day
            if gap < 1:
                text = f"order {order_id}: visit {job.visit} does not lie on a later day than the one before it"
                yield breach("sequence", text, b, 1 - gap)
            elif order.max_gap_days is not None and gap > order.max_gap_days:
                text = f"order {order_id}: {gap} days between two visits, at most {order.max_gap_days}"
                yield breach("sequence", text, b, gap - order.max_gap_days)
        yield from _after(view, order)


def _after(view: View, order: Order) -> Iterator[Violation]:
    first = view.planned[order.id][0][1]
    for earlier in order.after:
        if earlier not in view.planned:
            yield breach("sequence", f"order {order.id} is planned although {earlier}, which comes first, is left out", first)
            continue
        last = max((visit for _, visit in view.planned[earlier]), key=lambda v: (v.day, v.start + v.slots))
        waits = view.minute(first.day, first.start) - view.minute(last.day, last.start + last.slots)
        if earlier in order.behind and first.day <= last.day:
            text = f"order {order.id} does not lie on a later day than {earlier}, which opens the way and must be accepted first"
            yield breach("sequence", text, first, 1 + last.day - first.day)
        elif waits < 0:
            yield breach("sequence", f"order {order.id} starts before {earlier}, which comes first, is finished", first, -waits)
        elif waits < order.after_gap_min:
            text = f"order {order.id} starts {waits} min after the end of {earlier}, {order.after_gap_min} are asked for"
            yield breach("sequence", text, first, order.after_gap_min - waits)


def crew(view: View) -> Iterator[Violation]:
    """Planned orders have the visits for which people are named, and these people are in their teams."""
    for order in view.problem.orders:
        jobs = view.planned.get(order.id, [])
        for number, named in order.crew if jobs else ():
            visits = [visit for job, visit in jobs if job.visit == number]
            if not visits:
                text = f"order {order.id}: people are named for visit {number}, which is not planned"
                yield Violation("crew", text, (order.id,), named, amount=len(named))
            for visit in visits:
                missing = [view.people[one].name for one in named if one not in visit.people]
                if missing:
                    text = f"{view.at(visit)}: {', '.join(missing)} must be there for visit {number} of order {order.id}"
                    yield breach("crew", text, visit, len(missing), [one for one in named if one not in visit.people])


def pin(view: View) -> Iterator[Violation]:
    """Pinned visits stand where they are pinned."""
    for order in view.problem.orders:
        stands = {job.visit: (visit.day, visit.start) for job, visit in view.planned.get(order.id, ())}
        for number, day, slot in order.pins:
            if stands.get(number) != (day, slot):
                text = f"order {order.id}: visit {number} is pinned to {view.problem.days[day].date}, slot {slot}"
                yield Violation("pin", text, (order.id,), day=day)
