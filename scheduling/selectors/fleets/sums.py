"""How a fleet's parts stand, and their sums as far as they are."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from django.db.models import Count, F, IntegerField, OuterRef, QuerySet, Subquery
from django.db.models.expressions import Func
from django.db.models.functions import Coalesce

from planner.models import Site
from scheduling.choices import OPEN, USABLE, RunState
from scheduling.models import Fleet, Plan, Run, VisitJob
from scheduling.selectors.plans import BULKY


class ListLength(Func):
    """How many items a JSON list has, counted by the database."""

    function = "json_array_length"
    output_field = IntegerField()

    def as_postgresql(self, compiler: Any, connection: Any, **more: Any) -> Any:
        """PostgreSQL keeps JSON in its binary form, which has a function of its own."""
        return self.as_sql(compiler, connection, function="jsonb_array_length", **more)


@dataclass(frozen=True)
class PartRow:
    """One part: its run, and counts of orders planned and left out, None until there is a plan."""

    run: Run
    currency: str
    planned: int | None
    left_out: int | None

    @property
    def failed(self) -> bool:
        """Whether it failed, cannot be solved or lost its worker. Nothing to plan is no failure, nor is being stopped."""
        return not self.run.is_open and self.run.state not in USABLE

    @property
    def without_plan(self) -> bool:
        """Whether it ended with no plan, for whatever cause."""
        return not self.run.is_open and self.planned is None


@dataclass(frozen=True)
class MoneySum:
    """The parts of one currency that have a plan: how many, what their plans cost, and the proven least."""

    currency: str
    parts: int
    value: float
    bound: float | None
    gap: float | None


@dataclass(frozen=True)
class Sums:
    """All parts together. `states` counts runs by state; values of different currencies are never added."""

    parts: int
    states: dict[str, int]
    planned: int
    left_out: int
    failed: int
    without_plan: int
    money: tuple[MoneySum, ...]

    @property
    def ended(self) -> int:
        """Parts that are over."""
        return self.parts - sum(self.states.get(state, 0) for state in OPEN)

    def to_json(self) -> dict[str, Any]:
        """As stored with the fleet."""
        return {**asdict(self), "money": [asdict(one) for one in self.money], "ended": self.ended}


def fleet_parts(fleet: Fleet) -> list[PartRow]:
    """The parts by base, with what of their plans can be counted; two queries whatever their number."""
    runs = _runs(fleet)
    currencies: dict[int, list[str]] = defaultdict(list)
    for base, currency in Site.objects.filter(base__runs__fleet=fleet).order_by("code").values_list("base", "currency"):
        currencies[base].append(currency)
    return [
        PartRow(run, "/".join(dict.fromkeys(currencies[run.base_id])), run.planned, run.plan_left_out)  # type: ignore[attr-defined]
        for run in runs
    ]


def _runs(fleet: Fleet) -> QuerySet[Run]:
    jobs = VisitJob.objects.filter(visit__plan=OuterRef("pk")).order_by().values("visit__plan")
    planned = jobs.annotate(many=Count("order", distinct=True)).values("many")
    plan = Plan.objects.filter(run=OuterRef("pk"))
    runs = Run.objects.filter(fleet=fleet).select_related("base", "plan", "follows__base")
    bulk = (*BULKY, *(f"follows__{name}" for name in BULKY), "plan__left_out", "plan__parts")
    return (
        runs.defer(*bulk)
        .annotate(
            planned=Subquery(plan.annotate(planned=Coalesce(Subquery(planned), 0)).values("planned")),
            plan_left_out=Subquery(plan.annotate(many=ListLength(F("left_out"))).values("many")),
        )
        .order_by("base__name", "pk")
    )


def sums_of(parts: Iterable[PartRow]) -> Sums:
    """Counts and sums of parts."""
    rows = list(parts)
    return Sums(
        parts=len(rows),
        states={str(state): count for state, count in sorted(Counter(row.run.state for row in rows).items())},
        planned=sum(row.planned or 0 for row in rows),
        left_out=sum(row.left_out or 0 for row in rows),
        failed=sum(row.failed for row in rows),
        without_plan=sum(row.without_plan for row in rows),
        money=tuple(_money(rows)),
    )


def _money(rows: list[PartRow]) -> Iterable[MoneySum]:
    """One sum a currency over parts with a value. Its bound is the sum of theirs: known once each of them has one.

    Where parts follow one another the later's bound holds for what the earlier left, so no sum of them is proven: None.
    """
    valued: dict[str, list[Run]] = defaultdict(list)
    for row in rows:
        if row.run.value is not None and row.run.state != RunState.INFEASIBLE:
            valued[row.currency].append(row.run)
    for currency, runs in sorted(valued.items()):
        value = sum(run.value or 0.0 for run in runs)
        proven = all(run.bound is not None and run.follows_id is None for run in runs)
        bound = sum(run.bound or 0.0 for run in runs) if proven else None
        gap = None if bound is None else max(0.0, (value - bound) / abs(value)) if value else 0.0
        yield MoneySum(currency, len(runs), round(value, 2), bound if bound is None else round(bound, 2), gap)
