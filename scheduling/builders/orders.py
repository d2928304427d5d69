"""Orders as the fortnight's orders: on which days, in which modes, for how much."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from planner import gates
from planner.choices import ClosureKind
from planner.models import Base, Closure, Equipment, Procedure, Turbine
from planner.selectors.due import DueItem
from scheduling.builders.access import Ways, way_for_opener
from scheduling.builders.behind import Behind, keys_of, needs_of
from scheduling.builders.elsewhere import Taken
from scheduling.builders.energy import closure_covers
from scheduling.builders.horizon import Horizon
from scheduling.builders.limits import sets_of
from scheduling.builders.locks import Held
from scheduling.builders.money import cost_of
from scheduling.builders.sequence import Waits
from scheduling.builders.site_weather import SiteWeather
from scheduling.fortnight.problem import Access, Mode, Need, Order
from workorders.models import Order as OrderRow
from workorders.selectors.orders import open_holds_of

WORTH_MIN = 30
"""Minutes by which visits must differ for unequal ones to be offered beside equal ones."""


@dataclass(frozen=True)
class Ground:
    """What the orders of one fortnight are built on. `weather` by site; `standing_cost` is currency per day for a turbine that
    stands."""

    base: Base
    horizon: Horizon
    weather: Mapping[int, SiteWeather]
    items: Sequence[DueItem]
    ways: dict[int, Ways]
    closures: Sequence[Closure]
    parts_from: dict[int, date | None]
    standing_cost: dict[int, float]
    away_min: dict[int, int]
    day_min: int
    break_min: int
    feeders: dict[tuple[int, str], tuple[str, ...]]
    waits: Mapping[int, Waits]
    behind: Mapping[int, Behind] = field(default_factory=dict)
    held: Held = field(default_factory=Held)
    taken: Taken = field(default_factory=Taken)


def turbine_key(turbine: Turbine) -> str:
    """The turbine's id in a problem."""
    return f"{turbine.site.code} {turbine.code}"


def window_key(turbine: Turbine, air: str, limit_set_code: str) -> str:
    """The key of Problem.workable for a turbine, its weather (SiteWeather.key, or hub_key) and a limit set."""
    return f"{turbine.site.code}/{air}/{limit_set_code}"


def order_of(row: OrderRow, ground: Ground) -> Order:
    """One order as a frozen record (row with turbine, type, site, procedure and its needs joined)."""
    procedure, turbine, horizon = row.procedure, row.turbine, ground.horizon
    opener = _opener_access(row, ground)
    windows = windows_of(row, ground.weather[turbine.site_id].key(turbine))
    due_day = horizon.index_of(row.due_on)
    closes_day = horizon.index_of(row.closes_on or row.due_on)
    standing = ground.standing_cost.get(turbine.pk, 0.0) if row.klass == "failure" else 0.0
    waits, behind = ground.waits.get(row.pk, Waits()), ground.behind.get(row.pk)
    own_way = opener or (behind.access if behind else None)
    cost = cost_of(ground.base, turbine.site, row.klass, due_day, closes_day, horizon.days, standing)
    return Order(
        id=row.number,
        turbine=turbine_key(turbine),
        modes=_modes(row, ground, own_way),
        needs=tuple(Need(need.skill.code, need.level, need.count) for need in procedure.skill_needs.all()),
        window=windows[0],
        also=windows[1:],
        after=tuple(dict.fromkeys((*waits.after, *(behind.orders if behind else ())))),
        behind=behind.orders if behind else (),
        after_gap_min=waits.gap_min,
        hand_over_cost=round(procedure.hand_over_cost * 100),
        days=allowed_days(row, ground),
        due_day=due_day,
        late_cost=cost.late_a_day,
        left_out_cost=cost.left_out,
        stops=_stops(turbine, procedure, ground),
        pack_min=procedure.pack_min,
        equipment=tuple(need.equipment.name for need in procedure.equipment_needs.all()),
        stopped_between=procedure.stopped_between,
        opens_climbing=opener is not None,
        access=own_way,
        ride_along=procedure.ride_along and opener is None,
        pins=ground.held.pins_of(row.number),
        crew=ground.held.crew_of(row.number),
        label=f"{procedure.name}, {turbine.code}",
    )


def windows_of(row: OrderRow, air: str) -> tuple[str, ...]:
    """Keys of Problem.workable that must hold for an order: its procedure's first, then those of its equipment."""
    return tuple(window_key(row.turbine, air, code) for code in sets_of(row.procedure))


def allowed_days(row: OrderRow, ground: Ground) -> tuple[int, ...]:
    """Day indexes on which the order may be worked: opened, parts there, no closure, no hold, equipment there, gates open,
    no lock."""
    return tuple(day for day in range(ground.horizon.days) if not why_not_on(row, ground, day))


def why_not_on(row: OrderRow, ground: Ground, day: int) -> str:
    """Why an order may not be worked on a day, in a sentence; empty if it may."""
    return next((text for _, text in closings_on(row, ground, day)), "")


def closings_on(row: OrderRow, ground: Ground, day: int) -> Iterator[tuple[str, str]]:
    """Everything that closes a day for an order: what it is (as changes.Register.closed names it), and a sentence."""
    local = ground.horizon.date_of(day)
    if row.opens_on and local < row.opens_on:
        yield "opens", f"not before {row.opens_on}"
    parts_from = ground.parts_from.get(row.pk, local)
    if parts_from is None or local < parts_from:
        yield "parts", f"parts not before {parts_from}" if parts_from else "parts are out of stock and none are on order"
    for what, text in (("hold", _hold_on(row, local)), ("closure", closed_until(row.turbine, ground.closures, local))):
        if text:
            yield what, text
    yield from _equipment_on(row, local, ground.taken)
    earlier = ground.waits.get(row.pk, Waits()).why_not_on(ground.horizon, day)
    if earlier:
        yield "order", earlier
    gate, lock = _gate_on(row, ground, day), ground.held.why_not_on(row.number, day)
    if gate:
        yield "gate", gate
    if lock:
        yield "lock", lock


def closed_by_hand(row: OrderRow, local: date) -> str:
    """Why an order may not be worked on a day, as far as dates somebody entered say so; empty if they do not.

    Parts and gates are left to the plan: they may still come or be opened.
    """
    if row.opens_on and local < row.opens_on:
        return f"not before {row.opens_on}"
    for hold in open_holds_of(row):
        if hold.expected_until is None or local < hold.expected_until:
            return f"held ({hold.kind}): {hold.reason}"
    needs = row.procedure.equipment_needs.select_related("equipment").prefetch_related("equipment__bookings")
    missing = [str(need.equipment) for need in needs if not equipment_there(need.equipment, local)]
    shut = closed_until(row.turbine, row.turbine.site.closures.all(), local)
    return shut or (f"{missing[0]} is not there" if missing else "")


def closed_until(turbine: Turbine, closures: Iterable[Closure], local: date) -> str:
    """The closure that keeps people off a turbine on a day; empty if there is none."""
    for closure in closures:
        closed = closure.kind != ClosureKind.GRID and closure.first_day <= local <= closure.last_day
        if closed and closure_covers(closure, turbine):
            return f"closed until {closure.last_day}: {closure.reason}"
    return ""


def _hold_on(row: OrderRow, local: date) -> str:
    for hold in row.open_holds:  # type: ignore[attr-defined]  # by order_list_to_plan
        if hold.expected_until is None or local < hold.expected_until:
            return f"held ({hold.kind}): {hold.reason}"
    return ""


def _equipment_on(row: OrderRow, local: date, taken: Taken) -> Iterator[tuple[str, str]]:
    for need in row.procedure.equipment_needs.all():
        if not equipment_there(need.equipment, local):
            yield f"equipment {need.equipment.name}", f"{need.equipment} is not there"
        elif taken.free(need.equipment, local) < 1:
            yield f"equipment {need.equipment.name}", f"{need.equipment} is planned at another base"


def equipment_there(equipment: Equipment, local: date) -> bool:
    """Whether shared equipment is there on a day (bookings prefetched)."""
    return equipment.always_there or any(b.first_day <= local <= b.last_day for b in equipment.bookings.all())


def _gate_on(row: OrderRow, ground: Ground, day: int) -> str:
    if row.pk in ground.behind and day in ground.behind[row.pk].days:
        return ""
    shut = ground.ways[row.turbine_id].shut[day]
    reasons = gates.why_stopped(shut, needs_of(row), keys_of(row, ground.items))
    return reasons[0] if reasons else ""


def _opener_access(row: OrderRow, ground: Ground) -> Access | None:
    """The way up for an order that opens a shut turbine; None for every other order."""
    keys = keys_of(row, ground.items)
    for shut in ground.ways[row.turbine_id].shut:
        if gates.opens_gate(shut, keys):
            return way_for_opener(row.turbine, shut)
    return None


def _stops(turbine: Turbine, procedure: Procedure, ground: Ground) -> tuple[str, ...]:
    own = turbine_key(turbine)
    if procedure.stops_feeder and turbine.feeder:
        return ground.feeders[turbine.site_id, turbine.feeder]
    return (own,)


def _modes(row: OrderRow, ground: Ground, own_way: Access | None) -> tuple[Mode, ...]:
    procedure = row.procedure
    ways = ground.ways[row.turbine_id].access
    climb = own_way.up_min + own_way.down_min if own_way else max(w.up_min + w.down_min for w in ways)
    longest = ground.day_min - ground.away_min[row.turbine_id] - climb - procedure.pack_min - ground.break_min
    effort_min = max(1.0, row.effort_left_h * 60.0)
    teams = range(procedure.team_min, procedure.team_max + 1)
    splits = {team: visits_of(effort_min / team, longest, procedure) for team in teams}
    return tuple(Mode(team, visits) for team in _shortening(splits) for visits in splits[team])


def visits_of(work_min: float, longest_min: int, procedure: Procedure) -> tuple[tuple[int, ...], ...]:
    """Ways to split work over visits, as work minutes of each visit; the one with the fewest visits first.

    One visit if the procedure may not be split. Else as few equal visits as fit into a day each; the same number with the
    first ones as long as a day allows and the rest last; and one visit more, equal, so that shorter windows do. No visit of a
    split is shorter than the procedure's least useful one (work that is shorter itself is one visit).
    """
    whole = (math.ceil(work_min),)
    if not procedure.may_span_visits:
        return (whole,)
    least = max(1.0, procedure.visit_least_h * 60.0)
    most = max(1, int(work_min // least))
    count = min(most, max(1, math.ceil(work_min / max(1, longest_min))))
    found = [_equal(work_min, count), _long_first(work_min, count, longest_min, least)]
    found += [_equal(work_min, count + 1)] if count < most else []
    return tuple(dict.fromkeys(found))


def _equal(work_min: float, count: int) -> tuple[int, ...]:
    return (math.ceil(work_min / count),) * count


def _long_first(work_min: float, count: int, longest_min: int, least_min: float) -> tuple[int, ...]:
    """Every visit but the last as long as may be; equal visits where that would differ by less than half an hour."""
    last = max(math.ceil(least_min), math.ceil(work_min - (count - 1) * longest_min), 1)
    first = math.ceil((work_min - last) / (count - 1)) if count > 1 else 0
    return (first,) * (count - 1) + (last,) if first - last >= WORTH_MIN and first <= longest_min else _equal(work_min, count)


def _shortening(splits: Mapping[int, tuple[tuple[int, ...], ...]]) -> list[int]:
    """Team sizes without a larger team that does not shorten the work."""
    kept: list[int] = []
    for team, found in splits.items():
        if not kept or sum(found[0]) < sum(splits[kept[-1]][0]):
            kept.append(team)
    return kept
