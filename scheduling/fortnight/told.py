"""The plan people were told, read back from a problem's published visits, so that a run needs nothing but its problem."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Mode, Problem, PublishedVisit


def told_plan(problem: Problem) -> Plan | None:
    """The published visits as a plan, as far as they say who goes; None where none does.

    Of an order's modes it takes the one with as many visits and the largest team that went. Length, vehicle and chance of a
    stay are the problem's business and stand empty here. Orders told in two plans at once, or with visits missing, stay out.
    """
    by_order: dict[str, list[PublishedVisit]] = defaultdict(list)
    for told in problem.published:
        by_order[told.order].append(told)
    stays: dict[tuple[str, int, int, tuple[str, ...], str, str], list[Job]] = defaultdict(list)
    for order in problem.orders:
        visits = sorted(by_order[order.id], key=lambda told: told.visit)
        mode = _mode_of(order.modes, visits)
        for told in visits if mode is not None else ():
            job = Job(order.id, told.visit, mode.visits_min[told.visit])  # type: ignore[union-attr]
            key = (order.turbine, told.day, told.start, tuple(sorted(told.people)), told.starts_from, told.ends_at)
            stays[key].append(job)
    if not stays:
        return None
    planned = {job.order for jobs in stays.values() for job in jobs}
    visits_made = [
        Visit(turbine, day, start, 0, 0, tuple(jobs), people, "", 0.0, "", starts_from, ends_at)
        for (turbine, day, start, people, starts_from, ends_at), jobs in stays.items()
    ]
    return Plan(tuple(visits_made), tuple(o.id for o in problem.orders if o.id not in planned))


def _mode_of(modes: Sequence[Mode], visits: Sequence[PublishedVisit]) -> Mode | None:
    """The mode that these visits are, None if they are no whole mode or do not say who goes."""
    if not visits or [told.visit for told in visits] != list(range(len(visits))) or not all(told.people for told in visits):
        return None
    people = min(len(told.people) for told in visits)
    fitting = [mode for mode in modes if len(mode.visits_min) == len(visits) and mode.team <= people]
    return max(fitting, key=lambda mode: mode.team, default=None)
