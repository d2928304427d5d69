"""Staff see and change the rows of their own sites, whichever way they ask."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db.models import Model
from django.urls import reverse

from planner.models import (
    Absence,
    Certificate,
    Closure,
    Component,
    ComponentKind,
    CounterReading,
    Membership,
    Part,
    ShiftPattern,
    Site,
    Skill,
    Technician,
    Turbine,
    WorkDone,
)
from tests.admin_forms import address, complaints, filled, said, send
from tests.admin_rows import grow, root, staff
from tests.farm import Farm, build_user
from tests.page_rows import words_of

PRIVATE = (Turbine, Component, CounterReading, WorkDone, Technician, Certificate, Absence, Closure)


@pytest.mark.parametrize("model", PRIVATE, ids=lambda one: one.__name__)
def test_a_stranger_finds_nothing_of_hill(model: type[Model], farm: Farm, stranger: User, planner_user: User) -> None:
    client, row = staff(stranger), grow(farm, model, 1, 1)[0]
    assert str(row.pk) not in {str(one.pk) for one in client.get(address(model, "changelist")).context["cl"].result_list}
    for page in ("change", "delete"):
        theirs, nowhere = (client.get(address(model, page, pk)) for pk in (row.pk, 999_999))
        assert theirs.status_code == nowhere.status_code, "as for a row that is not there"
        assert theirs.status_code in (302, 403)
    assert client.get(address(model, "history", row.pk)).status_code == 404
    client.post(address(model, "delete", row.pk), {"post": "yes"})
    assert model._default_manager.filter(pk=row.pk).exists()


def test_the_planner_of_hill_does_find_it(farm: Farm, planner_user: User) -> None:
    codes = [row.code for row in staff(planner_user).get(address(Turbine, "changelist")).context["cl"].result_list]
    assert codes == ["H1", "H2", "H3"]


def test_choices_of_a_form_are_ones_own(farm: Farm, stranger: User) -> None:
    form = staff(stranger).get(address(Turbine, "add")).context["adminform"].form
    assert list(form.fields["site"].queryset) == [farm.plain]


def test_another_sites_row_is_answered_as_one_that_is_not_there(farm: Farm, stranger: User) -> None:
    client = staff(stranger)
    good = {"counter": "cycles", "read_on": "2026-06-01", "value": "1"}
    theirs, nowhere = (
        complaints(send(client, address(CounterReading, "add"), turbine=pk, **good)) for pk in (farm.h1.pk, 999_999)
    )
    assert theirs == nowhere == {"turbine": ["There is no such turbine, or it is not for you: choose one you can see."]}


def test_words_typed_into_a_choice_find_ones_own_rows(farm: Farm, stranger: User, planner_user: User) -> None:
    ask = {"app_label": "planner", "model_name": "counterreading", "field_name": "turbine", "term": "1"}
    found = [staff(user).get(reverse("admin:autocomplete"), ask).json()["results"] for user in (stranger, planner_user)]
    assert [[one["text"] for one in results] for results in found] == [["P1 at Plainfield"], ["H1 at Hillside"]]


def test_filters_name_and_find_ones_own_rows(farm: Farm, stranger: User) -> None:
    build_user("both", "viewer", farm.hill)
    Membership.objects.create(user=User.objects.get(username="both"), site=farm.plain, role="viewer")
    client = staff(stranger)
    assert "Hillside" not in words_of(client.get(address(Turbine, "changelist")))
    assert "Hillside" in words_of(staff(User.objects.get(username="both")).get(address(Turbine, "changelist")))
    for pk in (farm.hill.pk, 999_999):
        page = client.get(address(Turbine, "changelist"), {"site__id__exact": pk})
        assert page.context["cl"].result_count == 0


@pytest.mark.parametrize(
    ("model", "lookup"),
    [
        (Membership, "user__password__startswith"),
        (Technician, "user__password__startswith"),
        (Turbine, "site__memberships__user__password__startswith"),
        (Turbine, "site__emergency__startswith"),
    ],
)
def test_hidden_fields_cannot_be_asked_for(model: type[Model], lookup: str, farm: Farm, planner_user: User) -> None:
    assert staff(planner_user).get(address(model, "changelist"), {lookup: "m"}).status_code == 400


def test_a_viewer_looks_and_changes_nothing(farm: Farm, viewer_user: User) -> None:
    client = staff(viewer_user)
    page = client.get(address(Turbine, "change", farm.h1.pk))
    assert page.status_code == 200
    assert "_save" not in page.content.decode()
    assert client.post(address(Turbine, "change", farm.h1.pk), {"code": "X"}).status_code == 403
    assert client.get(address(Turbine, "add")).status_code == 403
    assert client.post(address(Turbine, "delete", farm.h1.pk), {"post": "yes"}).status_code == 403
    assert client.post(address(Skill, "add"), {"code": "x", "name": "x"}).status_code == 403


def test_the_crew_reads_counters_in(farm: Farm, technician_user: User) -> None:
    client = staff(technician_user)
    reading = {"turbine": farm.h1.pk, "counter": "cycles", "read_on": "2026-06-01", "value": "7"}
    assert send(client, address(CounterReading, "add"), **reading).status_code == 302
    assert client.get(address(Turbine, "add")).status_code == 403


@pytest.fixture
def mixed(farm: Farm, planner_user: User) -> User:
    """Planner at HILL, viewer at PLAIN."""
    Membership.objects.create(user=planner_user, site=farm.plain, role="viewer")
    return planner_user


def test_a_row_is_not_carried_to_a_site_where_one_only_looks(farm: Farm, mixed: User) -> None:
    client = staff(mixed)
    answer = send(client, address(Turbine, "change", farm.h1.pk), site=farm.plain.pk)
    assert complaints(answer)["__all__"] == ["Your role there does not carry writing this turbine: ask a planner of the site."]
    farm.h1.refresh_from_db()
    assert farm.h1.site == farm.hill
    assert client.post(address(Turbine, "change", farm.p1.pk), {"code": "X"}).status_code == 403


def test_deleting_a_list_stops_at_rows_one_may_only_look_at(farm: Farm, mixed: User) -> None:
    closures = [
        Closure.objects.create(site=site, kind="other", reason="x", first_day="2026-07-01", last_day="2026-07-01")
        for site in (farm.hill, farm.plain)
    ]
    data = {"action": "delete_selected", "_selected_action": [row.pk for row in closures], "post": "yes"}
    staff(mixed).post(address(Closure, "changelist"), data)
    assert Closure.objects.filter(pk__in=[row.pk for row in closures]).count() == 2


def test_shared_tables_are_written_by_planners_of_any_site(farm: Farm, stranger: User) -> None:
    assert send(staff(stranger), address(Skill, "add"), code="rope", name="rope").status_code == 302


@pytest.mark.parametrize(("model", "name"), [(ComponentKind, "blade 1/3"), (ShiftPattern, "Cleo"), (Part, "pitch-repair")])
def test_what_stands_in_the_way_of_a_deletion_is_not_named(
    model: type[Model], name: str, farm: Farm, stranger: User, planner_user: User
) -> None:
    row = {ComponentKind: farm.blades[0].kind, ShiftPattern: ShiftPattern.objects.get(), Part: Part.objects.get(code="motor")}[
        model
    ]
    client = staff(stranger)
    page = words_of(client.get(address(model, "delete", row.pk)))
    assert "Cannot delete" in page
    assert name not in page
    assert client.post(address(model, "delete", row.pk), {"post": "yes"}).status_code in (200, 403)
    assert model._default_manager.filter(pk=row.pk).exists()


def test_history_of_work_is_not_deleted_with_its_turbine(farm: Farm, planner_user: User) -> None:
    client = staff(planner_user)
    assert client.post(address(Turbine, "delete", farm.h2.pk), {"post": "yes"}).status_code == 403
    assert farm.h2.done.exists()


def test_without_a_site_there_is_nothing(farm: Farm) -> None:
    client = staff(User.objects.create_user("guest", password="lull"))
    assert client.get(reverse("admin:index")).context["app_list"] == []
    assert client.get(address(Skill, "changelist")).status_code == 403


def test_without_staff_there_is_no_register(farm: Farm, planner_user: User) -> None:
    client = staff(planner_user)
    User.objects.update(is_staff=False)
    assert client.get(address(Turbine, "changelist")).status_code == 302


def test_who_opens_a_site_plans_it(farm: Farm, planner_user: User) -> None:
    client = staff(planner_user)
    data = filled(
        client, address(Site, "add"), code="NEW", name="New", base=farm.north.pk, rule_set=farm.hill.rule_set_id, country="DE",
        time_zone="Europe/Berlin", currency="EUR", price_per_mwh="60", latitude="54", longitude="9",
    )  # fmt: skip
    assert client.post(address(Site, "add"), data).status_code == 302
    assert Membership.objects.get(site__code="NEW").role == "planner"
    assert client.get(address(Site, "change", Site.objects.get(code="NEW").pk)).status_code == 200


def test_a_site_is_not_opened_at_somebody_elses_base(farm: Farm, planner_user: User) -> None:
    answer = send(
        staff(planner_user), address(Site, "add"), code="NEW", name="New", base=farm.plain.base_id, country="AU",
        rule_set=farm.hill.rule_set_id, time_zone="Europe/Berlin", currency="EUR", price_per_mwh="60", latitude="54",
        longitude="9",
    )  # fmt: skip
    assert "Your role there" in complaints(answer)["__all__"][0]


def test_an_account_is_kept_when_the_person_is_renamed(farm: Farm, planner_user: User, technician_user: User) -> None:
    ada = farm.people["Ada"]
    assert send(staff(planner_user), address(Technician, "change", ada.pk), name="Ada Two").status_code == 302
    ada.refresh_from_db()
    assert (ada.name, ada.user) == ("Ada Two", technician_user)


def test_components_read_as_a_tree(farm: Farm, planner_user: User) -> None:
    page = staff(planner_user).get(address(Turbine, "change", farm.h1.pk)).content.decode()
    tree = page[page.index('<div class="readonly"><ul') :]
    assert tree.index("rotor") < tree.index("<ul", 30) < tree.index("blade 1/3") < tree.index("blade 3/3")


class TestHistory:
    """History is read, by those who may see the row."""

    def versions(self, row: Any) -> str:
        return address(type(row), "simple_history", row.pk, row.history.first().pk)

    def test_a_version_is_shown_and_never_put_back(self, farm: Farm, planner_user: User) -> None:
        client = staff(planner_user)
        farm.h1.feeder = "F9"
        farm.h1.save()
        old = address(Turbine, "simple_history", farm.h1.pk, farm.h1.history.last().pk)
        page = client.get(old)
        assert page.status_code == 200
        assert "F1" in words_of(page)
        assert "_save" not in page.content.decode()
        assert client.post(old, filled_like(page)).status_code == 403
        farm.h1.refresh_from_db()
        assert farm.h1.feeder == "F9"

    def test_another_sites_version_is_not_there(self, farm: Farm, stranger: User) -> None:
        assert staff(stranger).get(self.versions(farm.h1)).status_code == 404
        assert staff(stranger).get(address(Turbine, "history", "nonsense")).status_code == 404

    def test_what_was_deleted_is_remembered_by_its_planners(self, farm: Farm, planner_user: User, stranger: User) -> None:
        closure = Closure.objects.get()
        pk = closure.pk
        staff(planner_user).post(address(Closure, "delete", pk), {"post": "yes"})
        assert not Closure.objects.exists()
        page = staff(planner_user).get(address(Closure, "history", pk))
        assert "kite nest" in words_of(page)
        assert "planner" in words_of(page)
        assert staff(stranger).get(address(Closure, "history", pk)).status_code == 404


def filled_like(page: Any) -> dict[str, str]:
    """Something to send back."""
    return {"_save": "Revert", "code": "H1"}


def test_a_superuser_sees_every_site(farm: Farm) -> None:
    client = staff(root())
    codes = [row.code for row in client.get(address(Turbine, "changelist")).context["cl"].result_list]
    assert codes == ["H1", "H2", "H3", "P1"]
    assert said(client.get(address(Turbine, "changelist"))) == []


def test_a_turbine_that_is_chosen_already_says_its_site_too(farm: Farm, planner_user: User) -> None:
    reading = CounterReading.objects.create(turbine=farm.h1, counter="cycles", read_on="2026-06-01", value=1)
    page = staff(planner_user).get(address(CounterReading, "change", reading.pk)).content.decode()
    assert f'<option value="{farm.h1.pk}" selected>H1 at Hillside</option>' in page
