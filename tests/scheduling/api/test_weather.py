"""Weather files over the API. The file is made here; its format is the plain delimited one."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile

from scheduling.models import WeatherFeed, WeatherSet
from tests.api_helpers import API, assert_error, assert_recorded, client_of, queries_of, rows_of
from tests.farm import Farm
from tests.scheduling.api.scenes import forecast
from tests.shared import shared_path

ROOT = Path(__file__).resolve().parents[3]

WEATHER = f"{API}weather/"
RECIPE: dict[str, Any] = {
    "name": "hand",
    "columns": [{"column": "ws", "variable": "wind", "unit": "m/s", "height_m": 80, "averaging_min": 10}],
    "time_columns": ["time"],
    "time_format": "iso",
    "stamp": "start",
    "zone": "UTC",
}


def content(mps: float = 5.0, hours: int = 48) -> bytes:
    """Hourly wind from 10 June 2026 on."""
    lines = [f"2026-06-{10 + n // 24}T{n % 24:02}:00,{mps}" for n in range(hours)]
    return ("time,ws\n" + "\n".join(lines) + "\n").encode()


def send(user: User | None, site: int, data: bytes | None = None, key: str = "", **more: Any) -> Any:
    """Upload a file."""
    file = SimpleUploadedFile("wind.csv", content() if data is None else data)
    form = {
        "site": site, "kind": "forecast", "issued_at": "2026-06-10T06:00:00+02:00", "recipe": json.dumps(RECIPE), "file": file,
    }  # fmt: skip
    form = {name: value for name, value in {**form, **more}.items() if value is not None}
    headers = {"HTTP_IDEMPOTENCY_KEY": key} if key else {}
    return client_of(user).post(WEATHER, form, format="multipart", **headers)


def test_a_file_is_read_stored_and_told(farm: Farm, planner_user: User) -> None:
    made = send(planner_user, farm.hill.pk)
    assert made.status_code == 201, made.content
    body = made.json()
    assert body["created"] is True
    assert body["weather"]["issued_at"] == "2026-06-10T04:00:00Z"
    assert (body["weather"]["starts_at"], body["weather"]["step_min"]) == ("2026-06-10T00:00:00Z", 60)
    assert [series["variable"] for series in body["weather"]["series"]] == ["wind"]
    assert client_of(planner_user).get(made["Location"]).json() == body["weather"]
    again = send(planner_user, farm.hill.pk)
    assert again.status_code == 200
    assert (again.json()["created"], again.json()["weather"]["id"]) == (False, body["weather"]["id"])


def test_the_same_upload_with_a_key_is_read_once(farm: Farm, planner_user: User) -> None:
    answers = [send(planner_user, farm.hill.pk, key="upload-1") for _ in range(2)]
    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[1]["Idempotency-Replayed"] == "true"
    assert_error(send(planner_user, farm.hill.pk, content(6.0), key="upload-1"), 409, "Idempotency-Key")
    assert WeatherSet.objects.count() == 1


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"issued_at": "2026-03-29T02:30:00"}, "issued_at"),  # does not exist in Berlin
        ({"issued_at": "2026-10-25T02:30:00"}, "issued_at"),  # exists twice in Berlin
        ({"issued_at": "2026-06-10"}, "issued_at"),
        ({"issued_at": "0001-01-01T00:00:00+14:00"}, "issued_at"),
        ({"issued_at": None}, "issued_at"),
        ({"issued_at": "2026-07-10T06:00:00Z"}, "issued_at"),
        ({"kind": "gossip"}, "kind"),
        ({"site": 987_654}, "site"),
        ({"recipe": "{"}, "recipe"),
        ({"recipe": "[]"}, "recipe"),
        ({"recipe": '{"step_min": 1e999}'}, "recipe"),
        ({"recipe": None}, "recipe"),
        ({"recipe": json.dumps({**RECIPE, "columns": [{"column": "ws", "variable": "wind"}]})}, "recipe"),
        ({"recipe": json.dumps({**RECIPE, "zone": "Mars/Olympus"})}, "content"),
        ({"data": b""}, "file"),
        ({"data": b"time,ws\n2026-06-10T00:00,fast\n"}, "content"),
        ({"data": b"\x00\x01\x02"}, "content"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_what_does_not_fit_is_refused_and_nothing_stored(
    change: dict[str, Any], field: str, farm: Farm, planner_user: User
) -> None:
    assert_error(send(planner_user, **{"site": farm.hill.pk, **change}), 400, field)
    assert not WeatherSet.objects.exists()


@pytest.mark.parametrize("issued_at", ["2026-06-10T03:30:00+02:00", "2026-06-10T01:30:00Z"])
def test_a_time_with_its_offset_is_one_instant(issued_at: str, farm: Farm, planner_user: User) -> None:
    made = send(planner_user, farm.hill.pk, issued_at=issued_at)
    assert made.json()["weather"]["issued_at"] == "2026-06-10T01:30:00Z"


def test_an_open_recipe_comes_back_with_the_choices(farm: Farm, planner_user: User) -> None:
    answer = send(planner_user, farm.hill.pk, recipe=json.dumps({**RECIPE, "stamp": None}))
    asked = assert_error(answer, 400, "recipe")["extra"]["ask"]
    assert asked[0]["choices"] == ["start", "end"]


def test_a_file_too_large_is_refused(farm: Farm, planner_user: User) -> None:
    answer = client_of(planner_user).post(WEATHER, {}, format="multipart", CONTENT_LENGTH=str(50 * 2**20))
    assert_error(answer, 413)


def test_who_may_bring_weather(farm: Farm, planner_user: User, lead_user: User, viewer_user: User, stranger: User) -> None:
    assert_error(send(None, farm.hill.pk), 401)
    assert_error(send(viewer_user, farm.hill.pk), 403)
    assert_error(send(lead_user, farm.hill.pk), 403)
    theirs, missing = send(stranger, farm.hill.pk), send(stranger, 987_654)
    assert_error(theirs, 400, "site")
    assert theirs.content == missing.content
    stranger.memberships.create(site=farm.hill, role="viewer")
    assert_error(send(stranger, farm.hill.pk), 403)
    assert_error(client_of(planner_user).post(WEATHER, {"site": farm.hill.pk}), 415)
    assert_error(client_of(planner_user).delete(f"{WEATHER}{forecast(farm).pk}/"), 405)


def test_a_feed_lends_its_recipe(farm: Farm, planner_user: User, stranger: User) -> None:
    client = client_of(planner_user)
    body = {"site": farm.hill.pk, "name": "mast", "recipe": RECIPE}
    feed = client.post(f"{API}feeds/", body)
    assert feed.status_code == 201, feed.content
    made = send(planner_user, farm.hill.pk, recipe=None, feed=feed.json()["id"])
    assert made.json()["weather"]["feed"] == feed.json()["id"]
    for bad in ({}, [], {**RECIPE, "zone": None}, {**RECIPE, "colour": 1}):
        assert_error(client.post(f"{API}feeds/", {**body, "name": "x", "recipe": bad}), 400, "recipe")
    assert_error(client.post(f"{API}feeds/", body), 400)
    assert_error(client_of(stranger).get(feed["Location"]), 404)
    assert client.patch(feed["Location"], {"name": "mast 2"}).json()["name"] == "mast 2"
    theirs = WeatherFeed.objects.create(site=farm.plain, name="mast", recipe=RECIPE)
    assert_error(send(planner_user, farm.hill.pk, recipe=None, feed=theirs.pk), 400, "feed")
    planner_user.memberships.create(site=farm.plain, role="planner")
    assert_error(send(planner_user, farm.hill.pk, recipe=None, feed=theirs.pk), 400, "feed")
    assert client.delete(feed["Location"]).status_code == 204


def test_a_real_mast_file(farm: Farm, planner_user: User) -> None:
    """Open mast data of 2016/17 (see its LICENCE.txt): a year of ten-minute means, by the recipe that comes with us."""
    file = shared_path("data/brightwind_mast/mast_10min_2016-11_2017-10.csv")
    recipes = [json.loads(path.read_text("utf-8")) for path in (ROOT / "fixtures/recipes").glob("*mast*.json")]
    if not recipes:
        pytest.skip("no recipe for a mast in fixtures/recipes")
    made = send(planner_user, farm.hill.pk, file.read_bytes(), kind="past years", recipe=json.dumps(recipes[0]), issued_at=None)
    assert made.status_code == 201, made.content
    assert made.json()["weather"]["step_min"] == 10


def test_the_list_costs_the_same_with_more_rows(farm: Farm, viewer_user: User, stranger: User) -> None:
    client = client_of(viewer_user)
    forecast(farm)
    before = queries_of(lambda: client.get(WEATHER))
    for n in range(30):
        forecast(farm, mps=5 + n / 10)
    assert len(rows_of(client.get(WEATHER))) == 31
    assert queries_of(lambda: client.get(WEATHER)) == before
    assert_recorded("GET weather", before)
    assert rows_of(client_of(stranger).get(WEATHER)) == []


def test_a_feed_tells_kind_and_recipe(farm: Farm, planner_user: User) -> None:
    feed = WeatherFeed.objects.create(site=farm.hill, name="met", kind="observed", recipe=RECIPE)
    made = send(planner_user, farm.hill.pk, kind=None, recipe=None, issued_at=None, feed=feed.pk)
    assert made.status_code == 201, made.content
    assert (made.json()["weather"]["kind"], made.json()["weather"]["feed"]) == ("observed", feed.pk)


def test_without_a_feed_the_kind_is_asked(farm: Farm, planner_user: User) -> None:
    assert_error(send(planner_user, farm.hill.pk, kind=None), 400, "kind")


def test_good_rows_are_accepted_alone_and_the_others_come_back(farm: Farm, planner_user: User) -> None:
    bad = content() + b"2026-06-12T00:00,windy\n"
    assert_error(send(planner_user, farm.hill.pk, bad), 400, "content")
    assert not WeatherSet.objects.exists()
    made = send(planner_user, farm.hill.pk, bad, accept_good_rows="true")
    assert made.status_code == 201, made.content
    assert made.json()["rejected"].splitlines()[0] == "line,reason,text"
    assert "windy" in made.json()["rejected"]


def test_a_look_stores_nothing_and_asks(farm: Farm, planner_user: User) -> None:
    def look(**more: str) -> Any:
        file = SimpleUploadedFile("wind.csv", content())
        return client_of(planner_user).post(f"{WEATHER}inspect/", {"file": file, **more}, format="multipart")

    asked = look()
    assert asked.status_code == 200, asked.content
    assert asked.json()["accepted"] is False
    assert {one["field"] for one in asked.json()["ask"]} >= {"zone", "stamp"}
    told = look(recipe=json.dumps(RECIPE))
    assert told.json()["accepted"] is True, told.content
    assert told.json()["recipe"]["zone"] == "UTC"
    assert not WeatherSet.objects.exists()


def test_a_forecast_that_arrives_is_followed_up(
    farm: Farm, planner_user: User, django_capture_on_commit_callbacks: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    queued: list[int] = []
    monkeypatch.setattr("scheduling.tasks.weather_arrived.delay", queued.append)
    with django_capture_on_commit_callbacks(execute=True):
        made = send(planner_user, farm.hill.pk)
        send(planner_user, farm.hill.pk)
    assert queued == [made.json()["weather"]["id"]], "the same content again brings nothing new"
