"""Every table of the three apps in the admin site: there, searchable, with history, as cheap for twenty rows as for one."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.apps import apps
from django.contrib import admin
from django.contrib.auth.models import User
from django.db import connection
from django.db.models import Model
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from planner import models as register
from planner.admin.base import NoAdd
from planner.admin.history import HistoryPages
from planner.admin.scope import Scoped
from scheduling import models as planning
from tests.admin_rows import MAKERS, grow, staff
from tests.farm import Farm
from workorders import models as work

APPS = ("planner", "workorders", "scheduling")
EXEMPT: dict[type[Model], str] = {}
"""model -> why it needs no page of its own."""
NOTHING_TO_FILTER = {
    register.RuleSet, register.ComponentKind, register.Skill, register.ShiftPattern, register.Part, register.ProcedurePart,
}  # fmt: skip
"""Short shared tables without a column that sets their rows apart, or found by their part or procedure."""
BULKY = {
    planning.Run: ("problem", "best", "trace"),
    planning.WeatherSet: ("data",),
    planning.Fleet: ("outcome", "problem"),
    planning.Plan: ("problem", "best", "trace", "left_out"),
    planning.PlanQuestion: ("answer", "left_out"),
    planning.Round: ("problem", "best", "trace", "about"),
    planning.Call: ("data",),
    planning.Visit: ("left_out",),
    planning.WhatIf: ("problem", "register", "tables", "best", "trace"),
}


def tables() -> list[type[Model]]:
    """Every concrete table that is not a history of another."""
    return [m for app in APPS for m in apps.get_app_config(app).get_models() if not hasattr(m, "history_id")]


def named(model: type[Model]) -> str:
    """For reading test names."""
    return model.__name__


def address(model: type[Model], page: str, *args: Any) -> str:
    """Of an admin page."""
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{page}", args=args)


def queries(client: Client, where: str) -> list[str]:
    """The SQL of a page that opens."""
    with CaptureQueriesContext(connection) as seen:
        response = client.get(where)
        assert response.status_code == 200, (where, response.status_code)
    return [query["sql"] for query in seen.captured_queries]


every = pytest.mark.parametrize("model", tables(), ids=named)


def test_there_are_tables() -> None:
    assert len(tables()) > 40
    assert set(MAKERS) == set(tables()), "tests/admin_rows.py makes rows of every table"


@every
def test_every_table_has_its_page(model: type[Model]) -> None:
    if model in EXEMPT:
        assert EXEMPT[model].strip(), "an exemption gives its reason"
        return
    page: Any = admin.site.get_model_admin(model)
    assert isinstance(page, Scoped)
    assert page.get_search_fields(None), "cannot be searched"
    assert bool(page.list_filter) != (model in NOTHING_TO_FILTER)
    assert isinstance(page, HistoryPages) == hasattr(model, "history"), "history is kept, so it is shown"


@every
def test_a_list_of_twenty_costs_as_much_as_one_of_one(model: type[Model], farm: Farm, planner_user: User) -> None:
    client = staff(planner_user)
    if model in (register.Base, register.Site):  # a planner sees those of their sites only
        User.objects.filter(pk=planner_user.pk).update(is_superuser=True)
    if not model._default_manager.exists():
        grow(farm, model, 0, 1)
    listing = address(model, "changelist")
    client.get(listing)
    before = len(queries(client, listing))
    grow(farm, model, 1, 20)
    seen = queries(client, listing)
    assert len(client.get(listing).context["cl"].result_list) >= 20
    assert len(seen) == before, "\n".join(seen)
    for column in BULKY.get(model, ()):
        assert not re.search(rf'\."{column}"', " ".join(seen)), f"{column} is loaded"
    assert client.get(listing, {"q": "zzz nowhere"}).context["cl"].result_count == 0, "looked for in vain"


@every
def test_pages_open(model: type[Model], farm: Farm, planner_user: User) -> None:
    row: Any = farm.hill if model is register.Site else grow(farm, model, 1, 1)[0]
    client = staff(planner_user)
    seen = queries(client, address(model, "change", row.pk))
    for column in BULKY.get(model, ()):
        assert not re.search(rf'\."{column}"', " ".join(seen)), f"{column} is loaded"
    services_only = type(admin.site.get_model_admin(model)).has_add_permission is NoAdd.has_add_permission
    assert client.get(address(model, "add")).status_code == (403 if services_only else 200)
    if hasattr(model, "history"):
        assert client.get(address(model, "history", row.pk)).status_code == 200
    planner_user.memberships.update(role="viewer")  # from here on they only look
    own = model is not register.Membership
    assert client.get(address(model, "change", row.pk)).status_code == (200 if own else 302)
    assert client.get(address(model, "add")).status_code == 403
    assert client.post(address(model, "change", row.pk), {"_save": "1"}).status_code == 403


INSIDE: tuple[tuple[type[Model], str], ...] = (
    (register.LimitSet, "limits"), (register.Procedure, "steps"), (register.Technician, "skills"),
    (register.Technician, "certificates"), (register.Technician, "absences"), (register.Technician, "hires"),
    (register.Equipment, "bookings"),
    (register.Part, "deliveries"), (register.Turbine, "components"), (work.Order, "holds"), (work.Order, "findings"),
    (work.Order, "results"), (work.Order, "moves"), (planning.Visit, "jobs"),
)  # fmt: skip


@pytest.mark.parametrize(("parent", "children"), INSIDE, ids=lambda one: getattr(one, "__name__", one))
def test_a_form_with_many_rows_inside_costs_no_more(parent: type[Model], children: str, farm: Farm, planner_user: User) -> None:
    relation: Any = parent._meta.get_field(children)
    child = relation.related_model
    grow(farm, child, 1, 1)
    row: Any = getattr(child._default_manager.order_by("-pk")[0], relation.field.name)
    client = staff(planner_user)
    page = address(parent, "change", row.pk)
    client.get(page)
    before = queries(client, page)
    if child is register.Limit:
        for n, quantity in enumerate(("gust", "temperature", "humidity")):
            register.Limit.objects.create(limit_set=row, quantity=quantity, value=n + 10)
    else:
        grow(farm, child, 2, 20)
    there = getattr(row, children).count()
    seen = queries(client, page)
    assert there >= 4
    assert len(seen) == len(before), "\n".join(seen)


@pytest.mark.parametrize("model", [register.HeldSkill, register.Turbine, work.Hold], ids=named)
def test_a_long_history_costs_as_much_as_a_short_one(model: type[Model], farm: Farm, planner_user: User) -> None:
    row: Any = grow(farm, model, 1, 1)[0]
    row.save()
    row.save()
    client = staff(planner_user)
    page = address(model, "history", row.pk)
    client.get(page)
    before = len(queries(client, page))
    for _ in range(20):
        row.save()
    assert len(queries(client, page)) == before
