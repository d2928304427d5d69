"""Beginning a fleet: its row, and a queued run for each base, whose problem a worker will build."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.models import Base
from scheduling.choices import OPEN, RunKind
from scheduling.fleet.groups import Group, groups
from scheduling.models import Fleet, Run
from scheduling.selectors.fleets import bases_planned, wanted_by
from scheduling.services.runs.create import days_check, limits_of

NAMED = 5
"""Bases named in one sentence; the rest are counted."""


def fleet_create(
    *,
    bases: Sequence[Base] | None = None,
    first_day: date,
    days: int,
    by: User | None,
    seed: int = 1,
    params: dict[str, Any] | None = None,
) -> Fleet:
    """A fleet over these bases, or over every base that `by` plans (None: a command, which plans all).

    Each base gets an ordinary run; its problem is built and frozen by the worker that takes it up, so that three hundred of them
    are not built one after the other while somebody waits. Bases that may want more of something than there is follow one
    another (Run.follows); all others are solved apart. `params` as in run_create, for every part. Raises PlannerError naming
    the field, NotAllowedError naming a base that is not the user's, and ConflictError naming bases with an open run: then
    nothing is begun. Queuing is the business of scheduling.tasks.fleet_ask.
    """
    days_check(RunKind.FORTNIGHT, days)
    limits = limits_of(params, seed)
    chosen = _chosen(bases, by)
    _refuse_open(chosen)
    found = groups([base.name for base in chosen], wanted_by(chosen, first_day + timedelta(days=days - 1)))
    with transaction.atomic():
        # The rows of the bases are the locks, always taken in one order: whoever asks at once is answered after us.
        list(Base.objects.select_for_update().filter(pk__in=[base.pk for base in chosen]).order_by("pk").values_list("pk"))
        _refuse_open(chosen)
        joined_by = [{"bases": list(one.bases), "by": list(one.joined_by)} for one in found if one.joined_by]
        fleet = Fleet.objects.create(first_day=first_day, days=days, seed=seed, params=limits, joined_by=joined_by, asked_by=by)
        _begin(fleet, found, {base.name: base for base in chosen})
    return fleet


def _chosen(bases: Sequence[Base] | None, by: User | None) -> list[Base]:
    planned = list(bases_planned(by))
    if bases is None:
        if not planned:
            raise PlannerError("There is no base whose every site you plan: ask for the planner's role there.", field="bases")
        return planned
    if not bases:
        raise PlannerError("bases is empty: name at least one base, or leave it out for all you plan.", field="bases")
    own = {base.pk for base in planned}
    strange = [base for base in bases if base.pk not in own]
    if strange:
        raise NotAllowedError(
            f"You do not plan every site of {_named(strange)} (or it has none): leave it out, or ask for the planner's role.",
            field="bases",
        )
    return sorted({base.pk: base for base in bases}.values(), key=lambda base: base.name)


def _refuse_open(chosen: Sequence[Base]) -> None:
    rows = Run.objects.filter(base__in=chosen, kind=RunKind.FORTNIGHT, state__in=OPEN, what_if=None)
    busy = list(rows.select_related("base").only("pk", "base__name").order_by("base__name"))
    if busy:
        raise ConflictError(
            f"A fortnight is being solved for {_named([run.base for run in busy])} already: wait, stop it, or leave it out.",
            extra={"runs": [run.pk for run in busy]},
        )


def _named(bases: Sequence[Base]) -> str:
    names = ", ".join(base.name for base in bases[:NAMED])
    return names if len(bases) <= NAMED else f"{names} and {len(bases) - NAMED} more"


def _begin(fleet: Fleet, found: Sequence[Group], bases: dict[str, Base]) -> None:
    """A run for each base; first the first of every group, then the second ones, each following the one before it."""
    before: dict[int, Run] = {}
    for place in range(max(len(one.bases) for one in found)):
        turns = [number for number, one in enumerate(found) if place < len(one.bases)]
        made = Run.objects.bulk_create(_part(fleet, bases[found[number].bases[place]], before.get(number)) for number in turns)
        before = dict(zip(turns, made, strict=True))


def _part(fleet: Fleet, base: Base, follows: Run | None) -> Run:
    return Run(
        base=base,
        kind=RunKind.FORTNIGHT,
        first_day=fleet.first_day,
        days=fleet.days,
        problem=None,
        params=fleet.params,
        seed=fleet.seed,
        fleet=fleet,
        follows=follows,
        asked_by_id=fleet.asked_by_id,
    )
