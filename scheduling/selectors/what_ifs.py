"""What-ifs of a base, with joins done and without what fills megabytes."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from planner.models import Site
from scheduling.models import Run, WhatIf
from scheduling.selectors.plans import BULKY as OF_A_RUN

BULKY = ("problem", "register", "forecasts", "tables")
"""Fields of up to some megabytes that no list shows."""


def what_if_list(*, sites: Iterable[Site]) -> QuerySet[WhatIf]:
    """What-ifs of the bases all of whose sites are among these, newest first, each with the run that answers it and its plan."""
    own = {site.pk: site.base_id for site in sites}
    rows = WhatIf.objects.filter(base__in=set(own.values())).exclude(base__in=Site.objects.exclude(pk__in=own).values("base"))
    rows = rows.select_related("base", "by", "result__plan")
    bulk = (*BULKY, *(f"result__{name}" for name in OF_A_RUN), "result__plan__left_out", "result__plan__parts")
    return rows.defer(*bulk).order_by("-created_at", "-pk")


def what_if_run(what_if: WhatIf) -> Run | None:
    """Its newest run, whatever became of it."""
    return what_if.runs.defer(*OF_A_RUN).order_by("-asked_at", "-pk").first()
