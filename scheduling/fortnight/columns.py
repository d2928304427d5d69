"""Candidate visits: which jobs go up together, how long they stay, where they may start, and what that costs.

A `Kind` is a set of jobs that ride along on one turbine (usually one job). For each day it has a `Field`: the starts that
window, access, equipment, days, pins and shifts leave, with the cost parts that depend on nothing but the visit itself:
lost energy, likely aborts for the least team, lateness, change, and standing between visits (which splits over the two
visits at its ends, because it is a difference of sums).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.problem import Access, Order

Bools = NDArray[np.bool_]
JobKey = tuple[int, int, int]
"""(order, mode, visit), all as numbers."""


@dataclass(frozen=True)
class Field:
    """Possible starts of a kind on one day: slots of the stay, starts, cents and chance of each (same length arrays)."""

    day: int
    slots: int
    by: str
    has_break: bool
    starts: Ints
    cents: Floats
    chance: Floats
    told: tuple[tuple[int, int, float], ...] = ()
    """(start, people, cents): at this start each of these people (mask) who does not come costs so much."""

    def missing_cents(self, start: int, mask: int) -> float:
        """Cents for published people who are not in the team that starts there."""
        return sum(cents * (people & ~mask).bit_count() for slot, people, cents in self.told if slot == start)

    @cached_property
    def by_cost(self) -> list[tuple[float, int, float]]:
        """(cents, start, chance), cheapest first."""
        order = np.lexsort((self.starts, self.cents))
        return [(float(self.cents[i]), int(self.starts[i]), float(self.chance[i])) for i in order]


@dataclass(frozen=True)
class Kind:
    """Jobs that are done in one visit. `needs`: (skill, level) -> people; `team`: least number of fit people; `crew`: people
    (mask) who must come."""

    turbine: int
    jobs: tuple[JobKey, ...]
    team: int
    needs: tuple[tuple[str, int, int], ...]
    stops: tuple[int, ...]
    equipment: tuple[int, ...]
    fields: dict[int, Field]
    crew: int = 0

    def __hash__(self) -> int:
        return hash(self.jobs)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Kind) and self.jobs == other.jobs


class Kinds:
    """All kinds of a problem, made when asked for and kept."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self._made: dict[tuple[JobKey, ...], Kind] = {}
        self.mates: list[list[int]] = [self._mates(i) for i in range(len(facts.problem.orders))]

    def _mates(self, order: int) -> list[int]:
        """Orders that may ride along with this one: same turbine, both willing, neither waits for the other."""
        f = self.facts
        orders = f.problem.orders
        if not self._rides(orders[order]):
            return []
        same = [i for i, o in enumerate(orders) if i != order and f.own[i] == f.own[order] and self._rides(o)]
        return [i for i in same if not self._waits(i, order) and not self._waits(order, i)]

    def _rides(self, order: Order) -> bool:
        return order.ride_along and not order.opens_climbing

    def _waits(self, order: int, other: int, seen: frozenset[int] = frozenset()) -> bool:
        after = self.facts.after[order]
        return other in after or any(self._waits(a, other, seen | {order}) for a in after if a not in seen)

    def job_keys(self, order: int) -> list[JobKey]:
        """Every (order, mode, visit) that the order's pins and crew leave."""
        o = self.facts.problem.orders[order]
        most_pinned = max([-1, *(v for v, _, _ in o.pins), *(v for v, _ in o.crew)])
        modes = [(k, m) for k, m in enumerate(o.modes) if len(m.visits_min) > most_pinned]
        return [(order, k, v) for k, m in modes for v in range(len(m.visits_min))]

    def get(self, jobs: tuple[JobKey, ...]) -> Kind:
        """The kind of these jobs, fields computed once; a kind without any start has no fields."""
        jobs = tuple(sorted(jobs))
        if jobs not in self._made:
            self._made[jobs] = _make_kind(self.facts, jobs)
        return self._made[jobs]

    def all(self) -> list[Kind]:
        """Every kind that has a start anywhere: single jobs and all sets that ride along."""
        found: list[Kind] = []
        for order in range(len(self.facts.problem.orders)):
            for key in self.job_keys(order):
                self._grow((key,), [m for m in self.mates[order] if m > order], found)
        return found

    def _grow(self, jobs: tuple[JobKey, ...], mates: list[int], found: list[Kind]) -> None:
        kind = self.get(jobs)
        if not kind.fields:
            return
        found.append(kind)
        for i, mate in enumerate(mates):
            rest = [m for m in mates[i + 1 :] if m in self.mates[mate]]
            for key in self.job_keys(mate):
                self._grow((*jobs, key), rest, found)


def _make_kind(facts: Facts, jobs: tuple[JobKey, ...]) -> Kind:
    p, orders = facts.problem, [facts.problem.orders[o] for o, _, _ in jobs]
    needs: dict[tuple[str, int], int] = {}
    for order in orders:
        for need in order.needs:
            needs[need.skill, need.level] = max(need.count, needs.get((need.skill, need.level), 0))
    teams = [facts.problem.orders[o].modes[k].team for o, k, _ in jobs]
    crew = 0
    for o, _, visit in jobs:
        crew |= facts.crew_of(o, visit)
    least = max([p.rules.min_team, p.rules.rescue_pair, *teams, *needs.values(), (crew & ~facts.learners).bit_count()])
    kind = Kind(
        turbine=facts.own[jobs[0][0]],
        jobs=jobs,
        team=least,
        needs=tuple((s, level, n) for (s, level), n in sorted(needs.items())),
        stops=tuple(sorted({facts.turbine[t] for o in orders for t in o.stops})),
        equipment=tuple(sorted({facts.equipment[e] for o in orders for e in o.equipment})),
        fields={},
        crew=crew,
    )
    days = set(range(facts.days)).intersection(*(o.days for o in orders), *(p.equipment[e].days for e in kind.equipment))
    for day in sorted(days):
        field = _make_field(facts, kind, orders, day)
        if field is not None:
            kind.fields[day] = field
    return kind


def _way_up(facts: Facts, kind: Kind, orders: list[Order], day: int) -> Access | None:
    if len(orders) == 1 and orders[0].opens_climbing:
        return orders[0].access
    access = facts.problem.turbines[kind.turbine].access[day]
    if access.by != "none":
        return access
    own = [order.access for order in orders if order.behind and order.access is not None]
    return max(own, key=lambda one: one.up_min + one.down_min) if len(own) == len(orders) else None


def stay_slots(facts: Facts, kind: Kind, orders: list[Order], access: Access) -> tuple[int, bool]:
    """Slots of the stay (see rules.py, `stay`), and whether a break is built in."""
    rules = facts.problem.rules
    work = sum(facts.problem.orders[o].modes[k].visits_min[v] for o, k, v in kind.jobs)
    minutes = access.up_min + work + sum(o.pack_min for o in orders) + access.down_min
    away_min = facts.to_slots(minutes) * facts.problem.slot_min + 2 * facts.home_min[0][kind.turbine]
    has_break = away_min > rules.break_after_min
    return facts.to_slots(minutes + (rules.break_min if has_break else 0)), has_break


def _make_field(facts: Facts, kind: Kind, orders: list[Order], day: int) -> Field | None:
    access = _way_up(facts, kind, orders, day)
    if access is None:
        return None
    slots, has_break = stay_slots(facts, kind, orders, access)
    if slots > facts.slots[day]:
        return None
    starts = np.arange(facts.slots[day] - slots + 1)
    chance = facts.chance(facts.windows(orders), day, slots)
    keep = (chance >= facts.problem.rules.confidence) & _staffable(facts, kind, day, slots, starts)
    for (_, _, visit), order in zip(kind.jobs, orders, strict=True):
        for pinned, pin_day, slot in order.pins:
            if pinned == visit:
                keep &= (starts == slot) & (pin_day == day)
    if not keep.any():
        return None
    starts, chance = starts[keep], chance[keep]
    cents = _cents(facts, kind, day, slots, starts, chance)
    return Field(day, slots, access.by, has_break, starts, cents, chance, _told(facts, kind, day, starts))


def _told(facts: Facts, kind: Kind, day: int, starts: Ints) -> tuple[tuple[int, int, float], ...]:
    """Starts at which published visits stand still, with those of their people who may come, and cents for each missing."""
    if not facts.company.told:
        return ()
    told = [one for o, _, visit in kind.jobs for one in facts.company.told.get((o, visit), ())]
    known = [(start, mask & facts.may_go[day], float(cents)) for on, start, mask, _, cents in told if on == day]
    return tuple((start, mask, cents) for start, mask, cents in known if mask and start in starts)


def _staffable(facts: Facts, kind: Kind, day: int, slots: int, starts: Ints) -> Bools:
    """Starts for which enough people, skills and rescue are on shift for the whole time away."""
    hop = facts.least_slots[kind.turbine]
    asked = [(facts.fit[day], kind.team), (facts.rescue[day], facts.problem.rules.rescue_pair)]
    asked += [(facts.holders(skill, level, day), count) for skill, level, count in kind.needs]
    if kind.crew & ~facts.may_go[day]:
        return np.zeros(len(starts), bool)
    asked += [(kind.crew, kind.crew.bit_count())] if kind.crew else []
    out, back = starts - hop, starts + slots + hop
    ok = (out >= 0) & (back <= facts.slots[day])
    for mask, count in asked:
        ok &= facts.on_shift(mask, day)[np.maximum(out, 0), np.minimum(back, facts.slots[day])] >= count
    return ok


def _cents(facts: Facts, kind: Kind, day: int, slots: int, starts: Ints, chance: Floats) -> Floats:
    first = facts.first[day]
    cents = (1.0 - chance) * (facts.abort_cents[day] * kind.team)
    for t in kind.stops:
        cents = cents + facts.stop_cents[t][first + starts + slots] - facts.stop_cents[t][first + starts]
    for order, mode, visit in kind.jobs:
        cents = cents + _job_cents(facts, order, mode, visit, day, slots, starts)
    return cents


def _job_cents(facts: Facts, order: int, mode: int, visit: int, day: int, slots: int, starts: Ints) -> Floats:
    """Lateness, change and standing between visits of one job for each start."""
    o, t, first = facts.problem.orders[order], facts.own[order], facts.first[day]
    visits = len(o.modes[mode].visits_min)
    cents = np.zeros(len(starts))
    if visit == visits - 1:
        cents += o.late_cost * max(0, day - o.due_day)
    if o.stopped_between and visit > 0:
        cents += facts.stop_cents[t][first + starts] + facts.night_cents[t][day]
    if o.stopped_between and visit < visits - 1:
        cents -= facts.stop_cents[t][first + starts + slots] + facts.night_cents[t][day]
    for pub_day, pub_start, cost in facts.published.get((order, visit), []):
        cents += np.where((starts == pub_start) & (pub_day == day), 0.0, cost)
    for told_day, start, mask, strangers, cost in facts.company.told.get((order, visit), ()):
        never = strangers + (mask & ~facts.may_go[day]).bit_count()
        cents += np.where((starts == start) & (told_day == day), float(cost * never), 0.0)
    if visit == 0:
        gone = [c for (who, v), costs in facts.published.items() if who == order and v >= visits for _, _, c in costs]
        cents += sum(gone)
    return cents


def start_index(kind: Kind, day: int, start: int) -> int | None:
    """Position of a start in the kind's field, None where it is not allowed."""
    field = kind.fields.get(day)
    if field is None:
        return None
    found = int(np.searchsorted(field.starts, start))
    return found if found < len(field.starts) and field.starts[found] == start else None


__all__ = ["Field", "JobKey", "Kind", "Kinds", "start_index", "stay_slots"]
