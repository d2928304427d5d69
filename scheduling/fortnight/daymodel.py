"""Which order on which day: the fortnight with hours added up per day. Its optimum bounds every plan; its days guide the search.

Candidates are kinds on days; what a start costs is taken at its cheapest. A team's day holds so many slots: the longest shift
less the shortest way from and to base, less a break; a visit takes its stay and the shortest hop to anywhere else. All rows are
true relaxations of rules.py and stand in `RULES`. Left out: who exactly goes, hours within the day beyond the interval rows,
turbine overlaps, isolations, how many use equipment or stand at a time, rest, pairs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scheduling.fortnight import order_rows
from scheduling.fortnight.columns import JobKey, Kind, Kinds
from scheduling.fortnight.facts import Facts, Floats, Ints
from scheduling.fortnight.hops import hop_floor
from scheduling.fortnight.rows import INF, Rows


@dataclass(frozen=True)
class Hours:
    """Of one day, in slots: first possible start and last possible end of stays, longest time between, regular part of it."""

    first: int
    last: int
    span: int
    regular: int


class DayModel:
    """The model; `x[c]` is candidate c: kind `kind[c]` on `day[c]`."""

    def __init__(self, facts: Facts, kinds: Kinds) -> None:
        self.facts, self.kinds, self.rows = facts, kinds.all(), Rows()
        self.done: dict[JobKey, Ints] = {}
        self.floor = hop_floor(facts)
        pairs = [(k, day) for k, kind in enumerate(self.kinds) for day in kind.fields]
        self.kind = np.array([k for k, _ in pairs], np.int64)
        self.day = np.array([day for _, day in pairs], np.int64)
        self.slots = np.array([self.kinds[k].fields[day].slots for k, day in pairs], np.int64)
        self.turbine, self.team = self._of_kinds([k.turbine for k in self.kinds]), self._of_kinds([k.team for k in self.kinds])
        self.hop = self.floor.slots[self.turbine]
        self.sizes = sorted(set(self.team.tolist())) or [facts.problem.rules.min_team]
        self.hours = [self._hours(day) for day in range(facts.days)]
        self.x = self.rows.add_columns(len(pairs), cost=self._cents(pairs), whole=True)
        self._jobs()
        orders = facts.problem.orders
        left = [o.left_out_cost + facts.change_all[i] for i, o in enumerate(orders)]
        self.left = self.rows.add_columns(len(orders), cost=left, upper=[0.0 if o.pins else 1.0 for o in orders], whole=True)
        self.team_count = self._teams()
        self.follow: dict[int, list[tuple[int, int]]] = {}
        for rule in RULES.values():
            rule(self)

    def _of_kinds(self, values: list[int]) -> Ints:
        table: Ints = np.array(values, np.int64)
        return table[self.kind]

    def _hours(self, day: int) -> Hours:
        f = self.facts
        shifts = [f.shift[i][day] for i in f.members_of(f.fit[day])]
        ride = min((f.base_slots[t] for t in set(f.own)), default=0)
        if not shifts:
            return Hours(0, 0, 0, 0)
        first, last = min(s.start for s in shifts) + ride, max(s.end for s in shifts) - ride
        regular = max(s.regular_end - s.start for s in shifts) - ride
        return Hours(first, last, max(s.end - s.start for s in shifts) - 2 * ride, regular)

    def _cents(self, pairs: list[tuple[int, int]]) -> Floats:
        own = np.array([float(self.kinds[k].fields[day].cents.min()) for k, day in pairs])
        return own + self.floor.visit_min[self.turbine] * self.team * float(self.facts.problem.weights.travel_per_person_min)

    def _jobs(self) -> None:
        found: dict[JobKey, list[int]] = {}
        for c, k in enumerate(self.kind.tolist()):
            for job in self.kinds[k].jobs:
                found.setdefault(job, []).append(c)
        self.candidates = {job: np.array(chosen, np.int64) for job, chosen in found.items()}

    def _teams(self) -> dict[tuple[int, int], int]:
        f, weights, found = self.facts, self.facts.problem.weights, {}
        for day in range(f.days):
            for size in self.sizes:
                cost = weights.team_day + self.floor.team_min * weights.travel_per_person_min * size
                most = min(len(f.problem.vehicles), f.fit[day].bit_count() // size)
                found[day, size] = int(self.rows.add_columns(1, cost=cost, upper=most, whole=True)[0])
        return found

    def teams_from(self, day: int, size: int) -> list[int]:
        """Columns of the day's teams of at least `size` people."""
        return [column for (d, s), column in self.team_count.items() if d == day and s >= size]

    def least_overlap(self, chosen: Ints, first: int, last: int) -> Ints:
        """Slots of [first, last) that each candidate takes wherever it starts."""
        found = []
        for c in chosen.tolist():
            field = self.kinds[self.kind[c]].fields[int(self.day[c])]
            found.append(int(np.maximum(0, np.minimum(field.starts + field.slots, last) - np.maximum(field.starts, first)).min()))
        return np.array(found, np.int64)

    def chosen_days(self, value: Floats) -> dict[Kind, list[tuple[int, float]]]:
        """Days and shares of the candidates in a solution."""
        found: dict[Kind, list[tuple[int, float]]] = {}
        for c in np.flatnonzero(value[self.x] > 1e-4).tolist():
            found.setdefault(self.kinds[self.kind[c]], []).append((int(self.day[c]), float(value[self.x[c]])))
        return found


def teams(m: DayModel) -> None:
    """Teams of a day: people, rescue pairs, vehicles and seats."""
    f = m.facts
    for day in range(f.days):
        columns = [m.team_count[day, size] for size in m.sizes]
        m.rows.add_row(-INF, f.fit[day].bit_count(), columns, m.sizes)
        if f.problem.rules.rescue_pair > 0:
            m.rows.add_row(-INF, f.rescue[day].bit_count() // f.problem.rules.rescue_pair, columns)
        for size in m.sizes:
            m.rows.add_row(-INF, sum(v.seats >= size for v in f.problem.vehicles), m.teams_from(day, size))


def stay_on(m: DayModel) -> None:
    """A team that goes on to another visit on the same turbine saves the hop."""
    w = m.facts.problem.weights.travel_per_person_min
    for day in range(m.facts.days):
        today = np.flatnonzero(m.day == day)
        for t in sorted(set(m.turbine[today].tolist())):
            here = today[m.turbine[today] == t]
            orders = sorted({o for k in m.kind[here].tolist() for o, _, _ in m.kinds[k].jobs})
            if len(orders) < 2:
                continue
            team = int(m.team[here].max())
            follow = int(m.rows.add_columns(1, cost=-m.floor.visit_min[t] * w * team, upper=len(orders))[0])
            for order in orders:
                others = [c for c in here.tolist() if all(o != order for o, _, _ in m.kinds[m.kind[c]].jobs)]
                m.rows.put(m.rows.add_row(-INF, 0.0, m.x[others], -1.0), follow, 1.0)
            m.follow.setdefault(day, []).append((t, follow))


def hours_of_teams(m: DayModel) -> None:
    """Stays and hops of a day fit into the teams' hours, breaks taken off; overtime is paid beyond the regular part."""
    w, p = m.facts.problem.weights, m.facts.problem
    for day, hours in enumerate(m.hours):
        today = np.flatnonzero(m.day == day)
        hop = int(m.floor.slots.max(initial=0))
        rests = np.array([m.kinds[k].fields[day].has_break for k in m.kind[today].tolist()], int)
        for size in m.sizes:
            chosen = m.team[today] >= size
            if not chosen.any():
                continue
            some = today[chosen]
            for limit, paid in ((hours.span, False), (hours.regular, True)):
                pause = p.rules.break_min // p.slot_min if (limit - 2) * p.slot_min > p.rules.break_after_min else 0
                need = m.slots[some] + m.hop[some] - pause * rests[chosen]
                row = m.rows.add_row(-INF, 0.0, m.x[some], need)
                m.rows.put(row, m.teams_from(day, size), -float(limit + hop - pause))
                for t, follow in m.follow.get(day, []):
                    m.rows.put(row, follow, -float(m.floor.slots[t]))
                if paid:
                    cents = p.slot_min * w.overtime_per_person_min * size
                    m.rows.put(row, m.rows.add_columns(1, cost=cents if size == m.sizes[0] else 0.0, upper=1000.0), -1.0)


def intervals(m: DayModel) -> None:
    """What must run before or after an hour of the day fits into the teams' time there (weather windows)."""
    for day, hours in enumerate(m.hours):
        today = np.flatnonzero(m.day == day)
        for cut in range(hours.first + 4, hours.last - 3, 3):
            for first, last in ((hours.first, cut), (cut, hours.last)):
                need = m.least_overlap(today, first, last)
                if (need > 0).sum() > 2:
                    row = m.rows.add_row(-INF, 0.0, m.x[today[need > 0]], need[need > 0])
                    m.rows.put(row, m.teams_from(day, m.sizes[0]), -float(last - first))


def skills(m: DayModel) -> None:
    """Hours that need a skill fit into its holders' hours."""
    f = m.facts
    for key in sorted({(s, level) for kind in m.kinds for s, level, _ in kind.needs}):
        asked = np.array([max((n for s, level, n in k.needs if (s, level) == key), default=0) for k in m.kinds], np.int64)
        for day, hours in enumerate(m.hours):
            today = np.flatnonzero((m.day == day) & (asked[m.kind] > 0))
            holders = f.holders(*key, day).bit_count()
            if len(today):
                m.rows.add_row(-INF, float(hours.span * holders), m.x[today], m.slots[today] * asked[m.kind[today]])
                if holders // max(1, int(asked[m.kind[today]].min())) == 0:
                    m.rows.add_row(-INF, 0.0, m.x[today])


def weekly_hours(m: DayModel) -> None:
    """Minutes away in a week: of everybody, and of those who can rescue (a pair of them in every team)."""
    f, p = m.facts, m.facts.problem
    for week in sorted({day.week for day in p.days}):
        days = [d for d, day in enumerate(p.days) if day.week == week]
        chosen = np.flatnonzero(np.isin(m.day, days))
        for pair, masks in ((0, f.fit), (p.rules.rescue_pair, f.rescue))[: 2 if p.rules.rescue_pair else 1]:
            people = [i for i in range(len(p.people)) if any(masks[d] >> i & 1 for d in days)]
            left = sum(max(0, min(f.week_left(i, week), _shifts_min(m, i, days))) for i in people)
            each = np.where(pair > 0, pair, m.team[chosen])
            row = m.rows.add_row(-INF, left / 60.0, m.x[chosen], m.slots[chosen] * each * p.slot_min / 60.0)
            for (d, size), column in m.team_count.items():
                if d in days:
                    m.rows.put(row, column, m.floor.team_min * (pair or size) / 60.0)


def _shifts_min(m: DayModel, person: int, days: list[int]) -> int:
    shifts = [m.facts.shift[person][d] for d in days if d in m.facts.shift[person]]
    return sum(s.end - s.start for s in shifts) * m.facts.problem.slot_min


def climbs(m: DayModel) -> None:
    """Visits of a day, and those by ladder, are at most what the teams may climb."""
    rules = m.facts.problem.rules
    ladder = np.array([m.kinds[k].fields[d].by == "ladder" for k, d in zip(m.kind.tolist(), m.day.tolist(), strict=True)], bool)
    for day in range(m.facts.days):
        today = np.flatnonzero(m.day == day)
        for chosen, most in ((today, rules.climbs_a_day), (today[ladder[today]], rules.ladder_climbs_a_day)):
            if len(chosen):
                row = m.rows.add_row(-INF, 0.0, m.x[chosen])
                m.rows.put(row, m.teams_from(day, m.sizes[0]), -float(most))


def equipment(m: DayModel) -> None:
    """Equipment costs its day rate on each day of use and its bringing once; its hours fit into the day."""
    f = m.facts
    for e, item in enumerate(f.problem.equipment):
        uses = np.array([e in kind.equipment for kind in m.kinds], bool)
        days: list[int] = []
        for day in item.days:
            chosen = np.flatnonzero((m.day == day) & uses[m.kind])
            if not len(chosen):
                continue
            used = m.rows.add_columns(1, cost=item.day_cost, whole=True)
            days += used.tolist()
            row = m.rows.add_row(-INF, 0.0, m.x[chosen], m.slots[chosen])
            m.rows.put(row, used, -float(item.capacity * (m.hours[day].last - m.hours[day].first)))
            for order in {o for k in m.kind[chosen].tolist() for o, _, _ in m.kinds[k].jobs}:
                mine = [c for c in chosen.tolist() if any(o == order for o, _, _ in m.kinds[m.kind[c]].jobs)]
                m.rows.put(m.rows.add_row(-INF, 0.0, m.x[mine]), used, -1.0)
        order_rows.brought(m.rows, days, item.mobilise_cost)


RULES: dict[str, Callable[[DayModel], None]] = {
    "complete": order_rows.complete,
    "sequence": order_rows.sequence,
    "after": order_rows.after,
    "team size, vehicle, rescue": teams,
    "travel": stay_on,
    "shift, break, overtime": hours_of_teams,
    "window": intervals,
    "skill": skills,
    "weekly hours": weekly_hours,
    "climbs": climbs,
    "equipment": equipment,
}
