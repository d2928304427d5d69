"""Today: who may go up, where, until when; who is where; what is overdue and what it stops."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any, ClassVar

from django.db.models import Q
from django.urls import reverse

from planner.clock import now_utc, today_at
from planner.errors import PlannerError
from planner.models import Absence, Base, Site, Technician
from planner.rest.caller import LEADS
from planner.selectors.due import due_list
from planner.views.due import line_of, shut_lines
from planner.views.formats import clock, weekday
from planner.views.forms import day_in, day_or_none
from scheduling.models import Plan, Visit
from scheduling.selectors.feeds import feed_alarms
from scheduling.selectors.plans import plan_current
from scheduling.services.dispatch import morning
from scheduling.services.told import visits_tell
from scheduling.views.call_lines import call_line
from scheduling.views.feed_lines import alarm_line
from scheduling.views.mending import Mending
from scheduling.views.plan_lines import own_visits
from scheduling.views.weather_lines import forecast_line


class TodayPage(Mending):
    """One base's morning. ?day= shows another day."""

    template = "scheduling/today.html"
    title = "Today"
    name = "today"
    actions: ClassVar[dict[str, str]] = {**Mending.mend_actions, "say": "say", "tell": "tell"}

    def base_context(self, base: Base) -> dict[str, Any]:
        """The calls from the published plan and the newest forecast, people and lapses."""
        now = now_utc()
        today = today_at(base.zone, now)
        day = self.read(_day, "day", today)
        sites = self.sites_of(base)
        plan = plan_current(base=base, day=day)
        visits = [visit for visit in own_visits(plan, sites) if visit.day == day] if plan else []
        items = due_list(sites=sites, now=now)
        calls, trouble = self._calls(base, day, now, visits)
        return {
            **self.mend_context(base),
            "day": weekday(day),
            "day_value": day.isoformat(),
            "is_today": day == today,
            "now": clock(now, base.zone),
            "plan": plan,
            "calls": calls,
            "trouble": trouble,
            "forecasts": [forecast_line(site, day, _at(visits, site), now) for site in sites],
            "feed_alarms": [alarm_line(one) for one in feed_alarms(sites=sites, now=now)],
            "people": people_lines(base, day, visits, _elsewhere(plan, day, sites)),
            "overdue": [line_of(item, {}) for item in items if item.due.state == "overdue"],
            "shut": shut_lines(items, {site.pk: day for site in sites}),
            "emergency": [(site.name, site.emergency) for site in sites if site.emergency],
            "may_say": bool(calls) and all(self.caller.has_at(site.pk, LEADS) for site in sites),
        }

    def say(self) -> str:
        """Keep the morning's calls as they are said now."""
        base = self.posted_base()
        day = day_or_none(self.request.POST, "day", "Day") or today_at(base.zone)
        said = morning(base=base, day=day, by=self.user, record=True, sites=self.sites_of(base))
        self.done(f"{len(said)} call{'' if len(said) == 1 else 's'} of {weekday(day)} kept.")
        return f"{reverse('today')}?base={base.pk}&day={day}"

    def tell(self) -> str:
        """The day's teams were told: changing their visits costs the next plan more."""
        base = self.posted_base()
        day = day_or_none(self.request.POST, "day", "Day") or today_at(base.zone)
        plan = plan_current(base=base, day=day)
        if plan is None:
            raise PlannerError(f"No plan is published for {day} at {base}: solve and publish a fortnight first.", field="day")
        count = visits_tell(plan=plan, day=day, by=self.user)
        self.done(f"{count} visit{'' if count == 1 else 's'} of {weekday(day)} marked as told.")
        return f"{reverse('today')}?base={base.pk}&day={day}"

    def _calls(self, base: Base, day: date, now: datetime, visits: Sequence[Visit]) -> tuple[list[dict[str, Any]], str]:
        """The caller's own calls; where the morning cannot be worked out, the sentence that says why."""
        if not visits:
            return [], ""
        own = {visit.pk for visit in visits}
        try:
            calls = morning(base=base, day=day, now=now, record=False, sites=self.sites_of(base))
        except PlannerError as error:
            return [], error.message
        return [call_line(call, base.zone) for call in calls if call.visit.pk in own], ""


def people_lines(base: Base, day: date, visits: Sequence[Visit], elsewhere: set[int]) -> list[dict[str, str]]:
    """Where everybody of the base is on a day: at a turbine, at another's site, away, not on shift, or at the base."""
    away = Absence.objects.filter(first_day__lte=day, last_day__gte=day)
    absent = {absence.technician_id: absence for absence in away.filter(technician__base=base)}
    out = {person: ["at a site that is not yours"] for person in elsewhere}
    for visit in visits:
        told = f"{visit.turbine.code} from {clock(visit.starts_at, base.zone)}, down by {clock(visit.down_by, base.zone)}"
        for person in visit.people.all():
            out.setdefault(person.pk, []).append(told)
    people = Technician.objects.filter(Q(base=base, active=True) | Q(pk__in=out)).select_related("shift_pattern")
    people = people.prefetch_related("hires", "on_calls")
    return [{"name": person.name, "where": _where(person, day, absent, out)} for person in people.distinct()]


def _where(person: Technician, day: date, absent: dict[int, Absence], out: dict[int, list[str]]) -> str:
    if person.pk in out:
        return "; ".join(out[person.pk])
    if person.pk in absent:
        absence = absent[person.pk]
        return f"away until {weekday(absence.last_day)}" + (f" ({absence.reason})" if absence.reason else "")
    if person.contractor and not any(hire.first_day <= day <= hire.last_day for hire in person.hires.all()):
        return "not hired for this day"
    called = any(duty.first_day <= day <= duty.last_day for duty in person.on_calls.all())
    on_call = ", on call in the night" if called else ""
    if day.isoweekday() not in person.shift_pattern.weekdays:
        return f"not on shift{on_call}"
    return f"on shift, no visit planned{on_call}"


def _elsewhere(plan: Plan | None, day: date, sites: Sequence[Site]) -> set[int]:
    """People whom the plan sends to other sites than these."""
    if plan is None:
        return set()
    others = plan.visits.filter(day=day).exclude(turbine__site__in=sites)
    return {person for person in others.values_list("people", flat=True) if person is not None}


def _at(visits: Sequence[Visit], site: Site) -> list[Visit]:
    return [visit for visit in visits if visit.turbine.site_id == site.pk]


def _day(raw: str) -> date:
    return day_in({"day": raw}, "day", "Day")
