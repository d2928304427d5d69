"""Plans and what-ifs of a base by name, ready to be compared: published, draft, plan-12, what-if-3."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from planner.errors import ConflictError, PlannerError
from planner.models import Base, Site
from scheduling.fortnight.plan import plan_from_json
from scheduling.fortnight.problem import problem_from_json
from scheduling.fortnight.side_by_side import Side, SideBySide, side_by_side
from scheduling.models import Plan, Run, WhatIf
from scheduling.selectors.plans import plan_current, plan_list, plan_newest_draft
from scheduling.selectors.solved import clock_of
from scheduling.selectors.what_ifs import what_if_list

LEAST, MOST = 2, 3
KINDS = "published, draft, plan-NUMBER or what-if-NUMBER"


@dataclass(frozen=True)
class Named:
    """One of the plans to compare. `key` is how it is asked for; `left_out` has reasons as they were stored."""

    key: str
    title: str
    state: str
    first_day: date
    last_day: date
    run_id: int
    left_out: list[dict[str, str]]
    plan: Plan | None = None
    what_if: WhatIf | None = None


@dataclass(frozen=True)
class Found:
    """The plans with their records and what came of holding them side by side; `sides` are the records, `codes` the sites of
    which visits and orders are named, `bounds` what each plan's search had proven (currency)."""

    named: tuple[Named, ...]
    sides: tuple[Side, ...]
    result: SideBySide
    codes: frozenset[str]
    bounds: tuple[float | None, ...]

    def unsure(self, number: int) -> float:
        """By how much (currency) a longer search could still turn the difference in cost between a plan and the first; 0 if
        it could not: what the dearer of the two has left above its proven bound, where that is more than the difference."""
        values = [figures.value / 100 for figures in self.result.figures]
        change = values[number] - values[0]
        dearer = number if change > 0 else 0
        bound = self.bounds[dearer]
        left = values[dearer] if bound is None else max(0.0, values[dearer] - bound)
        return left if number and abs(change) >= 0.01 and left > abs(change) else 0.0


def compare_named(*, base: Base, keys: Sequence[str], sites: Sequence[Site], least: int = LEAST) -> Found:
    """Two or three plans of a base beside each other; one alone with `least` 1. The others are held against the first.

    Raises PlannerError for a key that names nothing here, ConflictError for a what-if that is not solved.
    """
    wanted = list(dict.fromkeys(keys))
    if not least <= len(wanted) <= MOST:
        raise PlannerError(f"{len(wanted)} different plans are named: give {LEAST} or {MOST} of {KINDS}.", field="of")
    named = tuple(_named(base, key, sites) for key in wanted)
    runs = Run.objects.only("problem", "best", "bound").in_bulk([one.run_id for one in named])
    sides = tuple(_side(base, one, runs[one.run_id]) for one in named)
    codes = frozenset(site.code for site in sites if site.base_id == base.pk)
    return Found(named, sides, side_by_side(sides, codes.__contains__), codes, tuple(runs[one.run_id].bound for one in named))


def _named(base: Base, key: str, sites: Sequence[Site]) -> Named:
    what, _, number = key.rpartition("-")
    if key == "published":
        return _of_plan(key, plan_current(base=base), f"{base} has no published plan.")
    if key == "draft":
        return _of_plan(key, plan_newest_draft(plan_list(sites=sites).filter(base=base)), f"{base} has no newer draft.")
    if what in ("plan", "what-if") and number.isascii() and number.isdigit() and len(number) < 19:
        gone = f"There is no {what} {number} of {base}, or not for you."
        if what == "plan":
            return _of_plan(key, plan_list(sites=sites).filter(base=base, pk=int(number)).first(), gone)
        return _of_what_if(key, what_if_list(sites=sites).filter(base=base, pk=int(number)).first(), gone)
    raise PlannerError(f"{key[:40]!r} names no plan: give {KINDS}.", field="of")


def _of_plan(key: str, plan: Plan | None, gone: str) -> Named:
    if plan is None:
        raise PlannerError(gone, field="of")
    title = f"plan {plan.pk}"
    return Named(key, title, plan.state, plan.first_day, plan.last_day, plan.run_id, plan.left_out, plan=plan)


def _of_what_if(key: str, row: WhatIf | None, gone: str) -> Named:
    if row is None:
        raise PlannerError(gone, field="of")
    if row.result_id is None:
        raise ConflictError(f"What-if {row.name!r} has no plan for its changes as they stand: solve it first.", field="of")
    last_day = row.first_day + timedelta(days=row.days - 1)
    return Named(key, row.name, row.state, row.first_day, last_day, row.result_id, row.left_out, what_if=row)


def _side(base: Base, one: Named, run: Run) -> Side:
    try:
        problem, plan = problem_from_json(run.problem), plan_from_json(run.best)
    except ValueError as error:
        raise ConflictError(
            f"What {one.title} was solved from is not stored in full: solve again to compare it.", field="of"
        ) from error
    return Side(one.title, problem, plan, clock_of(problem, base.zone))
