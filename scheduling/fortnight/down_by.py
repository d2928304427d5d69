"""Until when everybody must be down: the end of the window that a planned stay stands in, as its people may use it."""

from __future__ import annotations

import math

import numpy as np

from scheduling.access import down_by
from scheduling.bits import unpack_members
from scheduling.fortnight.plan import Plan, Visit
from scheduling.fortnight.problem import Problem


def down_by_slots(problem: Problem, plan: Plan) -> dict[Visit, int]:
    """For each visit the slot of its day by whose beginning everybody must be at the tower's foot.

    It is the earliest of: the end of the unbroken window at the asked confidence, the last moment from which the team is back
    at base within everybody's shift, and the start of the team's next visit less the way there. Never before the stay's end.
    """
    return {visit: max(visit.start + visit.slots, _slot(problem, plan, visit)) for visit in plan.visits}


def _slot(problem: Problem, plan: Plan, visit: Visit) -> int:
    ends = [_window_end(problem, visit), *_shift_ends(problem, visit)]
    later = [
        one for one in plan.visits if one.day == visit.day and one.start > visit.start and set(one.people) & set(visit.people)
    ]
    ends += [one.start - (0 if one.turbine == visit.turbine else 1) for one in later]
    return min(ends)


def _window_end(problem: Problem, visit: Visit) -> int:
    orders = {order.id: order for order in problem.orders}
    day = problem.days[visit.day]
    good = np.ones((problem.members, day.slots), dtype=bool)
    for key in {key for job in visit.jobs for key in (orders[job.order].window, *orders[job.order].also)}:
        table = unpack_members(problem.workable[key], problem.members, problem.total_slots)
        good &= table[:, day.first_slot : day.first_slot + day.slots]
    return down_by(good, visit.start, problem.rules.confidence) or visit.start


def _shift_ends(problem: Problem, visit: Visit) -> list[int]:
    turbine = next(one for one in problem.turbines if one.id == visit.turbine)
    slept = next(((one.x_km, one.y_km) for one in problem.lodgings if one.id == visit.ends_at), None)
    x_km, y_km = slept or (problem.base_x_km, problem.base_y_km)
    km = math.hypot(turbine.x_km - x_km, turbine.y_km - y_km)
    hop = math.ceil((problem.hop_fixed_min + math.ceil(60 * km / problem.speed_kmh)) / problem.slot_min)
    shifts = [shift for person in problem.people if person.id in visit.people for shift in person.shifts]
    return [shift.end - hop for shift in shifts if shift.day == visit.day]
