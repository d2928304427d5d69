"""What plans of other bases take of equipment and parts that this base wants too."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime

from django.db.models import F, Q, QuerySet

from planner.models import Base, Equipment
from scheduling.builders.horizon import Horizon
from scheduling.choices import PlanState
from scheduling.models import Run, VisitJob
from workorders.choices import TO_PLAN
from workorders.models import Order


@dataclass(frozen=True)
class Taken:
    """Equipment pk -> local day -> most visits of other bases at once; part pk -> how many other bases' plans take."""

    equipment: Mapping[int, Mapping[date, int]] = field(default_factory=dict)
    parts: Mapping[int, int] = field(default_factory=dict)

    def free(self, piece: Equipment, local: date) -> int:
        """How many visits of this base the piece can serve at once on a day (whether it is there at all left aside)."""
        return piece.capacity - self.equipment.get(piece.pk, {}).get(local, 0)


@dataclass(frozen=True)
class _Use:
    base: int
    draft: bool
    thing: int
    starts_at: datetime
    ends_at: datetime
    amount: int = 1


def taken_elsewhere(base: Base, horizon: Horizon, rows: Sequence[Order], drafts: Sequence[int] = ()) -> Taken:
    """What published plans of other bases take, and those of `drafts` (plan ids) of bases that were planned just before.

    A draft will replace its base's published plan, or will not: whichever of the two takes more counts, so that this plan can
    be published before and after it. Only what procedures of `rows` name is looked for; two queries at most.
    """
    pieces = {need.equipment_id for row in rows for need in row.procedure.equipment_needs.all()}
    parts = {need.part_id for row in rows for need in row.procedure.part_needs.all()}
    jobs = _jobs(base, drafts)
    return Taken(_equipment(jobs, pieces, horizon) if pieces else {}, _parts(jobs, parts) if parts else {})


def _jobs(base: Base, drafts: Sequence[int]) -> QuerySet[VisitJob]:
    standing = Q(visit__plan__state=PlanState.PUBLISHED) | Q(visit__plan__in=list(drafts), visit__plan__state=PlanState.DRAFT)
    rows = VisitJob.objects.filter(standing, order__state__in=TO_PLAN).exclude(visit__plan__base=base).order_by()
    times = {"starts_at": F("visit__starts_at"), "ends_at": F("visit__ends_at")}
    return rows.annotate(of_base=F("visit__plan__base"), plan_state=F("visit__plan__state"), **times)


def _equipment(jobs: QuerySet[VisitJob], pieces: set[int], horizon: Horizon) -> dict[int, dict[date, int]]:
    need = "order__procedure__equipment_needs__equipment"
    within = {"visit__starts_at__lt": horizon.end, "visit__ends_at__gt": horizon.origin, f"{need}__in": pieces}
    rows = jobs.filter(**within).values_list("of_base", "plan_state", need, "starts_at", "ends_at", "visit").distinct()
    uses = [_Use(at, state == PlanState.DRAFT, piece, start, end) for at, state, piece, start, end, _ in rows]
    most: dict[int, dict[date, int]] = defaultdict(dict)
    for some in _now_and_then(uses):
        for use in some:
            day = use.starts_at.astimezone(horizon.zone).date()
            at_once = sum(o.thing == use.thing and o.starts_at <= use.starts_at < o.ends_at for o in some)
            most[use.thing][day] = max(most[use.thing].get(day, 0), at_once)
    return dict(most)


def _parts(jobs: QuerySet[VisitJob], parts: set[int]) -> dict[int, int]:
    need = "order__procedure__part_needs"
    rows = jobs.filter(**{f"{need}__part__in": parts})
    found = rows.values_list("of_base", "plan_state", f"{need}__part", f"{need}__quantity", "order").distinct()
    none = datetime.max
    uses = [_Use(at, state == PlanState.DRAFT, part, none, none, amount) for at, state, part, amount, _ in found]
    most: dict[int, int] = {}
    for some in _now_and_then(uses):
        for part in {use.thing for use in some}:
            most[part] = max(most.get(part, 0), sum(use.amount for use in some if use.thing == part))
    return most


def _now_and_then(uses: Iterable[_Use]) -> tuple[list[_Use], list[_Use]]:
    """What is published, and what would be if the drafts were."""
    every = list(uses)
    drafted = {use.base for use in every if use.draft}
    return [use for use in every if not use.draft], [use for use in every if use.draft or use.base not in drafted]


def drafts_before(run: Run) -> list[int]:
    """The drafts of the parts of its fleet that a run follows, nearest first; none for a run that was asked for alone."""
    found, at = [], run.follows_id
    while at is not None:
        row = Run.objects.filter(pk=at).values("follows", "plan", "plan__state").get()
        found += [row["plan"]] if row["plan__state"] == PlanState.DRAFT else []
        at = row["follows"]
    return found
