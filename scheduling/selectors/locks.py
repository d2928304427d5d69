"""What is held at a base, with joins done."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from django.db.models import QuerySet

from planner.models import Base, Site
from scheduling.choices import LockKind
from scheduling.models import FrozenDay, Lock, Visit


def lock_list(*, sites: Iterable[Site], held: bool = True) -> QuerySet[Lock]:
    """Locks of orders of these sites, the newest first; with `held` only those not released. Two queries."""
    locks = Lock.objects.filter(order__turbine__site__in=sites)
    locks = locks.filter(released_at=None) if held else locks
    return locks.select_related("order__turbine__site", "order__procedure", "by", "base").prefetch_related("people")


def frozen_list(*, base: Base, since: date | None = None) -> QuerySet[FrozenDay]:
    """The base's frozen days by day, from `since` on."""
    days = FrozenDay.objects.filter(base=base, released_at=None).select_related("by").order_by("day")
    return days if since is None else days.filter(day__gte=since)


@dataclass(frozen=True)
class HeldAt:
    """Locks by (order id, visit number), and the frozen days of a base."""

    starts: dict[tuple[int, int], Lock] = field(default_factory=dict)
    teams: dict[tuple[int, int], Lock] = field(default_factory=dict)
    days: frozenset[date] = frozenset()

    @classmethod
    def of(cls, locks: Iterable[Lock], frozen: Iterable[FrozenDay]) -> HeldAt:
        """From rows."""
        rows = list(locks)
        starts, teams = (
            {(lock.order_id, lock.number): lock for lock in rows if lock.kind == kind} for kind in (LockKind.VISIT, LockKind.TEAM)
        )
        return cls(starts, teams, frozenset(one.day for one in frozen))

    def what(self, visit: Visit) -> list[str]:
        """What is held of a visit (jobs prefetched), in words: "day", "start", "team"."""
        jobs = [(job.order_id, job.number) for job in visit.jobs.all()]
        start = any(self.starts[job].starts_at == visit.starts_at for job in jobs if job in self.starts)
        told = {"day frozen": visit.day in self.days, "start": start, "team": any(job in self.teams for job in jobs)}
        return [word for word, holds in told.items() if holds]
