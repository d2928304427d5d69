"""A change on an older reading is refused."""

from __future__ import annotations

from django.contrib.auth.models import User

from planner.models import Procedure
from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm


def test_a_change_on_an_older_reading_is_refused(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    here = f"{API}procedures/{farm.procedures['service'].pk}/"
    tag = client.get(here)["ETag"]
    assert client.get(here, HTTP_IF_NONE_MATCH=tag).status_code == 304
    changed = client.patch(here, {"pack_min": 20}, HTTP_IF_MATCH=tag)
    assert changed.status_code == 200
    assert changed["ETag"] != tag
    for change in (
        lambda: client.patch(here, {"pack_min": 30}, HTTP_IF_MATCH=tag),
        lambda: client.put(here, {}, HTTP_IF_MATCH=tag),
        lambda: client.delete(here, HTTP_IF_MATCH=tag),
    ):
        assert_error(change(), 412, "If-Match")
    assert Procedure.objects.get(code="service").pack_min == 20
    assert client.patch(here, {"pack_min": 25}, HTTP_IF_MATCH="*").status_code == 200
    assert client.patch(here, {"pack_min": 26}).status_code == 200


def test_the_tag_moves_with_nested_rows(farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    here = f"{API}procedures/{farm.procedures['service'].pk}/"
    tag = client.get(here)["ETag"]
    farm.procedures["service"].steps.filter(number=1).update(text="Isolated")
    assert_error(client.patch(here, {"pack_min": 30}, HTTP_IF_MATCH=tag), 412)
