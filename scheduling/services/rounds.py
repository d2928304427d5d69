"""A year's result as rows. The only writer of Round and RoundItem."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from planner.errors import ConflictError
from planner.models import Component, Interval, Turbine
from scheduling import codec
from scheduling.builders.round import place_key
from scheduling.models import Round, RoundItem, Run
from scheduling.year.explain import reasons, warnings_of
from scheduling.year.outlook import outlook
from scheduling.year.plan import Plan, plan_from_json
from scheduling.year.problem import Problem, problem_from_json

Place = tuple[Turbine, Component | None]


@dataclass(frozen=True)
class Told:
    """What a round means and why each item stands where it does; worked out before anything is written."""

    problem: Problem
    plan: Plan
    about: dict[str, Any]
    why: dict[str, str]

    @classmethod
    def of(cls, run: Run, best: Any) -> Told:
        """From the run's problem and a plan as JSON."""
        problem, plan = problem_from_json(run.problem), plan_from_json(best)
        return cls(problem, plan, _about(problem, plan), reasons(problem, plan))


def round_draft(*, run: Run, told: Told | None = None) -> Round:
    """The round of a run's best result; the one that is there, if the run was drafted before.

    Call it inside the transaction that ends the run, with `told` worked out before it. Raises ConflictError when a turbine,
    component or interval has gone from the register since.
    """
    drafted = Round.objects.filter(run=run).first()
    if drafted is not None:
        return drafted
    told = told or Told.of(run, run.best)
    weeks = told.problem.weeks
    made = Round.objects.create(
        base=run.base,
        run=run,
        first_day=date.fromisoformat(weeks[0].monday),
        last_day=date.fromisoformat(weeks[-1].monday) + timedelta(days=6),
        about=told.about,
    )
    RoundItem.objects.bulk_create(_items(made, told))
    return made


def _about(problem: Problem, plan: Plan) -> dict[str, Any]:
    """Weeks with load, capacity and fit; energy; finishing dates; money by part in the currency; warnings."""
    about: dict[str, Any] = codec.to_json(outlook(problem, plan))
    parts = {name: cents / 100 for name, cents in plan.parts.items()}
    return {**about, "parts": parts, "currency": problem.currency, "warnings": list(warnings_of(problem))}


def _items(made: Round, told: Told) -> list[RoundItem]:
    places, intervals = _places(made), {row.code: row for row in Interval.objects.all()}
    week_of, weeks, rows = told.plan.week_of, told.problem.weeks, []
    for item in told.problem.items:
        head, code, due = item.id.rsplit(" ", 2)
        if head not in places or code not in intervals:
            raise ConflictError(f"The register changed while the run was solved; gone is {item.id}: solve again.")
        turbine, component = places[head]
        due_on, week = date.fromisoformat(due), week_of.get(item.id)
        rows.append(
            RoundItem(
                round=made,
                turbine=turbine,
                component=component,
                interval=intervals[code],
                due_on=due_on,
                closes_on=due_on + timedelta(days=intervals[code].late_days),
                week=None if week is None else date.fromisoformat(weeks[week].monday),
                reason=told.why.get(item.id, ""),
            )
        )
    return rows


def _places(made: Round) -> dict[str, Place]:
    """The head of an item's id -> what it names: a turbine, or a component of it."""
    turbines = {row.pk: row for row in Turbine.objects.filter(site__base_id=made.base_id).select_related("site")}
    places: dict[str, Place] = {place_key(row, None): (row, None) for row in turbines.values()}
    for part in Component.objects.filter(turbine__in=turbines).select_related("kind"):
        places[place_key(turbines[part.turbine_id], part)] = (turbines[part.turbine_id], part)
    return places
