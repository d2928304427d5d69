"""Who goes with whom: routes of a plan that counts people by number are given to real people.

One model of whole numbers for the routes of a day, or of a week: each person in one team a day, each team complete (number,
skills, rescue, pairs apart, shifts that have room together), nobody out beyond their hours. A team that cannot be staffed is
left without people; what its orders are worth says which.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.rows import INF, Rows, quiet
from scheduling.fortnight.wide.master import Route

GAP, NODES = 0.002, 200


@dataclass(frozen=True)
class Staffed:
    """What a team asks for: its route, cents that it is worth, who could go with cents for each, and groups that cannot mix.

    Two groups (masks) cannot mix where the shifts that they have in common leave no room for the route.
    """

    route: Route
    worth: float
    able: dict[int, float]
    split: tuple[tuple[int, int], ...]


class Crews:
    """The model. `hours`: what each person may still be away over these routes."""

    def __init__(self, facts: Facts, teams: list[Staffed], hours: list[float]) -> None:
        self.facts, self.teams, self.rows = facts, teams, Rows()
        self.out = [self.rows.add_columns(1, cost=team.worth, whole=True) for team in teams]
        self.goes = [self._people(team, hours) for team in teams]
        for number, team in enumerate(teams):
            self._complete(number, team)
            self._together(number, team)
        self._once_a_day()
        self._hours(hours)

    def _people(self, team: Staffed, hours: list[float]) -> dict[int, int]:
        people = sorted(i for i in team.able if team.route.away_min <= 60.0 * hours[i])
        columns = self.rows.add_columns(len(people), cost=[team.able[i] for i in people], whole=True)
        return dict(zip(people, columns.tolist(), strict=True))

    def _complete(self, number: int, team: Staffed) -> None:
        """Enough people, holders and rescue, or the team stays in."""
        f, route, goes, out = self.facts, team.route, self.goes[number], self.out[number]
        asked = [(f.holders(skill, level, route.day), count) for skill, level, count in route.needs]
        asked.append((f.rescue[route.day], f.problem.rules.rescue_pair))
        row = self.rows.add_row(float(route.size), float(route.size), list(goes.values()))
        self.rows.put(row, out, float(route.size))
        for mask, count in asked:
            row = self.rows.add_row(float(count), INF, [c for i, c in goes.items() if mask >> i & 1])
            self.rows.put(row, out, float(count))

    def _together(self, number: int, team: Staffed) -> None:
        """Pairs kept apart, and groups whose shifts cannot mix: one of the two stays out of this team."""
        goes = self.goes[number]
        for a, b in self.facts.apart:
            if a in goes and b in goes:
                self.rows.add_row(-INF, 1.0, [goes[a], goes[b]])
        for one, other in team.split:
            first = self.rows.add_columns(1, whole=True)
            for mask, share in ((one, -1.0), (other, 1.0)):
                size = float(team.route.size)
                row = self.rows.add_row(-INF, size if share > 0 else 0.0, [c for i, c in goes.items() if mask >> i & 1])
                self.rows.put(row, first, share * size)

    def _once_a_day(self) -> None:
        for day in sorted({team.route.day for team in self.teams}):
            for person in range(len(self.facts.problem.people)):
                mine = [g[person] for g, t in zip(self.goes, self.teams, strict=True) if t.route.day == day and person in g]
                if len(mine) > 1:
                    self.rows.add_row(-INF, 1.0, mine)

    def _hours(self, hours: list[float]) -> None:
        for person, most in enumerate(hours):
            mine = [(g[person], t.route.away_min / 60.0) for g, t in zip(self.goes, self.teams, strict=True) if person in g]
            if len(mine) > 1:
                self.rows.add_row(-INF, most, [c for c, _ in mine], [h for _, h in mine])

    def solve(self, seed: int, start: list[int] | None = None, seconds: float = 3.0) -> list[int]:
        """Masks of people by team, 0 where nobody goes; `start` are masks to begin with."""
        highs = quiet(1, seed)
        highs.setOptionValue("time_limit", seconds)
        highs.setOptionValue("mip_rel_gap", GAP)
        highs.setOptionValue("mip_max_nodes", NODES)
        highs.passModel(self.rows.model(0.0, integer=True))
        if start is not None:
            self._begin(highs, start)
        highs.run()
        value = np.asarray(highs.getSolution().col_value)
        if highs.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return start or [0] * len(self.teams)
        return [sum(1 << i for i, c in goes.items() if value[c] > 0.5) for goes in self.goes]

    def _begin(self, highs: highspy.Highs, start: list[int]) -> None:
        """The people of `start`; HiGHS finds the rest of the columns."""
        index, value = list[int](), list[float]()
        for mask, goes, out in zip(start, self.goes, self.out, strict=True):
            index += [int(out[0]), *goes.values()]
            value += [0.0 if mask else 1.0, *(float(mask >> i & 1) for i in goes)]
        highs.setSolution(len(index), np.array(index, np.int32), np.array(value))
