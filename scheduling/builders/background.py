"""What stands behind a fortnight's packed verdicts, from the rows and the forecast of the moment it was built."""

from __future__ import annotations

import logging
from collections.abc import Container, Iterable
from dataclasses import replace
from datetime import date

import numpy as np

from planner import gates
from planner.errors import PlannerError
from planner.models import CertificateKind, Technician
from scheduling.access import Limit, LimitSet, pack_members, workable
from scheduling.access.judge import holds, judged_values
from scheduling.access.words import limit_name, limit_unit
from scheduling.bits import unpack_members
from scheduling.builders.cells import Cell
from scheduling.builders.elsewhere import drafts_before
from scheduling.builders.fortnight import Builder, builder_of
from scheduling.builders.limits import limit_set_of, sets_of
from scheduling.builders.orders import closings_on, window_key
from scheduling.builders.people import held_by
from scheduling.fortnight.explain import NOTHING_KNOWN, Background, LimitStep, LimitTable, Shut
from scheduling.fortnight.problem import Problem
from scheduling.models import Run
from scheduling.weather.series import BoolArray
from workorders.models import Order

log = logging.getLogger(__name__)

RAISED_BY_MPS = (1.0, 2.0, 3.0)
"""Steps at which a wind limit is tried, to tell what binds."""
RAISED = ("wind", "gust")


def background_of(run: Run, problem: Problem, *, orders: Iterable[str], steps_for: str = "") -> Background:
    """The background of a run's problem for some orders; `steps_for`: the order whose wind limits are tried at other values.

    Rows may have changed since: a limit set that no longer gives the problem's own verdict is left out, and so is everything
    if the rows make no problem any more. Reasons then say less, never something else.
    """
    try:
        made = builder_of(
            base=run.base,
            first_day=run.first_day,
            days=run.days,
            now=run.asked_at,
            seed=run.seed,
            drafts=drafts_before(run),
        )
    except (PlannerError, ValueError) as error:
        log.info("run %s: no background (%s)", run.pk, error)
        return NOTHING_KNOWN
    wanted = set(orders)
    rows = [row for row in made.rows if row.number in wanted]
    limits = _limits(made, problem, rows)
    return Background(
        limits=limits,
        absent=_absent(made, problem),
        shut={row.number: _shut(made, row) for row in rows},
        steps=_steps(made, [row for row in rows if row.number == steps_for], limits),
    )


def _shut(made: Builder, row: Order) -> dict[int, Shut]:
    found = ((day, list(closings_on(row, made.ground, day))) for day in range(made.horizon.days))
    return {day: _one(closings) for day, closings in found if closings}


KINDS = {"parts": "part", "opens": "opens", "hold": "hold", "closure": "closure", "gate": "gate"}


def _one(closings: list[tuple[str, str]]) -> Shut:
    """Everything that closes a day as one: a shut gate before all; several kinds are not opened by lifting one of them."""
    kinds = {KINDS.get(what, "equipment") for what, _ in closings}
    kind = "gate" if "gate" in kinds else kinds.pop() if len(kinds) == 1 else "several"
    return Shut(kind, "; ".join(text.rstrip(".") for _, text in closings))


# --- weather --------------------------------------------------------------------------------------------------------------


def _limits(made: Builder, problem: Problem, rows: list[Order]) -> dict[str, tuple[LimitTable, ...]]:
    tables: dict[str, tuple[LimitTable, ...]] = {}
    for row in rows:
        for key, limit_set in _sets(made, row).items():
            if key not in tables and key in problem.workable:
                found = _tables(made, made.cell(row.turbine), limit_set)
                together = np.logical_and.reduce([one.holds for one in found])
                known = unpack_members(problem.workable[key], problem.members, problem.total_slots)
                if together.shape == known.shape and (together == known).all():
                    tables[key] = found
    return tables


def _sets(made: Builder, row: Order) -> dict[str, LimitSet]:
    """Key of Problem.workable -> limit set, the procedure's own first, then those of its equipment."""
    air = made.weather[row.turbine.site_id].key(row.turbine)
    return {window_key(row.turbine, air, code): limit_set_of(one) for code, one in sets_of(row.procedure).items()}


def _tables(made: Builder, cell: Cell, limit_set: LimitSet) -> tuple[LimitTable, ...]:
    columns, shape = made.horizon.columns(), (cell.members, made.span.slots)
    found = []
    for limit in limit_set.limits:
        values = judged_values(cell.fields, limit, limit_set)
        good: BoolArray = np.zeros(shape, dtype=bool) if values is None else np.broadcast_to(holds(values, limit), shape)
        found.append(LimitTable(limit_name(limit), limit.op, limit.kept_value, limit_unit(limit), good[:, columns]))
    if limit_set.daylight:
        light = np.broadcast_to(cell.daylight, shape)
        found.append(LimitTable("daylight", "", float("nan"), "", light[:, columns]))
    return tuple(found)


def _steps(made: Builder, rows: list[Order], known: Container[str]) -> dict[str, tuple[LimitStep, ...]]:
    """One wind limit of a set at a time, and all of them at once where there are several."""
    tables: dict[str, tuple[LimitStep, ...]] = {}
    for row in rows:
        own = row.procedure.limit_set.code
        for key, limit_set in _sets(made, row).items():
            windy = [limit for limit in limit_set.limits if limit.variable in RAISED and limit.is_upper]
            groups = [[limit] for limit in windy] + ([windy] if len(windy) > 1 else [])
            whose = "" if limit_set.name == own else f" ({limit_set.name})"
            steps = (_step(made, made.cell(row.turbine), limit_set, one, by, whose) for one in groups for by in RAISED_BY_MPS)
            tables[key] = tuple(steps)
    return {key: steps for key, steps in tables.items() if key in known}


def _step(made: Builder, cell: Cell, limit_set: LimitSet, raised: list[Limit], by_mps: float, whose: str) -> LimitStep:
    higher = {limit: replace(limit, value=limit.kept_value + by_mps, unit=limit_unit(limit)) for limit in raised}
    other = replace(limit_set, limits=tuple(higher.get(limit, limit) for limit in limit_set.limits))
    good = workable(cell.fields, other, cell.daylight)[:, made.horizon.columns()]
    said = " and ".join(
        f"{limit_name(limit)} up to {higher[limit].value:g} instead of {limit.kept_value:g} {limit_unit(limit)}"
        for limit in raised
    )
    variable = " and ".join(limit.variable for limit in raised)
    return LimitStep(variable, said[0].upper() + said[1:] + whose, pack_members(good), by_mps)


# --- people ---------------------------------------------------------------------------------------------------------------


def _absent(made: Builder, problem: Problem) -> dict[str, dict[int, str]]:
    kinds = [kind.code for kind in CertificateKind.objects.filter(base_certificate=True)]
    shifts = {person.id: {shift.day for shift in person.shifts} for person in problem.people}
    return {
        one.name: {
            day: why
            for day in range(made.horizon.days)
            if (why := _why_absent(one, made.horizon.date_of(day), kinds, day in shifts[one.name]))
        }
        for one in made.technicians
        if one.name in shifts
    }


def _why_absent(one: Technician, local: date, kinds: list[str], has_shift: bool) -> str:
    """Away (not why: that is nobody's business here), off shift, or a certificate that does not hold that day."""
    if has_shift:
        reasons = gates.person_fit(held_by(one), local, kinds)
        return reasons[0].split(",")[0].rstrip(".") if reasons else ""
    away = [absence.last_day for absence in one.absences.all() if absence.first_day <= local <= absence.last_day]
    return f"away until {max(away)}" if away else "not on shift"
