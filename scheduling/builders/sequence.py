"""Orders that come after others: what of that the fortnight still has to keep."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta

from django.db.models import Max, Q

from planner.models import Base
from scheduling.builders.horizon import Horizon, local_utc
from scheduling.choices import PlanState
from scheduling.models import VisitJob
from workorders.choices import TO_PLAN, State
from workorders.models import Order, OrderLink, OrderMove


@dataclass(frozen=True)
class Waits:
    """What one order waits for: orders of the problem and the longest gap after them; a moment; or something out of reach."""

    after: tuple[str, ...] = ()
    gap_min: int = 0
    not_before: datetime | None = None
    because: str = ""
    never: str = ""

    def why_not_on(self, horizon: Horizon, day: int) -> str:
        """Why the order may not be worked on a day. A day counts once the wait is over when it opens."""
        if self.never:
            return self.never
        late = self.not_before is not None and horizon.opens_at(day) < self.not_before
        return f"{self.because} until {self.not_before:%Y-%m-%d %H:%M} UTC" if late else ""


@dataclass
class _Seen:
    """What is known of the earlier orders: those of the problem, when others were finished, and when yet others will be."""

    here: set[int]
    finished: dict[int, datetime] = field(default_factory=dict)
    planned: dict[int, datetime] = field(default_factory=dict)


def waits_of(base: Base, horizon: Horizon, rows: Sequence[Order]) -> dict[int, Waits]:
    """order pk -> what it waits for; orders without an earlier one are left out. Three queries at most."""
    links = OrderLink.objects.filter(later__in=[row.pk for row in rows]).select_related("earlier__turbine__site")
    by_later: dict[int, list[OrderLink]] = {}
    for link in links:
        by_later.setdefault(link.later_id, []).append(link)
    if not by_later:
        return {}
    elsewhere = {link.earlier_id for found in by_later.values() for link in found} - {row.pk for row in rows}
    seen = _Seen({row.pk for row in rows})
    if elsewhere:
        seen.finished, seen.planned = _finished(elsewhere), _planned(base, horizon, elsewhere)
    return {later: _waits(found, seen) for later, found in by_later.items()}


def _finished(orders: Iterable[int]) -> dict[int, datetime]:
    moves = OrderMove.objects.filter(order__in=list(orders), target=State.FINISHED)
    return dict(moves.values("order").annotate(last=Max("at")).values_list("order", "last"))


def _planned(base: Base, horizon: Horizon, orders: Iterable[int]) -> dict[int, datetime]:
    """When published visits before the horizon end, for orders that have none later."""
    jobs = VisitJob.objects.filter(
        Q(visit__day__lt=horizon.first_day), order__in=list(orders), visit__plan__base=base,
        visit__plan__state=PlanState.PUBLISHED, order__state__in=TO_PLAN,
    )  # fmt: skip
    return dict(jobs.values("order").annotate(last=Max("visit__ends_at")).values_list("order", "last"))


def _waits(links: Sequence[OrderLink], seen: _Seen) -> Waits:
    here = [link for link in links if link.earlier_id in seen.here]
    after = tuple(sorted(link.earlier.number for link in here))
    gap_min = max((round(link.least_gap_h * 60) for link in here), default=0)
    ready, because = None, ""
    for link in links:
        if link in here or link.earlier.state == State.WITHDRAWN:
            continue
        ended = _ended(link, seen)
        if ended is None:
            never = f"comes after {link.earlier.number}, which cannot be planned in these days"
            return Waits(after, gap_min, never=never)
        moment = ended + timedelta(hours=link.least_gap_h)
        if ready is None or moment > ready:
            ready, because = moment, f"comes {link.least_gap_h:g} h after {link.earlier.number}"
    return Waits(after, gap_min, ready, because)


def _ended(link: OrderLink, seen: _Seen) -> datetime | None:
    """When the earlier order was, or will be, finished; None: it is open and not in sight."""
    earlier = link.earlier
    if earlier.state in TO_PLAN:
        return seen.planned.get(earlier.pk)
    known = seen.finished.get(earlier.pk)
    if known is None and earlier.done_on is not None:
        return local_utc(earlier.done_on + timedelta(days=1), time(0), earlier.turbine.site.zone)
    return known or earlier.raised_at
