"""Kinds that a team of a given size need not think of, because it has a shorter way to do the same work.

A team of three may do an order in the mode for two, but the mode for three is shorter: within the same slots its chance is no
worse and no turbine stands longer. That holds for orders of one visit that stand in no published plan, where no price is
below 0, and where the time saved makes room for the break if the longer stay had one built in and the shorter has not.
"""

from __future__ import annotations

from scheduling.fortnight.columns import JobKey, Kind
from scheduling.fortnight.facts import Facts


class Dominance:
    """Which kinds remain for teams of a size."""

    def __init__(self, facts: Facts, kinds: list[Kind]) -> None:
        self.facts, self.kinds = facts, kinds
        self.by_jobs = {kind.jobs: kind for kind in kinds}
        self.told = {order for order, _ in facts.published}

    def left(self, day: int, size: int) -> list[int]:
        """Numbers of the kinds of a day that a team of this size may need."""
        here = [k for k, kind in enumerate(self.kinds) if day in kind.fields and kind.team <= size]
        return [k for k in here if not (self.facts.standing_costs and self._is_dominated(self.kinds[k], day, size))]

    def _is_dominated(self, kind: Kind, day: int, size: int) -> bool:
        shorter = self.by_jobs.get(tuple(sorted(self._shortest(job, size) for job in kind.jobs)))
        if shorter is None or shorter is kind or day not in shorter.fields or shorter.team > size:
            return False
        long, short = kind.fields[day], shorter.fields[day]
        saved_min = (long.slots - short.slots) * self.facts.problem.slot_min
        return long.has_break == short.has_break or saved_min >= self.facts.problem.rules.break_min

    def _shortest(self, job: JobKey, size: int) -> JobKey:
        """The same work in the shortest mode that a team of this size may use."""
        order, mode, visit = job
        modes = self.facts.problem.orders[order].modes
        if order in self.told or len(modes[mode].visits_min) > 1:
            return job
        able = [k for k, m in enumerate(modes) if len(m.visits_min) == 1 and m.team <= size]
        return order, min(able, key=lambda k: (modes[k].visits_min[0], k != mode)), visit
