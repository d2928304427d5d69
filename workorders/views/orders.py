"""Orders: the list with its filters, and raising one by hand."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.paginator import Paginator
from django.db.models import Q, QuerySet
from django.urls import reverse

from planner.errors import PlannerError
from planner.models import Procedure, Turbine
from planner.rest.caller import LEADS
from planner.views.base import NO_SITE, Page, choice_reader, whole_reader
from planner.views.due import site_reader
from planner.views.formats import hours, weekday
from planner.views.forms import day_in, words_in
from planner.views.marks import mark
from workorders.choices import CLOSED, State
from workorders.models import Order
from workorders.selectors.orders import order_list_for
from workorders.services.orders import order_raise_by_hand

PAGE_SIZE = 50
OPEN, ALL = "not closed", "all"
SHOWN = [OPEN, *State.values, ALL]


class OrdersPage(Page):
    """Orders of the caller's sites. Equal dates stand by number, so a row is on one page only."""

    template = "workorders/orders.html"
    title = "Orders"
    name = "orders"
    actions: ClassVar[dict[str, str]] = {"raise": "raise_by_hand"}

    def context(self) -> dict[str, Any]:
        """The page of orders with the filters."""
        sites = list(self.caller.sites)
        site = self.read(lambda raw: site_reader(raw, sites), "site")
        state = self.read(choice_reader("state", SHOWN), "state", OPEN)
        words = self.request.GET.get("q", "").replace("\x00", "").strip()[:40]
        number = self.read(whole_reader("page", most=10_000), "page", 1)
        orders = order_list_for(sites=[site] if site else sites)
        page = Paginator(_found(orders, state, words).order_by("due_on", "number", "pk"), PAGE_SIZE).get_page(number)
        raisers = [one.pk for one in sites if self.caller.has_at(one.pk, LEADS)]
        return {
            "no_site": "" if sites else NO_SITE,
            "sites": sites,
            "site": site,
            "state": state,
            "states": SHOWN,
            "words": words,
            "page": page,
            "lines": [_line(order) for order in page.object_list],
            "any": bool(page.paginator.count) or orders.exists(),
            "query": f"site={site.pk if site else ''}&state={state}&q={words}",
            "turbines": Turbine.objects.filter(site__in=raisers).select_related("site") if raisers else [],
            "procedures": Procedure.objects.all() if raisers else [],
            "typed": self.request.POST,
        }

    def raise_by_hand(self) -> str:
        """A new order from the form."""
        form = self.request.POST
        turbine = Turbine.objects.filter(pk=_id(form.get("turbine", "")), site__in=self.caller.sites).first()
        if turbine is None:
            raise PlannerError("Turbine: choose one of the list.", field="turbine")
        procedure = Procedure.objects.filter(pk=_id(form.get("procedure", ""))).first()
        if procedure is None:
            raise PlannerError("Procedure: choose one of the list.", field="procedure")
        order = order_raise_by_hand(
            turbine=turbine,
            procedure=procedure,
            due_on=day_in(form, "due_on", "Due on"),
            by=self.user,
            note=words_in(form, "note", "Note"),
        )
        self.done(f"Order {order.number} is raised.")
        return reverse("order", args=[order.pk])


def _found(orders: QuerySet[Order], state: str, words: str) -> QuerySet[Order]:
    if state == OPEN:
        orders = orders.exclude(state__in=CLOSED)
    elif state != ALL:
        orders = orders.filter(state=state)
    if words:
        named = Q(number__icontains=words) | Q(turbine__code__icontains=words) | Q(procedure__name__icontains=words)
        orders = orders.filter(named)
    return orders


def _line(order: Any) -> dict[str, Any]:
    return {
        "pk": order.pk,
        "number": order.number,
        "mark": mark(order.state),
        "turbine": order.turbine.code,
        "site": order.turbine.site.code,
        "work": order.procedure.name,
        "part": str(order.component) if order.component else "",
        "klass": order.get_klass_display(),
        "due": weekday(order.due_on),
        "closes": weekday(order.closes_on) if order.closes_on else "",
        "left": hours(order.effort_left_h),
        "held": bool(order.open_holds),
    }


def _id(raw: str) -> int:
    return int(raw) if raw.isascii() and raw.isdigit() and len(raw) < 19 else 0
