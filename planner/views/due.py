"""Due: what falls due where, in which state, and what a lapse stops."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.urls import reverse

from planner import due as core
from planner.clock import now_utc, today_at
from planner.errors import PlannerError
from planner.models import Site
from planner.rest.caller import LEADS
from planner.selectors.due import DueItem, due_list, gates_shut
from planner.views.base import NO_SITE, Page, choice_reader, whole_reader
from planner.views.formats import weekday
from planner.views.marks import mark

PAGE_SIZE = 100


@dataclass(frozen=True)
class Line:
    """One row of the table, ready to show."""

    mark: dict[str, str]
    site: str
    turbine: str
    work: str
    part: str
    days: str
    last: str
    opens: str
    due: str
    closes: str
    stops: str
    reason: str
    statutory: bool


class DuePage(Page):
    """Everything due at the caller's sites, filtered by site and state."""

    template = "planner/due.html"
    title = "Due work"
    name = "due"

    def context(self) -> dict[str, Any]:
        """The page of lines, the filters, the counts by state and the shut gates."""
        sites = list(self.caller.sites)
        site = self.read(lambda raw: site_reader(raw, sites), "site")
        state = self.read(choice_reader("state", list(core.STATES)), "state", "")
        number = self.read(whole_reader("page", most=10_000), "page", 1)
        chosen = [site] if site else sites
        now = now_utc()
        items = due_list(sites=chosen, now=now) if chosen else []
        shown = [item for item in items if item.due.state == state] if state else items
        labels = {item.due.key: item.interval.code for item in items}
        page = Paginator(shown, PAGE_SIZE).get_page(number)
        return {
            "no_site": "" if sites else NO_SITE,
            "sites": sites,
            "site": site,
            "state": state,
            "counts": _counts(items),
            "total": len(items),
            "page": page,
            "lines": [line_of(item, labels) for item in page.object_list],
            "shut": shut_lines(items, {one.pk: today_at(one.zone, now) for one in chosen}),
            "days": [f"{one.code} {weekday(today_at(one.zone, now))}" for one in chosen],
            "raise_sites": [one for one in chosen if self.caller.has_at(one.pk, LEADS)],
            "query": f"site={site.pk if site else ''}&state={state}",
            "address": reverse("due"),
        }


def site_reader(raw: str, sites: list[Site]) -> Site:
    """The site with this id among the caller's; the same sentence for one of others and one that is not there."""
    for site in sites:
        if str(site.pk) == raw:
            return site
    raise PlannerError("That is no site of yours: choose one from the list.", field="site")


def line_of(item: DueItem, labels: dict[core.Key, str]) -> Line:
    """A due item as a row."""
    due = item.due
    absorbed = f" Done with {labels.get(due.absorbed_by, 'a larger service')}." if due.absorbed_by is not None else ""
    return Line(
        mark=mark(due.state),
        site=item.turbine.site.code,
        turbine=item.turbine.code,
        work=item.interval.procedure.name,
        part=str(item.component) if item.component else "",
        days=f"{due.days_over} d over" if due.days_over else "",
        last=weekday(due.last_done) if due.last_done else "never",
        opens=weekday(due.opens),
        due=weekday(due.due) + (" (estimated)" if due.projected else ""),
        closes=weekday(due.closes),
        stops=_stops(due),
        reason=due.reason + absorbed,
        statutory=due.statutory,
    )


def shut_lines(items: list[DueItem], today: dict[int, date]) -> list[dict[str, str]]:
    """Turbine, gate and sentence for every gate shut on its site's own day."""
    found = []
    for site_id, day in today.items():
        own = [item for item in items if item.turbine.site_id == site_id]
        names = {item.turbine.pk: str(item.turbine) for item in own}
        for turbine, gates in gates_shut(own, day).items():
            found += [{"turbine": names[turbine], "gate": gate, "reason": reason} for gate, reason in gates.items()]
    return found


def _counts(items: list[DueItem]) -> list[dict[str, Any]]:
    counted = Counter(item.due.state for item in items)
    return [{"mark": mark(state), "count": counted[state]} for state in reversed(core.STATES)]


def _stops(due: core.Due) -> str:
    if due.stops:
        return "stops " + ", ".join(sorted(due.stops))
    return "a lapse stops " + ", ".join(sorted(due.can_stop)) if due.can_stop else ""
