"""Cross-checks of a fortnight's problem, so that solver and checker need no defensive code.

Each check is one small generator of sentences; `validate` raises ValueError with the first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scheduling.fortnight.problem import Problem

MONEY_LIMIT = 2**31 // 4


def validate(problem: Problem) -> None:
    """Raise ValueError with one sentence that names the record, the field and the cure."""
    of_things = (_grid, _names, _turbines, _people, _pairs, _equipment, _lodgings)
    for check in (*of_things, _orders, _crew, _modes, _series, _published, _money, _rules):
        for sentence in check(problem):
            raise ValueError(sentence)


def _grid(p: Problem) -> Iterator[str]:
    if p.slot_min <= 0 or p.speed_kmh <= 0 or p.hop_fixed_min < 0:
        yield "slot_min and speed_kmh must be above 0 and hop_fixed_min 0 or more"
    column, previous_end = 0, None
    for i, day in enumerate(p.days):
        if day.slots < 1:
            yield f"days[{i}].slots is {day.slots}: a day needs at least one slot"
        if day.first_slot != column:
            yield f"days[{i}].first_slot is {day.first_slot}, expected {column} (days follow each other without a hole)"
        if previous_end is not None and day.start_min < previous_end:
            yield f"days[{i}].start_min lies before the end of the day before it"
        column += day.slots
        previous_end = day.start_min + day.slots * p.slot_min


def _names(p: Problem) -> Iterator[str]:
    lists: dict[str, Iterable[str]] = {
        "turbines": (t.id for t in p.turbines),
        "people": (x.id for x in p.people),
        "vehicles": (v.id for v in p.vehicles),
        "equipment": (e.id for e in p.equipment),
        "orders": (o.id for o in p.orders),
        "lodgings": (one.id for one in p.lodgings),
    }
    for name, ids in lists.items():
        seen: set[str] = set()
        for one in ids:
            if one in seen:
                yield f"{name}: id {one!r} stands twice; give each its own"
            seen.add(one)


def _turbines(p: Problem) -> Iterator[str]:
    for t in p.turbines:
        if len(t.access) != len(p.days):
            yield f"turbine {t.id}: access has {len(t.access)} entries for {len(p.days)} days"
        for access in t.access:
            if access.by not in ("lift", "ladder", "none") or min(access.up_min, access.down_min) < 0:
                yield f"turbine {t.id}: access must be lift, ladder or none with minutes of 0 or more"
        if t.site not in p.price_cents or t.site not in p.night_cents:
            yield f"turbine {t.id}: no price_cents and night_cents for site {t.site!r}"
        if t.energy not in p.stop_mwh or t.energy not in p.night_mwh:
            yield f"turbine {t.id}: no stop_mwh and night_mwh for energy {t.energy!r}"


def _people(p: Problem) -> Iterator[str]:
    for person in p.people:
        for shift in person.shifts:
            if not _in_days(p, shift.day) or not 0 <= shift.start < shift.end <= p.days[shift.day].slots:
                yield f"person {person.id}: shift on day {shift.day} must lie inside that day's slots, start before end"
        if len({shift.day for shift in person.shifts}) != len(person.shifts):
            yield f"person {person.id}: two shifts on one day; join them"
        days = (*person.fit_days, *person.rescue_days, *(d for held in person.skills for d in held.days))
        if not all(_in_days(p, day) for day in days):
            yield f"person {person.id}: fit_days, rescue_days and skills name a day outside the horizon"
        if not 0 <= person.day_cost <= MONEY_LIMIT:
            yield f"person {person.id}: day_cost is {person.day_cost}: give cents between 0 and {MONEY_LIMIT}"


def _pairs(p: Problem) -> Iterator[str]:
    known = {person.id for person in p.people}
    for pair in (*p.together, *p.apart, *p.prefer):
        if not set(pair) <= known or pair[0] == pair[1]:
            yield f"pair {pair}: must name two different known people"
    preferred = [frozenset(pair) for pair in p.prefer]
    for pair in p.prefer:
        if preferred.count(frozenset(pair)) > 1:
            yield f"prefer: the pair {pair} stands twice; name it once"


def _equipment(p: Problem) -> Iterator[str]:
    for e in p.equipment:
        if e.capacity < 1 or not all(_in_days(p, day) for day in e.days):
            yield f"equipment {e.id}: capacity must be 1 or more and days inside the horizon"
        if not (0 <= e.day_cost <= MONEY_LIMIT and 0 <= e.mobilise_cost <= MONEY_LIMIT):
            yield f"equipment {e.id}: day_cost and mobilise_cost must be between 0 and {MONEY_LIMIT} cents"


def _orders(p: Problem) -> Iterator[str]:
    turbines = {t.id for t in p.turbines}
    orders = {o.id for o in p.orders}
    equipment = {e.id for e in p.equipment}
    for o in p.orders:
        if o.turbine not in turbines:
            yield f"order {o.id}: turbine {o.turbine!r} is not in the problem"
        if not o.stops or not set(o.stops) <= turbines or o.turbine not in o.stops:
            yield f"order {o.id}: stops must name known turbines, its own among them"
        if not set(o.equipment) <= equipment:
            yield f"order {o.id}: equipment {sorted(set(o.equipment) - equipment)} is not in the problem"
        if not set(o.after) <= orders or o.id in o.after:
            yield f"order {o.id}: after must name other orders of the problem"
        if not set(o.behind) <= set(o.after):
            yield f"order {o.id}: behind must name orders of its own after"
        if o.after_gap_min < 0:
            yield f"order {o.id}: after_gap_min must be 0 or more minutes"
        if o.window not in p.workable:
            yield f"order {o.id}: window {o.window!r} is not in workable"
        for key in sorted(set(o.also) - set(p.workable)):
            yield f"order {o.id}: also names {key!r}, which is not in workable; give its table or leave it out"
        if not all(_in_days(p, day) for day in o.days):
            yield f"order {o.id}: days name a day outside the horizon"
        if o.opens_climbing and o.access is None:
            yield f"order {o.id}: an order that opens climbing needs an access of its own"
        for visit, day, slot in o.pins:
            if visit < 0 or not _in_days(p, day) or not 0 <= slot < p.days[day].slots:
                yield f"order {o.id}: pin ({visit}, {day}, {slot}) lies outside the horizon"


def _crew(p: Problem) -> Iterator[str]:
    people = {person.id for person in p.people}
    for o in p.orders:
        most = max((len(mode.visits_min) for mode in o.modes), default=0)
        for visit, named in o.crew:
            if not 0 <= visit < most:
                yield f"order {o.id}: crew names visit {visit}, but its modes have visits 0 to {most - 1}; name one of these"
            if not named or len(set(named)) != len(named):
                yield f"order {o.id}: crew of visit {visit} must name somebody, and nobody twice"
            if not set(named) <= people:
                gone = ", ".join(sorted(set(named) - people))
                yield f"order {o.id}: crew of visit {visit} names {gone}, not in the problem; take them out of it"
        if len({visit for visit, _ in o.crew}) != len(o.crew):
            yield f"order {o.id}: crew names a visit twice; join its people"


def _modes(p: Problem) -> Iterator[str]:
    for o in p.orders:
        if not o.modes:
            yield f"order {o.id}: needs at least one mode (team size and visit minutes)"
        for mode in o.modes:
            if mode.team < p.rules.min_team:
                yield f"order {o.id}: a team of {mode.team} is below the least team of {p.rules.min_team}"
            if not mode.visits_min or min(mode.visits_min) <= 0:
                yield f"order {o.id}: visits_min must be minutes above 0"
        if len(set(o.modes)) != len(o.modes):
            yield f"order {o.id}: two modes with the same team size and visits; keep one"
        if o.pack_min < 0 or any(need.count < 1 or need.level < 0 for need in o.needs):
            yield f"order {o.id}: pack_min must be 0 or more, needs must ask for at least one person"


def _series(p: Problem) -> Iterator[str]:
    columns, days = p.total_slots, len(p.days)
    if p.members < 1 and p.workable:
        yield f"members is {p.members}: at least one is needed"
    size = -(-p.members * columns // 8)
    for key, packed in p.workable.items():
        if len(packed) != 4 * -(-size // 3):
            yield f"workable[{key!r}] does not hold {p.members} members x {columns} slots"
    for name, table, length in (
        ("stop_mwh", p.stop_mwh, columns),
        ("night_mwh", p.night_mwh, days),
        ("price_cents", p.price_cents, columns),
        ("night_cents", p.night_cents, days),
    ):
        for key, values in table.items():
            if len(values) != length:
                yield f"{name}[{key!r}] has {len(values)} values, expected {length}"


def _published(p: Problem) -> Iterator[str]:
    orders = {o.id for o in p.orders}
    for v in p.published:
        if v.order not in orders or not _in_days(p, v.day):
            yield f"published visit of {v.order!r}: order and day must be in the problem"
        if v.change_cost < 0:
            yield f"published visit of {v.order!r}: change_cost must be 0 or more"
        if not 0 <= v.crew_cost <= MONEY_LIMIT:
            yield f"published visit of {v.order!r}: crew_cost must be between 0 and {MONEY_LIMIT} cents"


def _money(p: Problem) -> Iterator[str]:
    for o in p.orders:
        if not all(0 <= cents <= MONEY_LIMIT for cents in (o.late_cost, o.left_out_cost, o.hand_over_cost)):
            yield f"order {o.id}: costs must be between 0 and {MONEY_LIMIT} cents"
    w = p.weights
    if min(w.travel_per_person_min, w.overtime_per_person_min, w.abort_per_person, w.team_day, w.pair_apart) < 0:
        yield "weights must be 0 or more"
    if p.day_weight and len(p.day_weight) != len(p.days):
        yield f"day_weight has {len(p.day_weight)} values for {len(p.days)} days; give one a day, or none for 1 on every day"
    for day, weight in enumerate(p.day_weight):
        if not 0.0 <= weight <= 1.0:
            yield f"day_weight[{day}] is {weight}: give a share between 0 and 1"


def _lodgings(p: Problem) -> Iterator[str]:
    for one in p.lodgings:
        if not one.id or one.beds < 1 or not 0 <= one.night_cost <= MONEY_LIMIT:
            yield f"lodging {one.id!r}: needs an id, beds of 1 or more and a night_cost between 0 and {MONEY_LIMIT} cents"
    if p.rules.nights_in_row < 0:
        yield "rules.nights_in_row must be 0 or more"


def _rules(p: Problem) -> Iterator[str]:
    r = p.rules
    if not 0.0 < r.confidence <= 1.0:
        yield f"rules.confidence is {r.confidence}: give a share above 0 and at most 1"
    if r.min_team < 2:
        yield f"rules.min_team is {r.min_team}: never fewer than two people up a turbine"
    if min(r.break_after_min, r.break_min, r.rest_min, r.week_max_min, r.climbs_a_day, r.cover_min) < 0:
        yield "rules must be 0 or more"
    if not all(_in_days(p, day) for day in p.standby_days):
        yield "standby_days name a day outside the horizon"


def _in_days(p: Problem, day: int) -> bool:
    return 0 <= day < len(p.days)
