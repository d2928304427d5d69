"""What contradicts what: each refusal is one sentence that names the lock in the way and the cure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from planner.clock import today_at
from planner.errors import ConflictError, PlannerError
from planner.models import Base, Technician
from scheduling.builders.horizon import SLOT_MIN
from scheduling.builders.orders import closed_by_hand
from scheduling.choices import LockKind, PlanState
from scheduling.models import FrozenDay, Lock, VisitJob
from workorders.choices import TO_PLAN
from workorders.models import Order

REASON_MOST = 200


def held(order: Order) -> list[Lock]:
    """The order's locks that are not released, with their people."""
    return list(Lock.objects.filter(order=order, released_at=None).prefetch_related("people").order_by("pk"))


def frozen_on(base: Base, first: date, last: date) -> list[FrozenDay]:
    """The base's frozen days from `first` through `last`."""
    return list(FrozenDay.objects.filter(base=base, released_at=None, day__gte=first, day__lte=last).order_by("day"))


def told_jobs(base: Base, **where: object) -> list[VisitJob]:
    """Parts of published visits of a base, by start."""
    jobs = VisitJob.objects.filter(visit__plan__base=base, visit__plan__state=PlanState.PUBLISHED, **where)
    return list(jobs.select_related("order", "visit").prefetch_related("visit__people").order_by("visit__starts_at", "pk"))


def refuse_long(reason: str) -> None:
    """A reason is a line."""
    if len(reason) > REASON_MOST or "\x00" in reason:
        raise PlannerError(f"The reason has {len(reason)} characters: use at most {REASON_MOST}, text only.", field="reason")


def refuse_closed(order: Order) -> None:
    """Only what may still be planned can be held."""
    if order.state not in TO_PLAN:
        raise ConflictError(f"{order.number} is {order.get_state_display()}: only orders still to be planned can be held.")


def refuse_past(day: date, base: Base, now: datetime, field: str) -> None:
    """Days that are over need no lock."""
    if day < today_at(base.zone, now):
        raise PlannerError(f"{day} is over: hold a day from today on.", field=field)


def refuse_off_grid(starts_at: datetime) -> None:
    """Plans count in slots; a start between two would be moved silently."""
    if starts_at.minute % SLOT_MIN or starts_at.second or starts_at.microsecond:
        raise PlannerError(f"{starts_at:%H:%M} UTC is no start of a plan: give a full or half hour.", field="starts_at")


def refuse_shut(order: Order, day: date) -> None:
    """A pin outside the order's allowed days."""
    why = closed_by_hand(order, day)
    if why:
        raise ConflictError(f"{order.number} may not be worked on {day}: {why}.")


def refuse_pin(order: Order, number: int, day: date, starts_at: datetime, locks: Sequence[Lock]) -> None:
    """A pin against the order's other locks and the base's frozen days."""
    visit = f"visit {number + 1} of {order.number}"
    for lock in locks:
        if lock.kind == LockKind.DAY and lock.first_day and lock.last_day and lock.first_day <= day <= lock.last_day:
            raise ConflictError(
                f"{order.number} is forbidden on {_days(lock)}: release that lock, or pin {visit} to another day."
            )
        if lock.kind != LockKind.VISIT or lock.first_day is None:
            continue
        if lock.number == number:
            raise ConflictError(f"{visit.capitalize()} is pinned to {lock.first_day} already: release that pin first.")
        if (lock.number < number) != (lock.first_day < day):
            raise ConflictError(
                f"Visits of an order follow each other on different days: visit {lock.number + 1} of {order.number} is pinned "
                f"to {lock.first_day}, so {visit} cannot be on {day}."
            )
    for frozen in frozen_on(order.turbine.site.base, day, day):
        here = told_jobs(frozen.base, visit__day=day, order=order, number=number, visit__starts_at=starts_at)
        if not here:
            raise ConflictError(f"{frozen.day} is frozen and {visit} does not stand there: release the day, or pin to another.")


def refuse_absent(people: Iterable[Technician], day: date, where: str) -> None:
    """Somebody who is named for a visit on a day on which they are away."""
    for person in people:
        away = person.absences.filter(first_day__lte=day, last_day__gte=day).first()
        if away is not None:
            raise ConflictError(f"{person.name} is away on {day}: choose somebody else for {where}, or another day.")


def refuse_forbidden(order: Order, first: date, last: date, locks: Sequence[Lock]) -> None:
    """Forbidden days against the order's pins and the base's frozen days."""
    for lock in locks:
        if lock.kind == LockKind.VISIT and lock.first_day and first <= lock.first_day <= last:
            raise ConflictError(
                f"Visit {lock.number + 1} of {order.number} is pinned to {lock.first_day}: release the pin, or forbid other days."
            )
    for frozen in frozen_on(order.turbine.site.base, first, last):
        if told_jobs(frozen.base, visit__day=frozen.day, order=order):
            raise ConflictError(f"{order.number} stands on {frozen.day}, which is frozen: release the day first.")


def refuse_freeze(base: Base, day: date) -> None:
    """A frozen day against locks that ask for something else than the published plan has there."""
    told = told_jobs(base, visit__day=day)
    stands = {(job.order_id, job.number): job for job in told}
    for lock in Lock.objects.filter(base=base, released_at=None).select_related("order").prefetch_related("people"):
        job = stands.get((lock.order_id, lock.number))
        texts = {LockKind.DAY: _forbidden(lock, day, told), LockKind.VISIT: _elsewhere(lock, day, job)}
        text = texts.get(LockKind(lock.kind), _others(lock, job))
        if text:
            raise ConflictError(f"{text}: release that lock, or leave {day} open.")


def _forbidden(lock: Lock, day: date, told: Sequence[VisitJob]) -> str:
    here = any(job.order_id == lock.order_id for job in told)
    shut = here and lock.first_day is not None and lock.last_day is not None and lock.first_day <= day <= lock.last_day
    return f"{lock.order.number} stands on {day} in the published plan but is forbidden there" if shut else ""


def _elsewhere(lock: Lock, day: date, job: VisitJob | None) -> str:
    visit = f"Visit {lock.number + 1} of {lock.order.number}"
    if job is None:
        return f"{visit} is pinned to {day}, where the published plan does not have it" if lock.first_day == day else ""
    moved = lock.starts_at != job.visit.starts_at
    return f"{visit} stands on {day} in the published plan but is pinned elsewhere" if moved else ""


def _others(lock: Lock, job: VisitJob | None) -> str:
    if job is None:
        return ""
    going = {person.pk for person in job.visit.people.all()}
    more = [person.name for person in lock.people.all() if person.pk not in going]
    visit = f"visit {lock.number + 1} of {lock.order.number}"
    return f"{', '.join(more)} must be on {visit}, but the published plan sends others" if more else ""


def _days(lock: Lock) -> str:
    return str(lock.first_day) if lock.first_day == lock.last_day else f"{lock.first_day} to {lock.last_day}"


def days_between(first: date, last: date) -> int:
    """How many days from first through last."""
    return (last - first) // timedelta(days=1) + 1
