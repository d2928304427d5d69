"""To whom each row of weather and planning belongs. Sites that share a base are planned together, so a run, plan or round
is the base's; its visits and items are each site's own. A what-if names orders and turbines of all of them in one list, so it is
for members of every site of its base."""

from __future__ import annotations

from planner.selectors.ownership import OfBase, OfSite, OfWholeBase, scope_set
from scheduling.models import (
    Call,
    ErrorFit,
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

scope_set(OfSite("site"), WeatherFeed, WeatherSet, StayCall, ErrorFit)
scope_set(OfBase("base"), Run, Plan, Round, FrozenDay)
scope_set(OfWholeBase("base"), WhatIf)
scope_set(OfWholeBase("plan__base"), PlanQuestion)
scope_set(OfSite("turbine__site"), Visit, RoundItem, TurbineWind)
scope_set(OfSite("visit__turbine__site"), VisitJob, Call)
scope_set(OfSite("order__turbine__site"), Lock)
