"""Cross-checks of a year's problem, so that solver and checker need no defensive code.

Each check is one small generator of sentences; `validate` raises ValueError with the first. Comparisons are written so
that NaN fails them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduling.year.problem import Item, Problem

MONEY_LIMIT = 2**31 // 4
HOURS_LIMIT = 1e6


def validate(problem: Problem) -> None:
    """Raise ValueError with one sentence that names the record, the field and the cure."""
    checks = (_weeks, _names, _turbines, _equipment, _items, _item_links, _pins, _together, _series, _rules, _weights)
    for check in checks:
        for sentence in check(problem):
            raise ValueError(sentence)


def _weeks(p: Problem) -> Iterator[str]:
    previous: date | None = None
    for i, week in enumerate(p.weeks):
        try:
            monday = date.fromisoformat(week.monday)
        except ValueError:
            yield f"weeks[{i}].monday is {week.monday!r}: give a date like 2026-03-02"
            return
        label = "{}-W{:02d}".format(*monday.isocalendar())
        if monday.weekday() or week.label != label:
            yield f"weeks[{i}]: {week.monday} must be a Monday and its label {label}, got {week.label!r}"
        if previous is not None and monday - previous != timedelta(days=7):
            yield f"weeks[{i}].monday is {week.monday}: weeks follow each other without a hole"
        if not all(0 <= hours <= HOURS_LIMIT for hours in week.capacity_h.values()):
            yield f"weeks[{i}].capacity_h must be person-hours of 0 or more"
        previous = monday


def _names(p: Problem) -> Iterator[str]:
    lists: dict[str, Iterable[str]] = {
        "weeks": (w.label for w in p.weeks),
        "turbines": (t.id for t in p.turbines),
        "equipment": (e.id for e in p.equipment),
        "items": (i.id for i in p.items),
        "scenarios": p.scenarios,
    }
    for name, ids in lists.items():
        seen: set[str] = set()
        for one in ids:
            if one in seen:
                yield f"{name}: {one!r} stands twice; give each its own name"
            seen.add(one)


def _turbines(p: Problem) -> Iterator[str]:
    for t in p.turbines:
        if t.site not in p.price_cents:
            yield f"turbine {t.id}: no price_cents for site {t.site!r}"
        if p.scenarios and t.energy not in p.lost_mwh_per_stop_h:
            yield f"turbine {t.id}: no lost_mwh_per_stop_h for energy {t.energy!r}"


def _equipment(p: Problem) -> Iterator[str]:
    for e in p.equipment:
        if e.capacity < 1 or not 0 <= e.week_cost <= MONEY_LIMIT:
            yield f"equipment {e.id}: capacity must be 1 or more and week_cost 0 or more"
        if not all(_in_weeks(p, week) for week in e.weeks):
            yield f"equipment {e.id}: weeks name a week outside the horizon"


def _items(p: Problem) -> Iterator[str]:
    groups = {group for week in p.weeks for group in week.capacity_h}
    for item in p.items:
        if not 0 < item.effort_person_h <= HOURS_LIMIT or not 0 <= item.stop_h <= HOURS_LIMIT:
            yield f"item {item.id}: effort_person_h must be above 0 and stop_h 0 or more"
        if item.team < 2:
            yield f"item {item.id}: a team of {item.team} is too small; never fewer than two people up a turbine"
        for skill, count in item.skills.items():
            if skill not in groups or not 1 <= count <= item.team:
                yield f"item {item.id}: skill {skill!r} must be a group of capacity_h and ask for 1 to {item.team} people"
        if not item.opens <= item.due <= item.closes:
            yield f"item {item.id}: opens, due and closes must follow each other, got {item.opens}, {item.due}, {item.closes}"
        if not all(_in_weeks(p, week) for week in item.weeks) or len(set(item.weeks)) != len(item.weeks):
            yield f"item {item.id}: weeks must name different weeks inside the horizon"
        if not all(0 <= cents <= MONEY_LIMIT for cents in (item.late_cost, item.left_out_cost, item.move_cost)):
            yield f"item {item.id}: costs must be between 0 and {MONEY_LIMIT} cents"


def _item_links(p: Problem) -> Iterator[str]:
    turbines = {t.id for t in p.turbines}
    equipment = {e.id for e in p.equipment}
    items = {i.id: i for i in p.items}
    for item in p.items:
        if item.turbine not in turbines:
            yield f"item {item.id}: turbine {item.turbine!r} is not in the problem"
        if p.scenarios and item.limit not in p.workable_share:
            yield f"item {item.id}: limit {item.limit!r} is not in workable_share"
        if not set(item.equipment) <= equipment:
            yield f"item {item.id}: equipment {sorted(set(item.equipment) - equipment)} is not in the problem"
        for other in item.absorbs:
            if other == item.id or other not in items or items[other].turbine != item.turbine:
                yield f"item {item.id}: absorbs must name other items of the same turbine, got {other!r}"
            elif items[other].absorbs:
                yield f"item {item.id}: absorbs {other!r}, which absorbs others itself; name those here instead"


def _pins(p: Problem) -> Iterator[str]:
    for item in p.items:
        if item.previous is not None and not _in_weeks(p, item.previous):
            yield f"item {item.id}: previous is {item.previous}; give a week of the horizon or none"
        if item.pinned is not None and not _may_stand(item, item.pinned):
            yield f"item {item.id}: pinned to week {item.pinned}, where it may not be done; free the pin or open that week"


def _may_stand(item: Item, week: int) -> bool:
    too_late = item.statutory and 0 <= item.closes < week
    return week in item.weeks and week >= item.opens and not too_late


def _together(p: Problem) -> Iterator[str]:
    items = {i.id: i for i in p.items}
    saved = dict.fromkeys(items, 0.0)
    pairs = {frozenset((pair.first, pair.second)) for pair in p.together}
    if len(pairs) != len(p.together):
        yield "together: a pair stands twice; keep one"
    for pair in p.together:
        first, second = items.get(pair.first), items.get(pair.second)
        if first is None or second is None or first is second or first.turbine != second.turbine:
            yield f"together {pair.first!r}, {pair.second!r}: must name two different items of the same turbine"
            return
        if not 0 <= pair.saved_stop_h <= HOURS_LIMIT:
            yield f"together {pair.first!r}, {pair.second!r}: saved_stop_h must be 0 or more"
        saved[first.id] += pair.saved_stop_h
        saved[second.id] += pair.saved_stop_h
    for name, hours in saved.items():
        if hours > items[name].stop_h:
            yield f"item {name}: its pairs save {hours:g} h of a stop of {items[name].stop_h:g} h; lower saved_stop_h"


def _series(p: Problem) -> Iterator[str]:
    rows, columns = len(p.scenarios), len(p.weeks)
    for key, table in p.workable_share.items():
        if not _shaped(table, {rows}, columns) or not all(0 <= v <= 1 for row in table for v in row):
            yield f"workable_share[{key!r}] must hold {rows} scenarios x {columns} weeks of shares between 0 and 1"
    for key, table in p.lost_mwh_per_stop_h.items():
        if not _shaped(table, {rows}, columns) or not all(0 <= v <= HOURS_LIMIT for row in table for v in row):
            yield f"lost_mwh_per_stop_h[{key!r}] must hold {rows} scenarios x {columns} weeks of MWh of 0 or more"
    for key, prices in p.price_cents.items():
        if not _shaped(prices, {1, max(1, rows)}, columns) or not all(abs(v) <= MONEY_LIMIT for row in prices for v in row):
            yield f"price_cents[{key!r}] must hold 1 or {rows} rows x {columns} weeks of cents"


def _shaped(table: tuple[tuple[float, ...], ...], rows: set[int], columns: int) -> bool:
    return len(table) in rows and all(len(row) == columns for row in table)


def _rules(p: Problem) -> Iterator[str]:
    if not 0.0 < p.rules.fit_share <= 1.0:
        yield f"rules.fit_share is {p.rules.fit_share}: give a share above 0 and at most 1"
    sites = {t.site for t in p.turbines}
    for site, most in p.rules.max_down.items():
        if site not in sites or most < 0:
            yield f"rules.max_down[{site!r}]: must name a site of the problem and be 0 or more"


def _weights(p: Problem) -> Iterator[str]:
    w = p.weights
    if not 0.0 <= w.tail_share <= 1.0 or not 0.0 <= w.quantile < 1.0:
        yield "weights.tail_share must lie between 0 and 1, weights.quantile between 0 and 1 (below 1)"
    if not all(0 <= cents <= MONEY_LIMIT for cents in (w.overload_per_person_h, w.statutory_late, w.away_from_due)):
        yield f"weights must be between 0 and {MONEY_LIMIT} cents"


def _in_weeks(p: Problem, week: int) -> bool:
    return 0 <= week < len(p.weeks)
