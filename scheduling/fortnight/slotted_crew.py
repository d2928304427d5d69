"""Who goes: a day's stays, with their times settled, are given to teams of real people; or a small set of stays that cannot be.

People who are alike in everything that a team asks for are counted, not named, until the teams are known.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.slotted_runs import Stay

SECONDS = 2.0
Crews = list[tuple[int, list[Stay]]]
"""(people as a mask, the stays they do)."""


@dataclass(frozen=True)
class Alike:
    """People who may stand in for each other on a day: numbers, and what they bring."""

    people: tuple[int, ...]
    skills: frozenset[tuple[str, int]]
    rescue: bool
    start: int
    end: int


class Crewer:
    """Crews days of a problem; keeps what it found out."""

    def __init__(self, facts: Facts, cluster: list[int], seed: int) -> None:
        self.facts, self.cluster, self.seed = facts, cluster, seed
        self.keys = sorted({(n.skill, n.level) for o in facts.problem.orders for n in o.needs})
        self.seats = sorted((v.seats for v in facts.problem.vehicles), reverse=True)
        self._alike: dict[int, list[Alike]] = {}
        self._known: dict[frozenset[Stay], Crews | None] = {}
        self.proven: set[frozenset[Stay]] = set()
        """Stays of a day for which it is proven that nobody can crew them."""

    def crews(self, stays: list[Stay]) -> Crews | None:
        """Teams for the stays of one day; None if none were found."""
        key = frozenset(stays)
        if key not in self._known:
            status, self._known[key] = _DayCrew(self, stays).solve() if stays else (cp_model.OPTIMAL, [])
            if status == cp_model.INFEASIBLE:
                self.proven.add(key)
        return self._known[key]

    def too_much(self, stays: list[Stay]) -> list[Stay]:
        """A set of these stays that cannot be crewed together, none of which can be spared."""
        kept = list(stays)
        for stay in stays:
            fewer = [s for s in kept if s != stay]
            if self.crews(fewer) is None:
                kept = fewer
        return kept

    def alike(self, day: int) -> list[Alike]:
        """The day's people by what they bring; members of pairs are by themselves."""
        if day not in self._alike:
            f = self.facts
            paired = {p for pair in (*f.apart, *f.together) for p in pair}
            groups: dict[tuple[object, ...], list[int]] = {}
            for i in f.members_of(f.fit[day]):
                held = frozenset(k for k in self.keys if f.holders(*k, day) >> i & 1)
                shift = f.shift[i][day]
                key = (i if i in paired else -1, held, bool(f.rescue[day] >> i & 1), shift.start, shift.end)
                groups.setdefault(key, []).append(i)
            self._alike[day] = [Alike(tuple(v), k[1], k[2], k[3], k[4]) for k, v in groups.items()]  # type: ignore[arg-type]
        return self._alike[day]


class _DayCrew:
    """The model of one day. A team is known by its first stay: `does[v][w]` says that the team whose first is w does v."""

    def __init__(self, crewer: Crewer, stays: list[Stay]) -> None:
        self.c, self.f, self.day = crewer, crewer.facts, stays[0][1]
        self.stays = sorted(stays, key=lambda s: (s[2], s[0].jobs))
        self.model = cp_model.CpModel()
        self.groups = crewer.alike(self.day)
        self.goes = [[self.model.new_int_var(0, len(g.people), "") for g in self.groups] for _ in stays]
        self.does: list[dict[int, cp_model.IntVar]] = []
        self._stays()
        self._people()

    def _stays(self) -> None:
        """Every stay has a team; what overlaps or lies elsewhere has another."""
        for v, stay in enumerate(self.stays):
            firsts = [w for w, other in enumerate(self.stays[:v]) if not self._apart(other, stay)]
            does = {w: self.model.new_bool_var("") for w in [*firsts, v]}
            self.does.append(does)
            self.model.add_exactly_one(does.values())
            for w, mine in does.items():
                self.model.add_implication(mine, self.does[w][w])
                self._asks(stay, mine, self.goes[w])
                for u in range(w + 1, v):
                    if w in self.does[u] and self._apart(self.stays[u], stay):
                        self.model.add_at_most_one(mine, self.does[u][w])

    def _apart(self, a: Stay, b: Stay) -> bool:
        """Whether one team cannot do both (`a` does not start later)."""
        overlap = a[2] + a[0].fields[self.day].slots > b[2]
        return overlap or self.c.cluster[a[0].turbine] != self.c.cluster[b[0].turbine]

    def _asks(self, stay: Stay, does: cp_model.IntVar, goes: list[cp_model.IntVar]) -> None:
        """Size, rescue, skills and shifts of the team that does the stay."""
        kind, _, start = stay
        hop = self.f.base_slots[kind.turbine]
        first, last = start - hop, start + kind.fields[self.day].slots + hop
        everybody, rescuers = range(len(self.groups)), [i for i, g in enumerate(self.groups) if g.rescue]
        asked: list[tuple[Iterable[int], int]] = [(everybody, kind.team), (rescuers, self.f.problem.rules.rescue_pair)]
        for skill, level, count in kind.needs:
            asked.append(([i for i, g in enumerate(self.groups) if (skill, level) in g.skills], count))
        for able, count in asked:
            self.model.add(sum(goes[i] for i in able) >= count).only_enforce_if(does)
        for n, g in zip(goes, self.groups, strict=True):
            if g.start > first or g.end < last:
                self.model.add(n == 0).only_enforce_if(does)

    def _people(self) -> None:
        """Nobody in two teams, vehicles, seats, pairs, climbs."""
        rules, number = self.f.problem.rules, {p: i for i, g in enumerate(self.groups) for p in g.people}
        self.model.add(sum(does[v] for v, does in enumerate(self.does)) <= len(self.c.seats))
        for i, group in enumerate(self.groups):
            self.model.add(sum(goes[i] for goes in self.goes) <= len(group.people))
        for w, goes in enumerate(self.goes):
            self.model.add(sum(goes) <= self.c.seats[0] * self.does[w][w])
            mine = [(does[w], s) for does, s in zip(self.does, self.stays, strict=True) if w in does]
            self.model.add(sum(x for x, _ in mine) <= rules.climbs_a_day)
            ladder = [x for x, s in mine if s[0].fields[self.day].by == "ladder"]
            self.model.add(sum(ladder) <= rules.ladder_climbs_a_day)
            for a, b in self.f.apart:
                if a in number and b in number:
                    self.model.add(goes[number[a]] + goes[number[b]] <= 1)

    def solve(self) -> tuple[cp_model.CpSolverStatus, Crews | None]:
        """Teams without spare people; None if there are none or none was found in time."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers, solver.parameters.random_seed = 1, self.c.seed % 2_147_483_647
        solver.parameters.max_deterministic_time = SECONDS
        solver.parameters.presolve_inclusion_work_limit = 0
        status = solver.solve(self.model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return status, None
        free = [list(g.people) for g in self.groups]
        found: Crews = []
        for w, goes in enumerate(self.goes):
            stays = [s for s, does in zip(self.stays, self.does, strict=True) if w in does and solver.boolean_value(does[w])]
            mask = sum(1 << free[i].pop() for i, n in enumerate(goes) for _ in range(solver.value(n)))
            if stays:
                found.append((self._spare(mask, stays), stays))
        return status, found

    def _spare(self, mask: int, stays: list[Stay]) -> int:
        """The team without the people whom none of its stays needs."""
        for person in self.f.members_of(mask):
            fewer = mask & ~(1 << person)
            if all(self._enough(fewer, stay) for stay in stays):
                mask = fewer
        return mask

    def _enough(self, mask: int, stay: Stay) -> bool:
        """Whether these people are enough for the stay."""
        f, kind = self.f, stay[0]
        asked = [(f.fit[self.day], kind.team), (f.rescue[self.day], f.problem.rules.rescue_pair)]
        asked += [(f.holders(skill, level, self.day), count) for skill, level, count in kind.needs]
        return all((mask & able).bit_count() >= count for able, count in asked)


def by_day(stays: Iterable[Stay]) -> list[list[Stay]]:
    """The stays of each day that has any, days in order."""
    found: dict[int, list[Stay]] = {}
    for stay in stays:
        found.setdefault(stay[1], []).append(stay)
    return [found[day] for day in sorted(found)]
