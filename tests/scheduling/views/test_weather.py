"""The Weather page: does weather come, what changed, were the calls right."""

from __future__ import annotations

from datetime import time, timedelta
from typing import Any, ClassVar

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile

from planner.cautions import CAUTION, STALE
from scheduling.models import ErrorFit, StayCall, WeatherFeed, WeatherSet
from scheduling.services.stay_calls import calls_record, calls_score
from tests import farm as rows
from tests.api_helpers import assert_recorded, queries_of
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import client_of, words_of
from tests.scheduling.stay_scenes import called, forecast, measured, past_visits, told

EARLIER = NOW - timedelta(hours=9)


def page(user: User, query: str = "") -> str:
    """What it says."""
    return words_of(client_of(user).get(f"/weather/{query}"))


class TestChanges:
    def test_a_stay_that_turned_is_said_with_both_chances_and_what_binds(self, farm: Farm, viewer_user: User) -> None:
        told(farm)
        for row in (forecast(farm, mps=3, issued_at=EARLIER), forecast(farm, mps=25)):
            calls_record(forecast=row, now=NOW)
        words = page(viewer_user)
        assert "Of 1 stay ahead, 1 is below the asked 80 %. Against the forecast before, 1 fell below it." in words
        line = words[words.index("Thu 11 Jun H2") : words.index("First start: from when")]
        for said in ("Ada, Ben", "HILL-1", "10:00 CEST", "100 % → 0 %", "07:00 CEST → none", "18:00 CEST → none", "■ below"):
            assert said in line
        assert "now below the asked 80 %" in line
        assert "passed in 100 % of members, middle" in line

    @pytest.mark.parametrize(
        ("before", "after", "said"),
        [(3, 4, "still reaches"), (20, 4, "now reaches"), (4, 20, "now below"), (21, 20, "still below")],
    )
    def test_the_verdict_in_words(self, before: float, after: float, said: str, farm: Farm, viewer_user: User) -> None:
        told(farm)
        for row in (forecast(farm, mps=before, issued_at=EARLIER), forecast(farm, mps=after)):
            calls_record(forecast=row, now=NOW)
        assert f"{said} the asked 80 %" in page(viewer_user)

    def test_calls_that_are_not_kept_yet_are_shown_all_the_same_and_not_kept_by_looking(
        self, farm: Farm, viewer_user: User
    ) -> None:
        told(farm)
        forecast(farm, mps=4)
        words = page(viewer_user)
        assert "no call → 100 %" in words
        assert "reaches the asked 80 %; no call before" in words
        assert "Of 1 stay ahead, none is below the asked 80 %. Only one forecast is there" in words
        assert not StayCall.objects.exists()

    def test_unknown_wind_is_unknown_and_says_why(self, farm: Farm, viewer_user: User) -> None:
        told(farm)
        forecast(farm, mps=4, hours=30)
        words = page(viewer_user)
        assert "· unknown unknown now: not to be gone by the forecast ends before the stay does" in words
        assert "▲ reached" not in words

    def test_stays_beyond_the_forecast_are_counted(self, farm: Farm, viewer_user: User) -> None:
        told(farm)
        told(farm, day=TODAY + timedelta(days=7), number="HILL-2")
        forecast(farm, mps=4)
        assert "1 more begin after it ends." in page(viewer_user)

    @pytest.mark.parametrize("age_h", [12.1, 40])
    def test_a_stale_forecast_says_nothing_is_workable(self, age_h: float, farm: Farm, viewer_user: User) -> None:
        visit = told(farm)
        row = forecast(farm, mps=4, issued_at=NOW - timedelta(hours=age_h))
        calls_record(forecast=row, now=NOW - timedelta(hours=age_h))
        assert StayCall.objects.get().visit == visit
        response = client_of(viewer_user).get("/weather/")
        words = words_of(response)
        assert STALE in words
        assert "▲ reached" not in words
        assert "unknown now: not to be gone by" in words
        assert "Nothing can be said of the 1 stay ahead." in words
        assert 'class="middle"' not in response.content.decode(), "no wind is drawn"

    def test_no_forecast_says_what_to_do(self, farm: Farm, viewer_user: User) -> None:
        words = page(viewer_user)
        assert "No forecast yet for Hillside: import one" in words
        assert STALE in words

    def test_both_strips_stand_on_one_scale(self, farm: Farm, viewer_user: User) -> None:
        told(farm)
        forecast(farm, mps=24, issued_at=EARLIER)
        forecast(farm, mps=4)
        content = client_of(viewer_user).get("/weather/").content.decode()
        assert content.count(">25</text>") == 2
        assert "both on one scale" in content
        assert "replaced, not to be gone by" in content
        assert "Wind on Fri 12 Jun" in page(viewer_user, "?day=2026-06-12")


class TestFeeds:
    def test_a_feed_that_stopped_is_an_alarm_here_and_on_today(self, farm: Farm, viewer_user: User) -> None:
        feed = WeatherFeed.objects.create(site=farm.hill, name="mast", kind="observed", recipe={}, every_h=1)
        row = measured(farm, [5.0] * 6, start=NOW - timedelta(hours=4))
        WeatherSet.objects.filter(pk=row.pk).update(feed=feed, received_at=NOW - timedelta(hours=3))
        alarm = "Hillside, weather feed mast: stopped. Nothing has come for 3 h; it should come every 1 h."
        for address in ("/weather/", "/today/"):
            response = client_of(viewer_user).get(address)
            assert alarm in words_of(response), address
            assert 'role="alert"' in response.content.decode()
        assert "■ stopped" in page(viewer_user)
        WeatherSet.objects.filter(pk=row.pk).update(received_at=NOW)
        assert "✓ on time" in page(viewer_user)
        assert "stopped." not in words_of(client_of(viewer_user).get("/today/"))

    def test_without_a_feed_nobody_is_told_and_that_is_said(self, farm: Farm, viewer_user: User) -> None:
        assert "No feed is set up for Hillside" in page(viewer_user)


class TestSkill:
    def test_the_sentence_the_diagram_and_the_table(self, farm: Farm, viewer_user: User) -> None:
        for n, visit in enumerate(past_visits(farm, 63)):
            called(visit, 0.75 if n % 5 == 0 else 0.8, lead_h=30, fitted=n < 51)
        words = page(viewer_user, "?lead=2")
        assert "Of 63 stays called 70-90 %, 51 (81 %) could be done; the mean call was 79 %." in words
        assert "These are 63 stays" in words
        assert "80-90 % 50 " in words
        assert "70-80 % 13 " in words
        assert "day 2 24 to 48 h 63 " in words
        assert "Of 63 calls of 70-90 %, the stay could be done in 51 (81 %)" in page(viewer_user)

    def test_too_few_calls_say_so_and_show_no_percentage(self, farm: Farm, viewer_user: User) -> None:
        for visit in past_visits(farm, 7):
            called(visit, 0.9, fitted=True)
        words = page(viewer_user)
        skill = words[words.index("How often were the calls right?") : words.index("The last stays")]
        assert "These are 7 calls of 7 stays, one for each day of lead: too few to say how good they are. It takes 20." in skill
        assert "Of 7 calls of 90-100 %, the stay could be done in 7; too few for a share." in skill
        assert "100 % could" not in skill
        assert "(100 %)" not in skill

    def test_no_outcome_yet_says_what_it_takes(self, farm: Farm, viewer_user: User) -> None:
        assert "No call has an outcome yet: it takes published stays, and wind measured" in page(viewer_user)

    def test_what_became_of_the_last_stays(self, farm: Farm, viewer_user: User) -> None:
        fits, blown, gap, unmeasured = past_visits(farm, 4)
        for visit in (fits, blown, gap, unmeasured):
            called(visit, 0.899)
        measured(farm, [9.0] * 18, start=fits.starts_at)
        measured(farm, [13.5] * 18, gust=[15.0] * 18, start=blown.starts_at)
        measured(farm, [9.0] * 18, flagged=[0], start=gap.starts_at)
        calls_score(site=farm.hill, first=unmeasured.starts_at, last=NOW, now=NOW)
        words = page(viewer_user)
        last = words[words.index("The last stays") :]
        assert "89 % from" in last, "never rounded up"
        assert "✓ fitted 10 min wind at hub at most 9.0 m/s, limit <= 12 held not measured: gust at hub" in last
        assert "× did not fit" in last
        assert "at most 13.5 m/s, limit <= 12 passed" in last
        assert "10 min wind at hub missing or flagged for 10 of 180 min, first at 08:00 UTC" in last
        assert "· not known no wind measured over the stay has come yet" in last


@pytest.mark.parametrize(
    ("query", "said"),
    [("?site=987654", "no site of yours"), ("?day=x", "such as"), ("?lead=0", "is no lead day"), ("?lead=x", "1 to 16")],
)
def test_a_bad_choice_is_a_sentence_and_the_page_is_shown(query: str, said: str, farm: Farm, viewer_user: User) -> None:
    response = client_of(viewer_user).get(f"/weather/{query}")
    assert response.status_code == 400
    assert said in words_of(response)
    assert "Hillside" in words_of(response)


def test_a_stranger_sees_their_own_site_only(farm: Farm, stranger: User) -> None:
    told(farm)
    calls_record(forecast=forecast(farm), now=NOW)
    words = page(stranger)
    assert "Plainfield" in words
    assert "HILL-1" not in words
    assert "Ada" not in words
    assert client_of(stranger).get(f"/weather/?site={farm.hill.pk}").status_code == 400


def test_nobody_logs_in_first_and_without_a_site_it_says_so(farm: Farm) -> None:
    assert client_of(None).get("/weather/").status_code == 302
    assert "You are not a member of any site yet." in page(User.objects.create_user("nobody"))


def test_it_carries_the_caution_and_stands_in_the_row_of_pages(farm: Farm, viewer_user: User) -> None:
    response = client_of(viewer_user).get("/weather/")
    assert CAUTION in words_of(response)
    assert '<a href="/weather/" aria-current="page">Weather</a>' in response.content.decode()


def test_a_second_site_is_chosen(farm: Farm, viewer_user: User) -> None:
    viewer_user.memberships.create(site=farm.plain, role="viewer")
    assert "No feed is set up for Plainfield" in page(viewer_user, f"?site={farm.plain.pk}")


def test_many_stays_cost_as_many_queries_as_few(farm: Farm, viewer_user: User) -> None:
    client = client_of(viewer_user)
    told(farm)
    past = past_visits(farm, 30)
    called(past[0], 0.9, fitted=True)
    for row in (forecast(farm, issued_at=EARLIER), forecast(farm)):
        calls_record(forecast=row, now=NOW)
    before = queries_of(lambda: client.get("/weather/"))
    for n in range(8):
        told(farm, start=time(7 + n, 30), number=f"HILL-{n + 10}")
    for visit in past[1:]:
        called(visit, 0.8, fitted=True)
    for row in WeatherSet.objects.all():
        calls_record(forecast=row, now=NOW)
    assert queries_of(lambda: client.get("/weather/")) == before
    assert_recorded("page weather", before)
    rows.build_turbine(farm.hill, "H9", farm.h1.type, 5, 100)
    assert queries_of(lambda: client.get("/weather/")) == before


class TestTakingAFileIn:
    FILE = b"time,v\n" + b"".join(b"2026-06-%02dT%02d:00,18\n" % (10 + n // 24, n % 24) for n in range(48))
    RECIPE: ClassVar = {
        "name": "met", "time_columns": ["time"], "time_format": "iso", "stamp": "start", "zone": "UTC",
        "columns": [{"column": "v", "variable": "wind", "unit": "km/h", "height_m": 10, "averaging_min": 10}],
    }  # fmt: skip

    def send(self, user: User, farm: Farm, **more: Any) -> Any:
        feed, _ = WeatherFeed.objects.get_or_create(site=farm.hill, name="met", defaults={"recipe": self.RECIPE, "every_h": 6})
        form = {"do": "bring", "site": farm.hill.pk, "feed": feed.pk, "issued": "2026-06-10T04:00Z"}
        form["file"] = SimpleUploadedFile("wind.csv", self.FILE)
        return client_of(user).post("/weather/", {**form, **more}, follow=True)

    def refused(self, status: int, user: User, farm: Farm, **more: Any) -> str:
        answer = self.send(user, farm, **more)
        assert answer.status_code == status
        return words_of(answer)

    def test_one_click_stores_the_next_file_of_a_feed(self, farm: Farm, planner_user: User) -> None:
        words = words_of(self.send(planner_user, farm))
        assert "48 rows of Hillside forecast 2026-06-10 04:00 UTC are stored: 0 gaps, 0 doubled times" in words, words[300:700]
        (row,) = WeatherSet.objects.all()
        assert (row.feed.name, row.kind) == ("met", "forecast")
        assert "That file was there already" in words_of(self.send(planner_user, farm))
        assert WeatherSet.objects.count() == 1

    @pytest.mark.parametrize(
        ("change", "sentence"),
        [
            ({"issued": "yesterday"}, "Issued 'yesterday' is no time"),
            ({"issued": "2026-06-10T04:00"}, "has no offset from UTC"),
            ({"issued": ""}, "A forecast needs its issue time"),
            ({"feed": "0"}, "Choose a feed of Hillside"),
            ({"file": ""}, "Choose the file to take in"),
            ({"file": SimpleUploadedFile("w.csv", b"time,v\n2026-06-10T00:00,calm\n")}, "calm"),
        ],
    )
    def test_bad_input_is_a_sentence_and_nothing_is_stored(
        self, change: dict[str, Any], sentence: str, farm: Farm, planner_user: User
    ) -> None:
        assert sentence in self.refused(400, planner_user, farm, **change)
        assert not WeatherSet.objects.exists()

    def test_only_a_planner_of_the_site_may(self, farm: Farm, viewer_user: User) -> None:
        assert "A viewer may not do this" in self.refused(403, viewer_user, farm)
        assert "Take it in" not in page(viewer_user)
        assert not WeatherSet.objects.exists()

    def test_another_farms_site_is_not_there(self, farm: Farm, planner_user: User) -> None:
        words = self.refused(400, planner_user, farm, site=farm.plain.pk)
        assert "not there, or not for you" in words


def test_how_far_off_the_wind_was_is_shown_by_lead_day(farm: Farm, viewer_user: User) -> None:
    assert "How far off the wind was" not in page(viewer_user)
    scores = [{"lead_day": 1, "hours": 1440, "members_mps": 0.84, "forecast_mps": 1.21}]
    model = {"single": None, "ensemble": None, "wind_scores": scores}
    when = {"fitted_at": EARLIER, "first_issue": EARLIER, "last_issue": EARLIER}
    ErrorFit.objects.create(site=farm.hill, **when, forecasts=60, pairs=1440, model=model)
    assert "1 1,440 0.8 m/s 1.2 m/s" in page(viewer_user)
