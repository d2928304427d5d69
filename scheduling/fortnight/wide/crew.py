"""Who goes with whom: the routes of a plan that counts people by number are given to real people, week by week.

One model of whole numbers a week: each person in one team a day, each team complete (number, skills, rescue, pairs apart),
nobody out beyond their shift or their hours of the week. A team that cannot be staffed is left without people; its routes' worth
says which.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np

from scheduling.fortnight.facts import Facts
from scheduling.fortnight.rows import INF, Rows, quiet
from scheduling.fortnight.wide.master import Route

GAP = 0.01


@dataclass(frozen=True)
class Staffed:
    """What a team asks for: its route, cents that it is worth, and cents more for each person (mask bit) who could go."""

    route: Route
    worth: float
    able: dict[int, float]


class WeekCrews:
    """The model of one week."""

    def __init__(self, facts: Facts, teams: list[Staffed]) -> None:
        self.facts, self.teams, self.rows = facts, teams, Rows()
        self.out = [self.rows.add_columns(1, cost=team.worth, whole=True) for team in teams]
        self.goes = [self._people(team) for team in teams]
        for number, team in enumerate(teams):
            self._complete(number, team)
        self._once_a_day()
        self._hours()

    def _people(self, team: Staffed) -> dict[int, int]:
        people = sorted(team.able)
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
        for a, b in f.apart:
            if a in goes and b in goes:
                self.rows.add_row(-INF, 1.0, [goes[a], goes[b]])

    def _once_a_day(self) -> None:
        for day in sorted({team.route.day for team in self.teams}):
            for person in range(len(self.facts.problem.people)):
                mine = [g[person] for g, t in zip(self.goes, self.teams, strict=True) if t.route.day == day and person in g]
                if len(mine) > 1:
                    self.rows.add_row(-INF, 1.0, mine)

    def _hours(self) -> None:
        f, week = self.facts, self.facts.problem.days[self.teams[0].route.day].week
        for person in range(len(f.problem.people)):
            mine = [(g[person], t.route.away_min / 60.0) for g, t in zip(self.goes, self.teams, strict=True) if person in g]
            if mine:
                hours = max(0, f.week_left(person, week)) / 60.0
                self.rows.add_row(-INF, hours, [c for c, _ in mine], [h for _, h in mine])

    def solve(self, seconds: float, seed: int) -> list[int]:
        """Masks of people by team, 0 where nobody goes."""
        highs = quiet(1, seed)
        highs.setOptionValue("time_limit", max(0.2, seconds))
        highs.setOptionValue("mip_rel_gap", GAP)
        highs.passModel(self.rows.model(0.0, integer=True))
        highs.run()
        value = np.asarray(highs.getSolution().col_value)
        if highs.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return [0] * len(self.teams)
        return [sum(1 << i for i, c in goes.items() if value[c] > 0.5) for goes in self.goes]
