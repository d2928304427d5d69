"""To whom each row of weather and planning belongs. Sites that share a base are planned together, so a run, plan or round
is the base's; its visits and items are each site's own. A what-if names orders and turbines of all of them in one list, so it is
for members of every site of its base; a fleet tells the money of all its bases, so it is for members of every site of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Model, Q

from planner.models import Site
from planner.selectors.caller import Caller
from planner.selectors.ownership import OfBase, OfSite, OfWholeBase, scope_set
from scheduling.models import (
    Call,
    ErrorFit,
    Fleet,
    FrozenDay,
    Lock,
    Plan,
    PlanQuestion,
    Round,
    RoundItem,
    Run,
    StayCall,
    TurbineWind,
    Visit,
    VisitJob,
    WeatherFeed,
    WeatherSet,
    WhatIf,
)


@dataclass(frozen=True)
class OfParts(OfBase):
    """Fleets: seen by whoever is a member of every site of every part, changed by whoever plans them all."""

    def seen(self, caller: Caller) -> Q:
        """Fleets with a part, and none at a site of others."""
        elsewhere = Site.objects.exclude(pk__in=caller.sites.values("pk")).values("base")
        parts = Run.objects.filter(fleet__isnull=False)
        return Q(pk__in=parts.values("fleet")) & ~Q(pk__in=parts.filter(base__in=elsewhere).values("fleet"))

    def written(self, row: Model, caller: Caller, wanted: Iterable[str]) -> bool:
        """The role at every site of every part."""
        sites = Site.objects.filter(base__runs__fleet=row.pk).values_list("pk", flat=True)
        return all(caller.has_at(site, wanted) for site in sites)


scope_set(OfParts("parts__base"), Fleet)
scope_set(OfSite("site"), WeatherFeed, WeatherSet, StayCall, ErrorFit)
scope_set(OfBase("base"), Run, Plan, Round, FrozenDay)
scope_set(OfWholeBase("base"), WhatIf)
scope_set(OfWholeBase("plan__base"), PlanQuestion)
scope_set(OfSite("turbine__site"), Visit, RoundItem, TurbineWind)
scope_set(OfSite("visit__turbine__site"), VisitJob, Call)
scope_set(OfSite("order__turbine__site"), Lock)
