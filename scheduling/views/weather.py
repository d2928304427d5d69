"""Weather: whether it still comes, what the newest forecast changed, and how often yesterday's calls were right."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any, ClassVar

from django.urls import reverse

from planner.clock import now_utc, today_at
from planner.errors import PlannerError
from planner.models import Site
from planner.rest.caller import PLANNERS
from planner.views.base import NO_SITE, Page, whole_reader
from planner.views.due import site_reader
from planner.views.formats import weekday
from planner.views.forms import day_in
from scheduling.selectors.feeds import feed_states
from scheduling.selectors.forecast_error import error_model_of
from scheduling.selectors.stay_calls import MOST_LEAD_DAY, calls_ended, forecasts_latest, skill_of, stays_told
from scheduling.views.bringing import bring, brought
from scheduling.views.change_lines import change_lines, forecast_lines
from scheduling.views.feed_lines import alarm_line, feed_line
from scheduling.views.skill_lines import ended_lines, skill_lines, wind_lines


class WeatherPage(Page):
    """One site's weather. ?day= is the day of the strips, ?lead= a lead day of the calls."""

    template = "scheduling/weather.html"
    title = "Weather"
    name = "weather"
    actions: ClassVar[dict[str, str]] = {"bring": "bring"}

    def context(self) -> dict[str, Any]:
        """The chosen site's, or the sentence for somebody without one."""
        sites = list(self.caller.sites)
        if not sites:
            return {"no_site": NO_SITE, "sites": []}
        site = self._posted(sites) or self.read(lambda raw: site_reader(raw, sites), "site", sites[0])
        return {"no_site": "", "sites": sites, "site": site, **self._of_site(site, now_utc())}

    def bring(self) -> str:
        """Take the next file of a feed in."""
        site = self._posted(list(self.caller.sites))
        if site is None:
            raise PlannerError("That site is not there, or not for you: load the page again.", field="site")
        done = bring(user=self.user, site=site, form=self.request.POST, files=self.request.FILES)
        self.done(brought(done))
        return f"{reverse(self.name)}?site={site.pk}"

    def _posted(self, sites: list[Site]) -> Site | None:
        return next((one for one in sites if str(one.pk) == self.request.POST.get("site")), None)

    def _of_site(self, site: Site, now: datetime) -> dict[str, Any]:
        visits = list(stays_told(site=site, after=now))
        day = self.read(_day, "day", visits[0].day if visits else today_at(site.zone, now))
        lead_day = self.read(whole_reader("lead day", most=MOST_LEAD_DAY), "lead")
        forecasts = forecasts_latest(site=site, at=now)
        feeds = feed_states(sites=[site], now=now)
        return {
            "now": weekday(today_at(site.zone, now)),
            "day_value": day.isoformat(),
            "lead_day": lead_day,
            "may_bring": bool(feeds) and self.caller.has_at(site.pk, PLANNERS),
            "feeds": [feed_line(one) for one in feeds],
            "alarms": [alarm_line(one) for one in feeds if one.alarm],
            "forecasts": forecast_lines(site, forecasts, day, visits, now),
            "changes": change_lines(site, forecasts, visits, now),
            "wind": wind_lines(error_model_of(site, now)),
            "skill": skill_lines(skill_of(site=site, now=now, lead_day=lead_day)),
            "ended": ended_lines(calls_ended(site=site, now=now), site),
        }


def _day(raw: str) -> date:
    return day_in({"day": raw}, "day", "Day")
