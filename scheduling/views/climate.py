"""Climate: what past years say about the weeks of a year at one site."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.http import Http404

from planner.errors import PlannerError
from planner.models import LimitSet, Site
from planner.views.base import NO_SITE, Page, choice_reader, whole_reader
from planner.views.formats import number, share
from scheduling.drawings.climate import ClimateStrip, Week, climate_strip
from scheduling.selectors.climate import Estimate, Figures, SiteClimate, site_climate
from scheduling.weather.climate import OverYears

USUAL_STAY_MIN = 240
COUNTED = {"working": "the working day", "all": "all hours"}
EMPTY = OverYears(0, None, None, None, None, None, None)


class ClimatePage(Page):
    """One site, limit set and stay."""

    template = "scheduling/climate.html"
    title = "Climate"
    name = "climate"

    def context(self) -> dict[str, Any]:
        """The choices, and what past years say."""
        sites = list(self.caller.sites)
        sets = list(LimitSet.objects.prefetch_related("limits"))
        site = self._site(sites)
        limit_set = self.read(lambda raw: limit_set_reader(raw, sets), "limit_set", sets[0] if sets else None)
        stay = self.read(whole_reader("stay", most=24 * 60), "stay_min", USUAL_STAY_MIN)
        counted = self.read(choice_reader("hours", list(COUNTED)), "hours", "working")
        return {
            "no_site": "" if sites else NO_SITE,
            "sites": sites,
            "site": site,
            "limit_sets": sets,
            "limit_set": limit_set,
            "stay": stay,
            "counted": counted,
            "counts": COUNTED.items(),
            "found": self._found(site, limit_set, stay, counted) if site and limit_set else None,
        }

    def _site(self, sites: list[Site]) -> Site | None:
        raw = self.request.GET.get("site", "").strip()
        if not raw:
            return sites[0] if sites else None
        found = [site for site in sites if str(site.pk) == raw]
        if not found:
            raise Http404("There is no such site, or not for you.")
        return found[0]

    def _found(self, site: Site, limit_set: LimitSet, stay: int, counted: str) -> dict[str, Any] | None:
        try:
            climate = site_climate(site=site, limit_set=limit_set, stay_min=stay, all_hours=counted == "all")
        except PlannerError as error:
            self.problem = self.problem or error
            return None
        return shown_of(climate, f"{site.name}, {limit_set.name}, stay of {stay} min, {COUNTED[counted]}")


def limit_set_reader(raw: str, sets: list[LimitSet]) -> LimitSet:
    """The limit set with this id."""
    for one in sets:
        if str(one.pk) == raw:
            return one
    raise PlannerError("There is no such limit set: choose one from the list.", field="limit_set")


def shown_of(climate: SiteClimate, heading: str) -> dict[str, Any]:
    """The climate, ready to show."""
    weeks = [week for week in climate.weeks if week.number < 53 or _of(week, "workable_h").years]
    quantiles = any(_of(week, "workable_h").p50 is not None for week in weeks)
    return {
        "heading": heading,
        "notes": climate.notes,
        "shear": climate.shear,
        "years": climate.years,
        "quantiles": quantiles,
        "strip": climate_strip(strip_of(weeks, heading, quantiles)) if climate.years else "",
        "weeks": [_week_line(week, quantiles) for week in weeks] if climate.years else [],
        "months": [_month_line(month) for month in climate.months] if climate.years else [],
        "forms": _forms(climate.estimate),
    }


def strip_of(weeks: Sequence[Figures], heading: str, quantiles: bool) -> ClimateStrip:
    """The weeks to draw: quantiles where enough years are known, else mean and range."""
    drawn, before = [], ""
    for week in weeks:
        hours, month = _of(week, "workable_h"), _month(week.number)
        low, mid, high = (hours.p10, hours.p50, hours.p90) if quantiles else (hours.least, hours.mean, hours.most)
        if week.number == 53 and mid is None:
            continue  # most years have no such week: not a gap
        drawn.append(Week(week.number, low, mid, high, _of(week, "counted_h").mean, month if month != before else ""))
        before = month
    bar, mark = ("P10 to P90", "median") if quantiles else ("range of the years", "mean")
    return ClimateStrip("climate", f"Workable hours by week: {heading}", bar, mark, tuple(drawn))


def _of(figures: Figures, name: str) -> OverYears:
    return figures.over_years.get(name, EMPTY)


def _month(week: int) -> str:
    """The month of the week's Thursday, in a year that has 53 weeks."""
    return f"{date.fromisocalendar(2026, week, 4):%b}"


def _week_line(week: Figures, quantiles: bool) -> dict[str, Any]:
    hours = _of(week, "workable_h")
    spread = (hours.p10, hours.p50, hours.p90) if quantiles else (hours.least, hours.most)
    return {
        "name": f"{week.number}\u00a0({_month(week.number)})",
        "years": hours.years,
        "mean": number(hours.mean),
        "spread": [number(value) if value is not None else "too few" for value in spread],
        "counted": number(_of(week, "counted_h").mean),
        "days": share(_of(week, "workable_days").mean),
        "wait": number(_of(week, "wait_h").mean, digits=1),
        "lost": number(_of(week, "lost_mwh_h").mean, digits=2),
        "lost_any": number(_of(week, "lost_any_mwh_h").mean, digits=2),
    }


def _month_line(month: Figures) -> dict[str, Any]:
    waits = _of(month, "wait_h")
    return {
        "name": f"{date(2026, month.number, 1):%B}",
        "years": waits.years,
        "wait": number(waits.mean, "h", 1),
        "wait_p90": number(_of(month, "wait_p90_h").mean, "h", 1),
        "nights": number(_of(month, "wait_always_good_h").mean, "h", 1),
        "fits": share(_of(month, "fits").mean),
    }


def _forms(estimate: Estimate | None) -> list[tuple[str, str]]:
    if estimate is None:
        return []
    return [
        ("Limits held", f"{share(estimate.share)} of {number(estimate.known_h, 'h')} known, round the clock"),
        ("Mean calm, mean storm", f"{number(estimate.mean_calm_h, 'h', 1)}, {number(estimate.mean_storm_h, 'h', 1)}"),
        ("Wait, counted", number(estimate.wait_counted_h, "h", 1)),
        ("Wait, exponential calms and storms", number(estimate.wait_exponential_h, "h", 1)),
        ("Wait, Markov chain of one step", number(estimate.wait_markov_h, "h", 1)),
    ]
