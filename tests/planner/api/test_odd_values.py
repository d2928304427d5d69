"""Every field of every table with values that are nothing like it: refused or taken, never a broken answer."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.db import transaction

from tests.api_helpers import API, assert_error, client_of
from tests.farm import Farm
from tests.planner.api.cases import CASES, Case

ODD: list[Any] = [
    None, True, 0, -1, 1.5, 2**31, 2**63, 10**40, "", " ", "x" * 5000, "a\x00b", "\ud83d", "2026-02-31", "0001-01-01",
    [], [None], [[]], [{}], {}, {"a": 1}, [["lift"]], [1, 1], [True], [[1, 2], [1, 2]], [{"number": 1}], [{"skill": True}],
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=str)
def test_an_odd_value_never_breaks_the_answer(case: Case, farm: Farm, planner_user: User) -> None:
    client = client_of(planner_user)
    client.raise_request_exception = False
    here = f"{API}{case.route}/"
    good = case.body(farm, 1)
    fields = client.post(here, good).json()
    for place, name in enumerate(fields):
        for n, value in enumerate(ODD[place % 4 :: 4]):  # a quarter for each field, so that the whole stays quick
            with transaction.atomic():
                body = json.dumps({**case.body(farm, 2), name: value})
                answer = client.post(here, body, content_type="application/json")
                transaction.set_rollback(True)
            assert answer.status_code in (201, 400, 409), (name, n, value, answer.content[:300])
            if answer.status_code != 201:
                assert_error(answer, answer.status_code)


@pytest.mark.parametrize(
    "body",
    ['{"code": "a", "code": "b"}', "[" * 100_000, '{"code": "\\ud83d"}', b"\xff\xfe{", "NaN", "", "null", '"text"', "1" * 5000],
)
def test_what_is_no_plain_json_object_is_refused(body: Any, farm: Farm, planner_user: User) -> None:
    answer = client_of(planner_user).post(f"{API}skills/", body, content_type="application/json")
    assert_error(answer, 400)
