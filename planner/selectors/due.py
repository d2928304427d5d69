"""What falls due on the turbines of some sites, worked out by planner.due from their rows."""

from __future__ import annotations

import logging
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime

from planner import due as core
from planner.clock import now_utc, today_at
from planner.gates import Lapse, shut_gates
from planner.models import Component, Interval, Site, Turbine
from planner.selectors.certificates import CertificateDue, certificates_due
from planner.selectors.due_rows import Asset, Register, core_history, core_interval, core_readings, read_register

__all__ = ["Asset", "CertificateDue", "DueItem", "certificates_due", "due_list", "gates_shut", "key_of", "lapses_on"]
logger = logging.getLogger(__name__)


@dataclass(frozen=True)
class DueItem:
    """One interval on one turbine or component, and when it is due. `contains`: keys of the work it does too."""

    interval: Interval
    turbine: Turbine
    component: Component | None
    due: core.Due
    contains: frozenset[str] = frozenset()

    @property
    def asset(self) -> Asset:
        """What the item is about, as ids."""
        return self.interval.pk, self.turbine.pk, self.component.pk if self.component else None


def key_of(interval_id: int, component_id: int | None) -> str:
    """The key by which planner.due and planner.gates know an interval on one turbine."""
    return str(interval_id) if component_id is None else f"{interval_id}/{component_id}"


def due_list(
    *, sites: Iterable[Site], today: date | None = None, turbine: Turbine | None = None, now: datetime | None = None
) -> list[DueItem]:
    """Every active interval on every asset of the sites (or of one turbine of theirs), soonest first, absorption applied.

    Without today each site's own local day counts. Six queries, whatever the size. An interval or row that planner.due
    refuses is listed first, as overdue without a date, its reason the refusal: what is unknown never passes.
    """
    register = read_register(list(sites), turbine)
    moment = now or now_utc()
    items = [item for one in register.turbines for item in _of_turbine(one, register, today or today_at(one.site.zone, moment))]
    return sorted(items, key=_soonest)


def gates_shut(items: Iterable[DueItem], on: date) -> dict[int, dict[str, str]]:
    """turbine id -> gate -> why it is shut on that day (the oldest lapse); turbines without a shut gate are left out."""
    return {one: {gate: lapses[0].reason for gate, lapses in shut.items()} for one, shut in lapses_on(items, on).items()}


def lapses_on(items: Iterable[DueItem], on: date) -> dict[int, dict[str, list[Lapse]]]:
    """turbine id -> gate -> lapses on that day, as planner.gates takes them; turbines without a shut gate are left out."""
    dues: dict[int, list[core.Due]] = defaultdict(list)
    for item in items:
        dues[item.turbine.pk].append(item.due)
    found = {one: _lapses(own, on) for one, own in dues.items()}
    return {one: shut for one, shut in found.items() if shut}


def _lapses(dues: list[core.Due], on: date) -> dict[str, list[Lapse]]:
    shut = shut_gates(dues, on)
    for due in dues:
        if due.closes is None:  # stops without a date: a refused row, about which nothing is known
            for gate in sorted(due.stops):
                shut.setdefault(gate, []).insert(0, Lapse(due.key, gate, on, due.reason))
    return shut


def _of_turbine(turbine: Turbine, register: Register, today: date) -> list[DueItem]:
    assets = register.assets_of(turbine)
    items: list[DueItem] = []
    known: list[core.Interval] = []
    for interval, part in assets:
        contains = _contains(interval, part, assets, register)
        key = key_of(interval.pk, part.pk if part else None)
        try:
            pure = core_interval(interval, turbine, part, key, contains)
            due = _find(pure, interval, turbine, part, register, today)
            known.append(pure)
        except ValueError as error:
            due = _refused(interval, key, error)
        items.append(DueItem(interval, turbine, part, due, contains))
    return _absorbed(items, known)


def _contains(
    interval: Interval, part: Component | None, assets: list[tuple[Interval, Component | None]], register: Register
) -> frozenset[str]:
    """Keys of the work on this turbine that is part of the interval's; work on one component contains only its own."""
    inside = register.inside.get(interval.pk, frozenset()) - {interval.pk}
    return frozenset(
        key_of(other.pk, piece.pk if piece else None)
        for other, piece in assets
        if other.pk in inside and (part is None or piece is part)
    )


def _find(
    pure: core.Interval, interval: Interval, turbine: Turbine, part: Component | None, register: Register, today: date
) -> core.Due:
    rows = register.done.get((interval.pk, turbine.pk, part.pk if part else None), [])
    readings = register.readings.get((turbine.pk, interval.trigger), [])
    return core.find_due(pure, today=today, history=core_history(rows, part), readings=core_readings(readings))


def _refused(interval: Interval, key: str, error: ValueError) -> core.Due:
    """A due without dates, overdue, with all its gates shut."""
    stops = frozenset(interval.stops)
    return core.Due(
        key=key,
        name=interval.procedure.name,
        last_done=None,
        opens=None,
        due=None,
        closes=None,
        state="overdue",
        reason=f"{interval.procedure.name} ({interval.code}): no due date can be worked out: {error}",
        stops=stops,
        can_stop=stops,
        statutory=interval.statutory,
    )


def _absorbed(items: list[DueItem], known: list[core.Interval]) -> list[DueItem]:
    """The items with absorbed_by set; as they are if the register lets intervals contain each other in a ring."""
    try:
        dues = core.absorb([item.due for item in items], known)
    except ValueError as error:
        logger.warning("Nothing is absorbed at %s: %s", items[0].turbine, error)
        return items
    return [replace(item, due=due) for item, due in zip(items, dues, strict=True)]


def _soonest(item: DueItem) -> tuple[bool, date, str, str, str, int]:
    """Refused rows first, then by date; without a date last."""
    day = item.due.due or (date.min if item.due.state == "overdue" else date.max)
    position = item.component.position if item.component else 0
    return item.due.state != "overdue", day, item.turbine.site.code, item.turbine.code, item.interval.code, position
