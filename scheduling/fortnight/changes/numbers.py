"""Changes to limits, confidence and what things weigh."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from scheduling.fortnight.changes.base import Change, Draft, Refused, Register, cents, found, limit_set_in
from scheduling.fortnight.problem import Problem

QUANTITIES = ("wind", "gust")
MOST_MPS = 40.0
MOST_A_MINUTE_CENTS, MOST_EACH_CENTS, MOST_TIMES = 100_00, 1_000_000_00 // 50, 20.0

LOOSER = "Looser than the register: a trial only. Nobody goes up by it unless the maker's manual and the site's rules allow it"

WEIGHTS = {
    "travel": ("travel_per_person_min", "a person and minute on the way"),
    "overtime": ("overtime_per_person_min", "a person and minute after the regular end"),
    "abort": ("abort_per_person", "a person of a visit that the weather breaks off"),
    "team day": ("team_day", "a team and day"),
    "pair apart": ("pair_apart", "a preferred pair apart and day"),
}
"""name -> (field of Weights, per what)."""


@dataclass(frozen=True)
class LimitChanged(Change):
    """Another wind or gust limit (m/s) of a limit set, wherever it is used. Needs new tables: Register.workable."""

    limit_set: str
    value: float
    quantity: str = "wind"
    kind: ClassVar[str] = "limit"

    def lay(self, draft: Draft) -> None:
        """Noted; the tables are laid when all limits are known."""
        used = {limit_set_in(key): key for key in draft.base.workable}
        found(used, self.limit_set, "limit_set", "limit set")
        known = draft.register.limits.get(self.limit_set, {})
        if self.quantity not in QUANTITIES:
            raise Refused("quantity", f"{self.quantity!r} cannot be tried: only {' and '.join(QUANTITIES)} limits can")
        if self.quantity not in known:
            there = ", ".join(known) or "neither"
            raise Refused("quantity", f"limit set {self.limit_set} has no limit of {self.quantity}; it has {there}")
        if not 0 < self.value <= MOST_MPS:
            raise Refused("value", f"{self.value:g} m/s: give a limit above 0 and at most {MOST_MPS:g}")
        draft.new_limits.setdefault(self.limit_set, {})[self.quantity] = self.value

    def said(self, problem: Problem) -> str:
        """How much."""
        return f"{self.quantity} limit of {self.limit_set} {self.value:g} m/s"

    def cure(self, problem: Problem) -> str:
        """The limit, if maker and site agree."""
        return (
            f"set the {self.quantity} limit of limit set {self.limit_set} to {self.value:g} m/s, if the maker's manual and the "
            "site's rules allow it (Register, Limit sets)"
        )

    def caution(self, problem: Problem, register: Register) -> str:
        """A limit above the register's."""
        was = register.limits.get(self.limit_set, {}).get(self.quantity)
        return f"{LOOSER} ({was:g} m/s now)." if was is not None and self.value > was else ""

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The limit."""
        return (f"{self.quantity} limit of {self.limit_set}",)

    def part(self, problem: Problem) -> Any:
        """The tables of this limit set."""
        return {key: table for key, table in problem.workable.items() if limit_set_in(key) == self.limit_set}


@dataclass(frozen=True)
class Confidence(Change):
    """The least share of members in which a whole stay must fit."""

    share: float
    kind: ClassVar[str] = "confidence"

    def lay(self, draft: Draft) -> None:
        """For all stays."""
        if not 0.5 <= self.share <= 1:
            raise Refused("share", f"{self.share:g}: give a share from 0.5 to 1; below that a stay more likely fails than fits")
        draft.rules = replace(draft.rules, confidence=self.share)

    def said(self, problem: Problem) -> str:
        """In percent."""
        return f"asked confidence {100 * self.share:g} %"

    def cure(self, problem: Problem) -> str:
        """The sites' number."""
        return f"set the confidence of the base's sites to {self.share:g} (Register, Sites)"

    def caution(self, problem: Problem, register: Register) -> str:
        """Less than the register asks for."""
        was = problem.rules.confidence
        return f"{LOOSER} ({100 * was:g} % now)." if self.share < was else ""

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The one number."""
        return ("confidence",)

    def part(self, problem: Problem) -> Any:
        """The share."""
        return problem.rules.confidence


@dataclass(frozen=True)
class Weight(Change):
    """What something weighs, in the currency: see WEIGHTS."""

    weight: str
    value: float
    kind: ClassVar[str] = "weight"

    def lay(self, draft: Draft) -> None:
        """In whole cents."""
        name, _ = found(WEIGHTS, self.weight, "weight", "weight")
        most = MOST_A_MINUTE_CENTS if name.endswith("min") else MOST_EACH_CENTS
        draft.weights = replace(draft.weights, **{name: cents(self.value, "value", most)})

    def said(self, problem: Problem) -> str:
        """Per what."""
        return f"{self.weight} {self.value:g} {problem.currency} for {WEIGHTS[self.weight][1]}"

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The weight."""
        return (f"weight {self.weight}",)

    def part(self, problem: Problem) -> Any:
        """The weight."""
        return getattr(problem.weights, WEIGHTS[self.weight][0])


@dataclass(frozen=True)
class ChangeWeight(Change):
    """Changes against the published plan weigh `times` as much; 0: as if nobody had been told anything."""

    times: float
    kind: ClassVar[str] = "change weight"

    def lay(self, draft: Draft) -> None:
        """Every published visit's costs."""
        if not 0 <= self.times <= MOST_TIMES:
            raise Refused("times", f"{self.times:g}: give 0 to {MOST_TIMES:g}")
        draft.published = tuple(
            replace(one, change_cost=round(one.change_cost * self.times), crew_cost=round(one.crew_cost * self.times))
            for one in draft.published
        )

    def said(self, problem: Problem) -> str:
        """How much."""
        return f"changes against the published plan weigh {self.times:g} times as much"

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The one factor."""
        return ("change weight",)

    def part(self, problem: Problem) -> Any:
        """The costs."""
        return [(one.order, one.visit, one.change_cost, one.crew_cost) for one in problem.published]
