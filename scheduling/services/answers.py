"""The answers to a plan's questions: problem and plan read back, the pure search asked, its result as JSON for row and page."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from scheduling.builders.background import background_of
from scheduling.choices import QuestionKind
from scheduling.fortnight.explain import Background, Change, Clock, Move, Moves, Way, WaysIn, day_text, moves, way_text, ways_in
from scheduling.fortnight.plan import Plan as Solution
from scheduling.fortnight.problem import Problem
from scheduling.models import PlanQuestion, Run
from scheduling.selectors.solved import clock_of, solved

Progress = Callable[[int, int], None]
Stop = Callable[[], bool]


@dataclass(frozen=True)
class Answer:
    """A sentence, the answer as JSON, and how much was tried."""

    text: str
    data: dict[str, Any]
    tried: int


def answer_of(question: PlanQuestion, *, on_progress: Progress, should_stop: Stop) -> Answer:
    """Work a question out. Seeded by its run, so that the same question of a replayed run has the same answer."""
    problem, solution = solved(question.plan)
    asked = _Asked(question, problem, solution, on_progress, should_stop)
    return asked.ways_in() if question.kind == QuestionKind.WAYS_IN else asked.moves()


@dataclass(frozen=True)
class _Asked:
    question: PlanQuestion
    problem: Problem
    solution: Solution
    on_progress: Progress
    should_stop: Stop

    @property
    def run(self) -> Run:
        return self.question.plan.run

    def _known(self) -> tuple[Background, Clock]:
        number = self.question.order_number
        background = background_of(self.run, self.problem, orders={number}, steps_for=number)
        return background, clock_of(self.problem, self.question.plan.base.zone)

    def ways_in(self) -> Answer:
        """What would let an order in."""
        background, clock = self._known()
        found = ways_in(
            self.problem, self.solution, self.question.order_number, background, clock=clock, seed=self.run.seed,
            on_progress=self.on_progress, should_stop=self.should_stop,
        )  # fmt: skip
        return Answer(found.text, ways_json(self.problem, found), len(found.ways) + len(found.tried))

    def moves(self) -> Answer:
        """Where else a visit could stand."""
        background, clock = self._known()
        found = moves(
            self.problem, self.solution, self.question.order_number, self.question.visit, background, clock=clock,
            seed=self.run.seed, on_progress=self.on_progress, should_stop=self.should_stop,
        )  # fmt: skip
        return Answer(found.text, moves_json(self.problem, found), len(found.moves))


def ways_json(problem: Problem, found: WaysIn) -> dict[str, Any]:
    """Ways in as JSON: money in the currency."""
    return {"currency": problem.currency, "ways": [_way(problem, way) for way in found.ways], "tried": list(found.tried)}


def _way(problem: Problem, way: Way) -> dict[str, Any]:
    return {
        "kind": way.kind,
        "what": way.text,
        "text": way_text(problem, way),
        "cost": way.cents / 100,
        "where": list(way.where),
        "falls_out": list(way.fallen),
        "changes": _changes(way.changes),
        "caution": way.caution,
    }


def _changes(changes: tuple[Change, ...]) -> list[dict[str, Any]]:
    return [{"kind": one.kind, "order": one.order, "visit": one.visit, "text": one.text} for one in changes]


def moves_json(problem: Problem, found: Moves) -> dict[str, Any]:
    """A visit's cost where it stands and on every other day, as JSON."""
    here = found.here
    return {
        "currency": problem.currency,
        "orders": list(found.orders),
        "date": problem.days[found.day].date,
        "here": here.text,
        "parts": {name: cents / 100 for name, cents in here.parts.items() if cents},
        "lost_mwh": round(here.lost_mwh, 3),
        "chance": here.chance,
        "moves": [_move(problem, move) for move in found.moves],
    }


def _move(problem: Problem, move: Move) -> dict[str, Any]:
    return {
        "date": problem.days[move.day].date,
        "day": day_text(problem, move.day),
        "possible": move.cents is not None,
        "cost": None if move.cents is None else move.cents / 100,
        "falls_out": list(move.fallen),
        "changes": _changes(move.changes),
        "text": move.text,
    }
