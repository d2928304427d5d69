"""The whole job once: register, due work, orders, weather, round, fortnight, check, publish, morning."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from django.apps import apps
from django.contrib.auth import get_user_model
from django.core.management.color import no_style
from django.db import connection, transaction

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Base
from planner.selectors.due import DueItem, due_list
from scheduling.choices import USABLE, RunKind
from scheduling.demo.scenario import base_zone, scenario_is_loaded, scenario_load
from scheduling.demo.weather import weather_load
from scheduling.embedded import embedded_worker
from scheduling.fortnight.problem import Problem, problem_from_json
from scheduling.models import Plan, Round, Run
from scheduling.services.dispatch import TeamCall, morning
from scheduling.services.publish import plan_publish
from scheduling.tasks import run_ask
from scheduling.watching import watch
from workorders.services.raising import orders_raise_from_due

HORIZON_DAYS = 45
FORTNIGHT, YEAR = 14, 364
EARLY_HOUR = 6
Say = Callable[[str], None]


@dataclass(frozen=True)
class Asked:
    """What the demo was asked for. `today` without a clock time: the demo's morning is 05:00 local of that day."""

    today: date | None = None
    weather: Path | None = None
    recipe: Path | None = None
    stretch_from: datetime | None = None
    seed: int = 1
    year_s: float = 15.0
    fortnight_s: float = 40.0


@dataclass(frozen=True)
class Done:
    """What came of it: rows, for the report."""

    base: Base
    now: datetime
    first_day: date
    items: list[DueItem]
    raised: int
    weather: dict[str, Any]
    round: Round
    plan: Plan
    problem: Problem
    calls: list[TeamCall]
    morning_day: date


def demo_run(asked: Asked, say: Say) -> Done:
    """Empty the demo's register, lay the scenario, and do the job. Raises PlannerError with one sentence."""
    _make_room()
    say("Laying an invented farm into the register ...")
    with transaction.atomic():
        now, first_day = _clock(asked)
        base = scenario_load(first_day=first_day)
        sites = list(base.sites.all())
        report = weather_load(
            sites=sites,
            now=now,
            seed=asked.seed,
            file=asked.weather,
            recipe=asked.recipe,
            stretch_from=asked.stretch_from,
        )
    planner = get_user_model().objects.get(username="planner")
    raised = sum(len(_raise(site, now, base, planner)) for site in sites)
    say(f"Raised {raised} orders from due work, beside those raised by hand.")
    with embedded_worker(beat=False):
        made_round = _solve(base, RunKind.YEAR, first_day, YEAR, asked.year_s, asked.seed, now, say).round
        run = _solve(base, RunKind.FORTNIGHT, first_day, FORTNIGHT, asked.fortnight_s, asked.seed, now, say)
    plan = plan_publish(plan=run.plan, by=planner, now=now)
    day = _first_working_day(plan)
    return Done(
        base=base,
        now=now,
        first_day=first_day,
        items=due_list(sites=sites, now=now),
        raised=raised,
        weather=report,
        round=made_round,
        plan=plan,
        problem=problem_from_json(run.problem),
        calls=morning(base=base, day=day, now=now, record=True),
        morning_day=day,
    )


def _raise(site: Any, now: datetime, base: Base, planner: Any) -> list[Any]:
    today = now.astimezone(base.zone).date()
    return orders_raise_from_due(site=site, today=today, horizon_days=HORIZON_DAYS, by=planner).raised


def _clock(asked: Asked) -> tuple[datetime, date]:
    """(now, first day planned). After the early morning the plan begins tomorrow."""
    zone = base_zone()
    if asked.today is not None:
        early = datetime.combine(asked.today, datetime.min.time(), tzinfo=zone) + timedelta(hours=5)
        return early, asked.today
    now = now_utc()
    local = now.astimezone(zone)
    return now, local.date() + timedelta(days=0 if local.hour < EARLY_HOUR else 1)


def _make_room() -> None:
    """Remove an earlier demo. A register that holds anything else is left alone, and said so."""
    if not Base.objects.exists():
        return
    if not scenario_is_loaded() or Base.objects.count() > 1:
        raise PlannerError(
            "The register is not empty and does not hold only the demo: run the demo on a database of its own, "
            "for example with LULL_VAR_DIR=/tmp/lull-demo."
        )
    own = [model._meta.db_table for name in ("scheduling", "workorders", "planner") for model in _models(name)]
    with transaction.atomic():
        connection.ops.execute_sql_flush(connection.ops.sql_flush(no_style(), own, reset_sequences=False))


def _models(name: str) -> list[Any]:
    return list(apps.get_app_config(name).get_models(include_auto_created=True))


def _solve(base: Base, kind: str, first_day: date, days: int, limit_s: float, seed: int, now: datetime, say: Say) -> Run:
    """Ask for a run and watch it until it ends."""
    say(f"Solving the {RunKind(kind).label} (at most {limit_s:.0f} s) ...")
    params = {"time_limit_s": limit_s, "gap": 0.005}
    run = run_ask(base=base, kind=kind, first_day=first_day, days=days, by=None, seed=seed, params=params, now=now)
    watch(run, limit_s + 90, say)
    if run.state not in USABLE:
        raise PlannerError(f"The {kind} run ended as {run.get_state_display()}: {run.text or 'it did not end in time'}")
    say(f"  {run.text}")
    return run


def _first_working_day(plan: Plan) -> date:
    """The first day with a visit: the morning that is shown."""
    first = plan.visits.order_by("day").first()
    return first.day if first else plan.first_day
