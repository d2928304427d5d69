"""Pages, filters, ordering and search: stable, declared, and silent about others."""

from __future__ import annotations

from datetime import date

import pytest
from django.contrib.auth.models import User

from planner.models import Absence
from planner.project.api_urls import router
from tests.api_helpers import API, assert_error, client_of, ids_of, rows_of
from tests.farm import Farm


def test_pages_of_rows_alike_show_each_once(farm: Farm, planner_user: User) -> None:
    """250 rows with the same ordering value; one more row between two pages loses none that was there."""
    ada = farm.people["Ada"]
    day = date(2027, 5, 1)
    Absence.objects.bulk_create(Absence(technician=ada, first_day=day, last_day=day) for _ in range(250))
    client = client_of(planner_user)
    wanted = set(Absence.objects.filter(technician=ada).values_list("pk", flat=True))
    seen: list[int] = []
    address: str | None = f"{API}absences/?technician={ada.pk}&ordering=first_day&page_size=20"
    while address:
        answer = client.get(address)
        seen += [row["id"] for row in rows_of(answer)]
        address = answer.json()["next"]
        if len(seen) == 20:
            Absence.objects.create(technician=ada, first_day=day, last_day=day)
    assert len(seen) == len(set(seen)) == 251
    assert wanted <= set(seen)
    assert_error(client.get(f"{API}absences/", {"page": 99}), 404)


LEAKS = (
    "format=api",
    "crew__user__password__startswith=p",
    "ordering=technician__user__password",
    "search=x",
    "technician__user=1",
    "format=api",
)


@pytest.mark.parametrize("query", LEAKS)
def test_undeclared_filters_orderings_and_searches_are_refused(query: str, farm: Farm, planner_user: User) -> None:
    assert_error(client_of(planner_user).get(f"{API}absences/?{query}"), 400, query.split("=")[0])


def test_other_sites_rows_and_missing_rows_get_the_same_answer(farm: Farm, planner_user: User, stranger: User) -> None:
    client = client_of(stranger)
    bodies = {
        "turbines": {"site": farm.hill.pk},
        "components": {"turbine": farm.h1.pk, "parent": farm.blades[0].pk},
        "certificates": {"technician": farm.people["Ada"].pk},
        "closures": {"site": farm.hill.pk, "turbine": farm.h1.pk},
        "counter-readings": {"turbine": farm.h1.pk},
        "intervals": {"turbine": farm.h1.pk},
    }
    for route, body in bodies.items():
        theirs = client.post(f"{API}{route}/", body)
        missing = client.post(f"{API}{route}/", dict.fromkeys(body, 987_654))
        assert_error(theirs, 400, next(iter(body)))
        assert theirs.content == missing.content
    for query in (
        "turbines/?site={}",
        "components/?turbine={}",
        "certificates/?technician={}",
        "due/?turbine={}",
        "gates/?site={}",
    ):
        pk = {"site": farm.hill.pk, "turbine": farm.h1.pk, "technician": farm.people["Ada"].pk}[query.split("?")[1][:-3]]
        theirs, missing = client.get(API + query.format(pk)), client.get(API + query.format(987_654))
        assert_error(theirs, 400)
        assert theirs.content == missing.content


def test_options_shows_no_row_of_anybody(farm: Farm, stranger: User) -> None:
    for prefix, _, _ in router.registry:
        answer = client_of(stranger).options(f"{API}{prefix}/")
        assert answer.status_code == 200
        text = answer.content.decode()
        assert not any(name in text for name in ("Hillside", "HILL", "Ada", "van 1", '"choices": [{"value": 1'))
        assert answer["Content-Type"] == "application/json"
    answer = client_of(stranger).get(f"{API}turbines/", HTTP_ACCEPT="text/html")
    assert_error(answer, 406)


def test_filters_say_yes_no_or_are_refused(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    learners = client.get(f"{API}technicians/", {"learner": "false"})
    assert len(rows_of(learners)) == 4
    assert rows_of(client.get(f"{API}technicians/", {"learner": "true"})) == []
    assert_error(client.get(f"{API}technicians/", {"learner": "maybe"}), 400, "learner")
    assert_error(client.get(f"{API}technicians/", {"learner": ""}), 400, "learner")
    assert_error(client.get(f"{API}technicians/?learner=true&learner=false"), 400, "learner")
    assert_error(client.get(f"{API}certificates/", {"valid_until__lte": "2026-02-31"}), 400, "valid_until__lte")
    ends = client.get(f"{API}certificates/", {"valid_until__lte": "2026-05-31"})
    assert [row["technician"] for row in rows_of(ends)] == [farm.people["Dov"].pk]
    assert len(rows_of(client.get(f"{API}turbines/", {"search": "H1"}))) == 1
    assert [row["code"] for row in rows_of(client.get(f"{API}turbines/", {"ordering": "-code"}))] == ["H3", "H2", "H1"]


def test_people_and_their_papers_are_seen_at_their_base_only(farm: Farm, viewer_user: User, stranger: User) -> None:
    for route in ("technicians", "certificates", "absences", "vehicles"):
        assert ids_of(client_of(viewer_user).get(f"{API}{route}/"))
        assert not ids_of(client_of(stranger).get(f"{API}{route}/"))
