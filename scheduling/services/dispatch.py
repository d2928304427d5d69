"""The morning: what is said to each team of a day, from the published plan and the newest forecast. The only writer of Call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import Base, Site
from planner.services.access import require_role
from scheduling import codec
from scheduling.builders.day import day_problem
from scheduling.builders.limits import OF_PROCEDURE
from scheduling.builders.shifts import JOINS
from scheduling.day.check import check
from scheduling.day.decide import decide
from scheduling.day.problem import Problem, Verdict
from scheduling.models import Call, Visit
from scheduling.selectors.plans import plan_current
from scheduling.selectors.weather import newest_forecast


@dataclass(frozen=True)
class TeamCall:
    """What the morning says about one visit; times are UTC, None where there is none."""

    visit: Visit
    verdict: Verdict
    start: datetime | None
    first_start: datetime | None
    last_start: datetime | None
    down_by: datetime | None
    start_down_by: datetime | None
    binding_at: datetime | None


def morning(
    *,
    base: Base,
    day: date,
    now: datetime | None = None,
    by: Any = None,
    record: bool = True,
    sites: Sequence[Site] | None = None,
) -> list[TeamCall]:
    """Go, wait or no-go for every visit of a day, by start. Kept as calls when `record`; `by` needs the role of lead or planner
    for that. `sites` limits it to some sites of the base.

    Raises PlannerError when no plan is published for the day.
    """
    moment = now or now_utc()
    wanted = list(base.sites.select_related("rule_set", "base")) if sites is None else list(sites)
    plan = plan_current(base=base, day=day)
    if plan is None:
        raise PlannerError(f"No plan is published for {day} at {base}: solve and publish a fortnight first.", field="day")
    if record and by is not None:
        for site in wanted:
            require_role(user=by, site=site, roles=("planner", "lead"))
    found = [call for site in wanted for call in _of_site(site, day, moment, visits_of_day(plan_id=plan.pk, site=site, day=day))]
    if record:
        calls_record(calls=found, now=moment, by=by)
    return sorted(found, key=lambda call: (call.visit.starts_at, call.visit.turbine.code))


def visits_of_day(*, plan_id: int, site: Site, day: date) -> list[Visit]:
    """The visits of a plan at a site on a day, with all that the morning asks of them."""
    visits = Visit.objects.filter(plan_id=plan_id, turbine__site=site, day=day)
    joined = visits.select_related("turbine__type", "turbine__site__base", "vehicle", "sets_out_from", "sleeps_at")
    return list(
        joined.prefetch_related(
            *(f"jobs__order__procedure__{name}" for name in OF_PROCEDURE),
            "people__shift_pattern",
            *(f"people__{name}" for name in JOINS),
            "people__certificates__kind",
        ).order_by("starts_at", "turbine__code")
    )


def _of_site(site: Site, day: date, now: datetime, visits: Sequence[Visit]) -> list[TeamCall]:
    if not visits:
        return []
    problem = day_problem(site=site, day=day, now=now, visits=visits)
    verdicts = decide(problem)
    wrong = check(problem, verdicts)
    if wrong:
        raise PlannerError(f"The morning's answer failed its own check ({wrong[0].rule}: {wrong[0].text}): go by measured wind.")
    by_id = {verdict.stay: verdict for verdict in verdicts}
    return [_call(visit, by_id[str(visit.pk)], problem) for visit in visits]


def _call(visit: Visit, verdict: Verdict, problem: Problem) -> TeamCall:
    origin = datetime.fromisoformat(problem.origin)

    def at(minute: int | None) -> datetime | None:
        return None if minute is None else origin + timedelta(minutes=minute)

    return TeamCall(
        visit=visit,
        verdict=verdict,
        start=at(verdict.start_min),
        first_start=at(verdict.first_safe_min),
        last_start=at(verdict.last_safe_min),
        down_by=at(verdict.must_be_down_min),
        start_down_by=at(verdict.start_down_min),
        binding_at=at(verdict.binding.at_min) if verdict.binding else None,
    )


def calls_record(*, calls: Sequence[TeamCall], now: datetime, by: Any) -> list[Call]:
    """Keep the calls as they were said, with the forecast they were said from."""
    forecasts = {call.visit.turbine.site_id: newest_forecast(site=call.visit.turbine.site, at=now) for call in calls}
    return Call.objects.bulk_create(
        Call(
            visit=call.visit,
            verdict=call.verdict.verdict,
            said_at=now,
            forecast=forecasts[call.visit.turbine.site_id],
            first_start=call.first_start,
            last_start=call.last_start,
            down_by=call.down_by,
            chance=call.verdict.chance,
            about=codec.to_json(call.verdict),
            by=by,
        )
        for call in calls
    )
