"""What tests of the API share: clients, the one shape of errors, the recorded number of queries."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.contrib.auth.models import User
from django.db import connection
from django.test.utils import CaptureQueriesContext
from rest_framework.test import APIClient

API = "/api/v1/"
COUNTS = Path(__file__).with_name("query_counts.json")


def client_of(user: User | None) -> APIClient:
    """A client that speaks for a user; None speaks for nobody."""
    client = APIClient()
    client.default_format = "json"
    if user is not None:
        client.force_authenticate(user)
    return client


def assert_error(response: Any, status: int, field: str | None = None) -> dict[str, Any]:
    """The answer is a refusal in the one shape, with a sentence, naming `field` where given."""
    assert response.status_code == status, f"{response.status_code} instead of {status}: {response.content[:300]!r}"
    body = json.loads(response.content)
    assert set(body) == {"error"}, body
    error = body["error"]
    assert set(error) <= {"code", "message", "fields", "extra"}, error
    assert {"code", "message", "fields"} <= set(error), error
    assert error["code"], error
    assert len(error["message"]) > 10, error
    assert all(set(item) == {"field", "message"} and item["message"] for item in error["fields"]), error
    if field is not None:
        assert field in [item["field"].split("[")[0].split(".")[0] for item in error["fields"]], error
    return error


def rows_of(response: Any) -> list[dict[str, Any]]:
    """The rows of a list answer."""
    assert response.status_code == 200, response.content[:300]
    body = response.json()
    assert set(body) == {"count", "next", "previous", "results"}, body
    return list(body["results"])


def ids_of(response: Any) -> set[int]:
    """The ids of a list answer."""
    return {row["id"] for row in rows_of(response)}


def queries_of(ask: Callable[[], Any]) -> int:
    """How many queries an asking costs."""
    with CaptureQueriesContext(connection) as seen:
        response = ask()
    assert response.status_code == 200, response.content[:300]
    return len(seen)


def assert_recorded(name: str, count: int) -> None:
    """The number of queries is the recorded one. LULL_RECORD_QUERIES=1 writes the record anew."""
    known = json.loads(COUNTS.read_text(encoding="utf-8")) if COUNTS.exists() else {}
    if os.environ.get("LULL_RECORD_QUERIES") == "1":
        known[name] = count
        COUNTS.write_text(json.dumps(known, indent=1, sort_keys=True) + "\n", encoding="utf-8")
        return
    assert known.get(name) == count, f"{name}: {count} queries, recorded {known.get(name)} (LULL_RECORD_QUERIES=1 records anew)"


def assert_same_cost(client: APIClient, address: str, name: str, grow: Callable[[], Any]) -> None:
    """A list costs the same before and after `grow` adds rows, and as much as was recorded."""
    before = queries_of(lambda: client.get(address))
    few = len(rows_of(client.get(address)))
    grow()
    after = queries_of(lambda: client.get(address))
    assert len(rows_of(client.get(address))) > few, f"{name}: no rows were added"
    assert after == before, f"{name}: {before} queries before, {after} after more rows"
    assert_recorded(name, after)
