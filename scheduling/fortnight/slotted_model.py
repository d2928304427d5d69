"""The time-indexed model of a coarse problem: one column a run, rows for what runs share.

Kept as they are in rules.py: complete, sequence, after, window, day allowed, pins, one team per turbine, isolation, equipment,
most stopped, and every part of the cost that a visit has by itself. People are counted: teams of a day by size, and teams that
need a skill by the people who hold it, for every set of skills. Left to crewing: who exactly goes. Left out altogether, so that
the optimum is a bound: weekly hours, rest, breaks, climbs, pairs, overtime, beds, and what a change of people costs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np

from scheduling.fortnight import order_rows
from scheduling.fortnight.columns import Kind, Kinds
from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.rows import EURO, INF, Rows
from scheduling.fortnight.slotted_cuts import Counted
from scheduling.fortnight.slotted_runs import Run, Stay, clusters_of, runs_of

SLACK = 1e-7
"""Share by which bounds are lowered for what the solver rounds."""

MOST_SETS = 5
"""Skills asked for up to which every set of them has its row; beyond, only single skills."""

SkillKey = tuple[str, int]


@dataclass(frozen=True)
class Place:
    """A day in a cluster: stays by number (kind, start, end), and the runs that use them (`run` uses stay `of`)."""

    day: int
    cluster: int
    kinds: list[Kind]
    start: Ints
    end: Ints
    run: Ints
    of: Ints


class SlottedModel:
    """Columns: `x` runs, `left` orders. Costs in whole currency units."""

    def __init__(self, facts: Facts, runs: list[Run], cluster: list[int]) -> None:
        self.facts, self.runs, self.cluster, self.rows = facts, runs, cluster, Rows()
        orders = facts.problem.orders
        self.order = np.array([run.order for run in runs], np.int64)
        self.x = self.rows.add_columns(len(runs), cost=[run.cents / EURO for run in runs], whole=True)
        out = [(o.left_out_cost + facts.change_all[i]) / EURO for i, o in enumerate(orders)]
        self.left = self.rows.add_columns(len(orders), cost=out, upper=[0.0 if o.pins else 1.0 for o in orders], whole=True)
        self.by_order: list[Ints] = [np.flatnonzero(self.order == i) for i in range(len(orders))]
        self.places = self._places()
        self.team_count: dict[tuple[int, int], list[int]] = {}
        self.counted: list[Counted] = []
        for rule in RULES.values():
            rule(self)

    def _places(self) -> list[Place]:
        users: dict[tuple[int, int], dict[Stay, list[int]]] = {}
        for number, run in enumerate(self.runs):
            for stay in run.stays:
                at = users.setdefault((stay[1], self.cluster[stay[0].turbine]), {})
                at.setdefault(stay, []).append(number)
        return [_place(*key, users[key]) for key in sorted(users)]


def _place(day: int, cluster: int, users: dict[Stay, list[int]]) -> Place:
    kinds, start = [kind for kind, _, _ in users], np.array([start for _, _, start in users], np.int64)
    end = start + np.array([kind.fields[day].slots for kind in kinds], np.int64)
    run = np.array([number for found in users.values() for number in found], np.int64)
    of = np.repeat(np.arange(len(kinds)), [len(found) for found in users.values()])
    return Place(day, cluster, kinds, start, end, run, of)


def in_each_slot(m: SlottedModel, place: Place, value: Ints, high: float, supply: Iterable[int] = (), least: int = 1) -> None:
    """In each slot: what the stays there ask for (`value`, by stay) less the supply's columns is at most `high`.

    Slots in which the same stays run have one row; with `least` slots in which stays of fewer orders run have none.
    """
    own, seen = list(supply), set[bytes]()
    for slot in range(m.facts.slots[place.day]):
        now = (place.start <= slot) & (slot < place.end) & (value > 0)
        chosen = now[place.of]
        if now.tobytes() in seen or len(set(m.order[place.run[chosen]].tolist())) < least:
            continue
        seen.add(now.tobytes())
        row = m.rows.add_row(-INF, high, m.x[place.run[chosen]], value[place.of[chosen]])
        m.rows.put(row, own, -1.0)


def complete(m: SlottedModel) -> None:
    """Each order is left out or done by one run."""
    for i, mine in enumerate(m.by_order):
        m.rows.add_row(1.0, 1.0, [*m.left[i : i + 1], *m.x[mine]])


def teams(m: SlottedModel) -> None:
    """At any time at most as many teams of each size at work in a cluster as there are; people, vehicles, seats, rescue."""
    f, p = m.facts, m.facts.problem
    sizes = sorted({kind.team for place in m.places for kind in place.kinds})
    for place in m.places:
        most = [sum(v.seats >= size for v in p.vehicles) for size in sizes]
        found = m.rows.add_columns(len(sizes), cost=_team_cost(m, place, sizes), upper=most, whole=True).tolist()
        m.team_count[place.day, place.cluster] = found
        _levels(m, place, np.array([kind.team for kind in place.kinds]), sizes, found)
    for day in range(f.days):
        here = [columns for (d, _), columns in m.team_count.items() if d == day]
        _shared(m, here, sizes, f.fit[day].bit_count())
        for i, size in enumerate(sizes if here else []):
            m.rows.add_row(-INF, float(sum(v.seats >= size for v in p.vehicles)), [row[i] for row in here])
        if p.rules.rescue_pair and here:
            m.rows.add_row(-INF, float(f.rescue[day].bit_count() // p.rules.rescue_pair), [row[0] for row in here])


def _team_cost(m: SlottedModel, place: Place, sizes: list[int]) -> Floats:
    """What a team costs at least: its price and the way to the nearest turbine of the cluster and back."""
    f, p = m.facts, m.facts.problem
    ride = 2 * min(f.base_min[t] for t in f.own if m.cluster[t] == place.cluster)
    cents = np.diff([0, *sizes]) * float(ride * p.weights.travel_per_person_min)
    cents[:1] += p.weights.team_day
    return cents / EURO


def _levels(m: SlottedModel, place: Place, asked: Ints, levels: list[int], columns: list[int]) -> None:
    """Columns count teams that need at least so many people, level by level."""
    for level, column in zip(levels, columns, strict=True):
        in_each_slot(m, place, (asked >= level).astype(np.int64), 0.0, [column])
        m.counted.append(Counted(place, (asked >= level).astype(np.int64), column))
    for small, large in pairwise(columns):
        m.rows.add_row(-INF, 0.0, [large, small], [1.0, -1.0])


def _shared(m: SlottedModel, here: list[list[int]], levels: list[int], people: int) -> None:
    """A day's people over its clusters: teams by their least number of people, all together and for each level by itself."""
    if here:
        m.rows.add_row(-INF, float(people), [c for row in here for c in row], [*np.diff([0, *levels])] * len(here))
        for i, level in enumerate(levels):
            m.rows.add_row(-INF, float(people // level), [row[i] for row in here])


def skills(m: SlottedModel) -> None:
    """Teams that need somebody of a set of skills at a time: a day's clusters share the people who hold one of them."""
    f = m.facts
    keys = sorted({(s, level) for place in m.places for kind in place.kinds for s, level, _ in kind.needs})
    count = range(1, len(keys) + 1) if len(keys) <= MOST_SETS else (1,)
    for some in (frozenset(some) for n in count for some in combinations(keys, n)):
        asked = [np.array([_asked(kind, some) for kind in place.kinds], np.int64) for place in m.places]
        levels = sorted({int(n) for numbers in asked for n in numbers} - {0})
        needing: dict[int, list[list[int]]] = {}
        for place, numbers in zip(m.places, asked, strict=True):
            found = m.rows.add_columns(len(levels), upper=1000.0, whole=True).tolist()
            _levels(m, place, numbers, levels, found)
            m.rows.add_row(-INF, 0.0, [found[0], m.team_count[place.day, place.cluster][0]], [1.0, -1.0])
            needing.setdefault(place.day, []).append(found)
        for day, here in needing.items():
            holders = 0
            for key in some:
                holders |= f.holders(*key, day)
            _shared(m, here, levels, holders.bit_count())


def _asked(kind: Kind, some: frozenset[SkillKey]) -> int:
    """People that the visit asks for at least out of those who hold one of these skills."""
    return max((count for skill, level, count in kind.needs if (skill, level) in some), default=0)


def turbines(m: SlottedModel) -> None:
    """One team per turbine at a time; who stops other turbines waits until nobody works on them, and the other way round."""
    for place in m.places:
        turbine, order = np.array([k.turbine for k in place.kinds]), np.array([k.jobs[0][0] for k in place.kinds])
        for t in sorted(set(turbine.tolist())):
            stops = (turbine != t) & np.array([t in k.stops for k in place.kinds])
            for other in sorted(set(order[stops].tolist())) or [-1]:
                here = ((turbine == t) | (stops & (order == other))).astype(np.int64)
                in_each_slot(m, place, here, 1.0, least=2)
                m.counted.append(Counted(place, here, None))


def equipment(m: SlottedModel) -> None:
    """Equipment within its capacity at any time over all clusters; its day rate on each day of use, its bringing once."""
    for e, item in enumerate(m.facts.problem.equipment):
        days: list[int] = []
        for day in item.days:
            users = [(number, s) for number, run in enumerate(m.runs) for s in run.stays if s[1] == day and e in s[0].equipment]
            if not users:
                continue
            used = m.rows.add_columns(1, cost=item.day_cost / EURO, whole=True)
            days += used.tolist()
            for order in sorted({int(m.order[number]) for number, _ in users}):
                row = m.rows.add_row(-INF, 0.0, used, -1.0)
                m.rows.put(row, m.x[[number for number, _ in users if m.order[number] == order]], 1.0)
            for slot in range(m.facts.slots[day]):
                now = [number for number, (kind, _, start) in users if start <= slot < start + kind.fields[day].slots]
                row = m.rows.add_row(-INF, 0.0, used, -float(item.capacity))
                m.rows.put(row, m.x[now], 1.0)
        order_rows.brought(m.rows, days, item.mobilise_cost / EURO)


def after(m: SlottedModel) -> None:
    """An order that waits for others is done only if they are, and begins when they have ended and its wait is over."""
    f = m.facts
    for i, earlier in enumerate(f.after):
        for other in earlier:
            m.rows.add_row(0.0, INF, [m.left[i], m.left[other]], [1.0, -1.0])
            begins = np.array([_minute(f, m.runs[r].stays[0]) for r in m.by_order[i].tolist()], np.int64)
            last = [m.runs[r].stays[-1] for r in m.by_order[other].tolist()]
            ends = np.array([f.waited(i, other, d, start + kind.fields[d].slots) for kind, d, start in last], np.int64)
            for minute in sorted(set(begins.tolist())):
                row = m.rows.add_row(-INF, 0.0, m.x[m.by_order[i][begins <= minute]])
                m.rows.put(row, m.x[m.by_order[other][ends <= minute]], -1.0)


def _minute(f: Facts, stay: Stay) -> int:
    return f.moment(stay[1], stay[2])


def _column(f: Facts, stay: Stay, end: bool) -> int:
    kind, day, start = stay
    return f.first[day] + start + (kind.fields[day].slots if end else 0)


def most_stopped(m: SlottedModel) -> None:
    """Turbines of a site that stand at a time, during visits or between two of them, each counted once."""
    p = m.facts.problem
    for site, most in p.rules.max_stopped.items():
        here = [t for t, turbine in enumerate(p.turbines) if turbine.site == site]
        by_turbine: dict[int, list[tuple[int, int, int, int]]] = {}
        for number, run in enumerate(m.runs):
            for t, begin, end in _stands(m, run):
                if t in here:
                    by_turbine.setdefault(t, []).append((run.order, number, begin, end))
        if len(by_turbine) > most:
            for column in range(p.total_slots):
                _count_standing(m, by_turbine, column, most)


def _stands(m: SlottedModel, run: Run) -> list[tuple[int, int, int]]:
    """(turbine, first column, column after the last) in which the run keeps a turbine standing."""
    f = m.facts
    found = [(t, _column(f, s, False), _column(f, s, True)) for s in run.stays for t in s[0].stops]
    if f.problem.orders[run.order].stopped_between:
        found += [(a[0].turbine, _column(f, a, True), _column(f, b, False)) for a, b in pairwise(run.stays)]
    return found


def _count_standing(m: SlottedModel, by_turbine: dict[int, list[tuple[int, int, int, int]]], column: int, most: int) -> None:
    standing = []
    for found in by_turbine.values():
        now = [(order, number) for order, number, begin, end in found if begin <= column < end]
        if now:
            stands = m.rows.add_columns(1)
            standing.append(int(stands[0]))
            for order in sorted({order for order, _ in now}):
                row = m.rows.add_row(-INF, 0.0, stands, -1.0)
                m.rows.put(row, m.x[[number for o, number in now if o == order]], 1.0)
    if len(standing) > most:
        m.rows.add_row(-INF, float(most), standing)


RULES: dict[str, Callable[[SlottedModel], None]] = {
    "complete, sequence, window, pins": complete,
    "team size, vehicle, rescue": teams,
    "skill": skills,
    "one team per turbine, isolation": turbines,
    "equipment": equipment,
    "after": after,
    "most stopped": most_stopped,
}


def slotted_model(facts: Facts, kinds: Kinds) -> SlottedModel | None:
    """The model where the problem is coarse enough for it (see slotted_runs)."""
    cluster = clusters_of(facts)
    runs = runs_of(facts, kinds) if cluster is not None else None
    return SlottedModel(facts, runs, cluster) if runs and cluster is not None else None


def at_least(m: SlottedModel, stays: list[Stay]) -> Ints:
    """Columns of the runs that ask for at least as much as one of these stays: its order, day and slots, as many people."""
    return m.x[[i for i, run in enumerate(m.runs) if any(_as_hard(run, stay) for stay in stays)]]


def _as_hard(run: Run, stay: Stay) -> bool:
    kind, day, start = stay
    end = start + kind.fields[day].slots
    return run.order == kind.jobs[0][0] and any(
        d == day and s <= start and end <= s + k.fields[d].slots and k.team >= kind.team for k, d, s in run.stays
    )
