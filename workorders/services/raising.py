"""Due work becomes orders; running it again raises nothing new."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.db import IntegrityError, transaction

from planner import due as core
from planner.choices import WorkKind
from planner.clock import today_at
from planner.errors import PlannerError
from planner.models import Procedure, Site
from planner.selectors.due import Asset, DueItem, due_list
from planner.services.access import require_role
from workorders.choices import CLOSED, Klass, Origin, State
from workorders.lifecycle import PLANNING
from workorders.models import Order
from workorders.services.history import save_by
from workorders.services.numbers import free_numbers


@dataclass(frozen=True)
class RaiseReport:
    """Orders raised; how much of what is due has one already; how much was withdrawn and is left so."""

    raised: list[Order] = field(default_factory=list)
    already: int = 0
    withdrawn: int = 0


@transaction.atomic
def orders_raise_from_due(*, site: Site, today: date | None = None, horizon_days: int = 60, by: Any = None) -> RaiseReport:
    """An order for everything that opens within the horizon, is not absorbed and has no order yet. `by` None: the system.

    Work without a date (no counter reading yet, or a row that makes no sense) raises none: the due list says what is missing.
    An order withdrawn for the same due date is not raised again, unless the work is statutory or its lapse stops something.
    """
    if by is not None:
        require_role(user=by, site=site, roles=PLANNING)
    if not 0 <= horizon_days <= 3660:
        raise PlannerError(f"horizon_days {horizon_days} is no horizon: give 0 to 3660 days.", field="horizon_days")
    day = today or today_at(site.zone)
    numbers = free_numbers(site, day)  # first of all: it also keeps a second sweep waiting until this one is written
    visits = list(_visits(due_list(sites=[site], today=day), day + timedelta(days=horizon_days)))
    known = _known(site)
    wanted = [visit for visit in visits if visit[0].asset not in known.waiting]
    fresh = [visit for visit in wanted if not _left_out(visit, known.withdrawn)]
    raised = [order for visit in fresh if (order := _raise(visit, numbers, by))]
    return RaiseReport(raised, len(visits) - len(wanted) + len(fresh) - len(raised), len(wanted) - len(fresh))


Visit = Sequence[DueItem]
"""An item and, after it, all it absorbs."""


@dataclass(frozen=True)
class _Known:
    """Orders of the site for due work: assets with one not closed yet; withdrawn ones by asset."""

    waiting: set[Asset]
    withdrawn: dict[Asset, list[Order]]


def _known(site: Site) -> _Known:
    waiting: set[Asset] = set()
    withdrawn: dict[Asset, list[Order]] = defaultdict(list)
    rows = Order.objects.filter(turbine__site=site, interval__isnull=False).exclude(state=State.ACCEPTED)
    for order in rows:
        asset = (order.interval_id, order.turbine_id, order.component_id)
        if order.state == State.WITHDRAWN:
            withdrawn[asset].append(order)
        else:
            waiting.add(asset)
    return _Known(waiting, withdrawn)


def _visits(items: list[DueItem], until: date) -> Iterator[Visit]:
    parts: dict[tuple[int, Any], list[DueItem]] = defaultdict(list)
    for item in items:
        parts[item.turbine.pk, item.due.absorbed_by].append(item)
    for item in items:
        visit = (item, *parts[item.turbine.pk, item.due.key])
        dated = item.due.due is not None and item.due.absorbed_by is None
        if dated and any(one.due.opens is not None and one.due.opens <= until for one in visit):
            yield visit


def _left_out(visit: Visit, withdrawn: dict[Asset, list[Order]]) -> bool:
    due = visit[0].due
    if klass_of(visit) in (Klass.STATUTORY, Klass.GATE):
        return False
    orders = withdrawn.get(visit[0].asset, ())
    if due.projected:  # its date moves with every reading: then the same work is what was not done since
        return any(due.last_done is None or order.raised_at.date() >= due.last_done for order in orders)
    return any(order.due_on == due.due for order in orders)


def klass_of(visit: Visit) -> Klass:
    """The strongest class of a visit's parts: what leaving the order out costs hangs on it."""
    intervals = [item.interval for item in visit]
    if any(interval.statutory for interval in intervals):
        return Klass.STATUTORY
    if any(interval.stops for interval in intervals):
        return Klass.GATE
    return klass_by_kind(intervals[0].procedure)


def klass_by_kind(procedure: Procedure) -> Klass:
    """The class of work that no interval asks for: minor work is minor, the rest counts as service."""
    return Klass.MINOR if procedure.kind == WorkKind.MINOR else Klass.SERVICE


def _raise(visit: Visit, numbers: Iterator[str], by: Any) -> Order | None:
    """The new order; None if somebody else made one meanwhile without asking for a number."""
    item = visit[0]
    order = Order(
        number=next(numbers),
        turbine=item.turbine,
        component=item.component,
        procedure=item.interval.procedure,
        interval=item.interval,
        origin=Origin.DUE,
        klass=klass_of(visit),
        opens_on=item.due.opens,
        due_on=item.due.due,  # type: ignore[misc]  # _visits leaves out what has no date
        closes_on=core.visit_closes(item.due, [one.due for one in visit[1:]]),
        effort_left_h=item.interval.procedure.effort_person_h,
    )
    try:
        with transaction.atomic():
            save_by(order, by)
    except IntegrityError:
        same = Order.objects.filter(interval=order.interval, turbine=order.turbine, component=order.component)
        if same.exclude(state__in=CLOSED).exists():
            return None
        raise
    return order
