"""Holding and releasing parts of a plan on the Fortnight page."""

from __future__ import annotations

from typing import Any, ClassVar

from planner.clock import today_at
from planner.errors import PlannerError
from planner.models import Base
from planner.views.base import BasePage
from planner.views.formats import moment, weekday
from planner.views.forms import day_in, whole_or_none, words_in
from scheduling.choices import LockKind
from scheduling.models import FrozenDay, Lock, Visit
from scheduling.selectors.locks import HeldAt, frozen_list, lock_list
from scheduling.services import locks


class Locking(BasePage):
    """A page on which planners hold visits, teams and days, and let them go."""

    lock_actions: ClassVar[dict[str, str]] = {
        "pin": "pin",
        "pin team": "pin_team",
        "not this day": "forbid",
        "freeze": "freeze",
        "release": "release",
        "release day": "release_day",
    }

    def held_context(self, base: Base) -> dict[str, Any]:
        """What is held, as rows; and `held`, to mark visits with."""
        own = list(lock_list(sites=self.sites_of(base)))
        frozen = list(frozen_list(base=base, since=today_at(base.zone)))
        return {
            "held": HeldAt.of(own, frozen),
            "locks": [lock_line(lock, base) for lock in own],
            "frozen": [{"pk": one.pk, "day": weekday(one.day), "reason": one.reason, "by": one.by} for one in frozen],
        }

    def pin(self) -> str:
        """The visit's orders stay at its start."""
        visit = self._visit()
        locks.visit_hold_as_planned(visit=visit, kind=LockKind.VISIT, by=self.user, reason=self._reason())
        return self._held(visit, f"{visit.turbine.code} on {weekday(visit.day)} is pinned to its start.")

    def pin_team(self) -> str:
        """The visit's people stay with its orders."""
        visit = self._visit()
        locks.visit_hold_as_planned(visit=visit, kind=LockKind.TEAM, by=self.user, reason=self._reason())
        return self._held(visit, f"The team of {visit.turbine.code} on {weekday(visit.day)} is pinned.")

    def forbid(self) -> str:
        """The visit's orders are not on its day."""
        visit = self._visit()
        locks.visit_forbid_day(visit=visit, by=self.user, reason=self._reason())
        return self._held(visit, f"The orders of {visit.turbine.code} will not be on {weekday(visit.day)}.")

    def freeze(self) -> str:
        """A day stays as published."""
        base, day = self.posted_base(), day_in(self.request.POST, "day", "Day")
        locks.day_freeze(base=base, day=day, by=self.user, reason=self._reason())
        self.done(f"{weekday(day)} is frozen: the next plans leave it as it is published.")
        return self._page(base)

    def release(self) -> str:
        """Let a lock go."""
        pk = whole_or_none(self.request.POST, "lock", "Lock") or 0
        lock = lock_list(sites=self.caller.sites, held=False).filter(pk=pk).first()
        if lock is None:
            raise PlannerError("That lock is not of your sites: load the page again.", field="lock")
        locks.lock_release(lock=lock, by=self.user)
        self.done(f"{lock} is released.")
        return self._page(lock.base)

    def release_day(self) -> str:
        """Let a frozen day go."""
        pk = whole_or_none(self.request.POST, "frozen", "Frozen day") or 0
        frozen = FrozenDay.objects.filter(pk=pk, base__in=self.bases()).select_related("base").first()
        if frozen is None:
            raise PlannerError("That day is not of your bases: load the page again.", field="frozen")
        locks.day_release(frozen=frozen, by=self.user)
        self.done(f"{weekday(frozen.day)} may change again.")
        return self._page(frozen.base)

    def _visit(self) -> Visit:
        pk = whole_or_none(self.request.POST, "visit", "Visit") or 0
        visits = Visit.objects.filter(turbine__site__in=self.caller.sites).select_related("plan__base", "turbine")
        visit = visits.filter(pk=pk).first()
        if visit is None:
            raise PlannerError("That visit is not of your sites: load the page again.", field="visit")
        return visit

    def _reason(self) -> str:
        return words_in(self.request.POST, "reason", "Reason", most=200)

    def _held(self, visit: Visit, sentence: str) -> str:
        self.done(f"{sentence} It counts from the next solve on.")
        return f"{self._page(visit.plan.base)}&plan={visit.plan_id}"

    def _page(self, base: Base) -> str:
        return f"{self.request.path}?base={base.pk}"


def lock_line(lock: Lock, base: Base) -> dict[str, Any]:
    """A lock in a row: of what, what is held, why, by whom."""
    return {
        "pk": lock.pk,
        "order": lock.order,
        "turbine": lock.order.turbine.code,
        "what": lock_words(lock, base),
        "reason": lock.reason,
        "by": lock.by,
    }


def lock_words(lock: Lock, base: Base) -> str:
    """What a lock holds, in words."""
    visit = f"visit {lock.number + 1}" if lock.number else "visit"
    if lock.kind == LockKind.VISIT and lock.starts_at is not None:
        return f"{visit} stays at {moment(lock.starts_at, base.zone)}"
    if lock.kind == LockKind.TEAM:
        return f"{visit} with {', '.join(person.name for person in lock.people.all())}"
    first, last = lock.first_day, lock.last_day
    if first is None or last is None:
        return "no days"
    return f"not on {weekday(first)}" if first == last else f"not from {weekday(first)} to {weekday(last)}"
