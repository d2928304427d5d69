"""Each published stay is called once for each forecast, and scored once the wind was measured."""

from __future__ import annotations

import logging
from datetime import datetime, time, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planner.models import Limit, LimitSet
from scheduling import tasks
from scheduling.models import Plan, StayCall, Visit, WeatherFeed, WeatherSet
from scheduling.selectors.windows import access_windows
from scheduling.services import stay_calls
from scheduling.services.publish import plan_publish
from scheduling.services.stay_calls import calls_catch_up, calls_record, calls_record_plan, weather_take
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_order, build_plan, build_visit
from tests.scheduling.services.test_publish import draft
from tests.scheduling.stay_scenes import ISSUED, called, forecast, measured, past_visits, told

LATER = NOW + timedelta(days=2)


class TestRecord:
    def test_a_calm_stay_is_go_with_its_lead_and_times(self, farm: Farm) -> None:
        visit, row = told(farm), forecast(farm, mps=4)
        calls_record(forecast=row, now=NOW)
        call = StayCall.objects.get()
        assert (call.visit, call.site, call.forecast, call.issued_at) == (visit, farm.hill, row, ISSUED)
        assert (call.lead_h, call.chance, call.go, call.limits) == (29.0, 1.0, True, ["tower"])
        assert (call.fitted, call.scored_at, call.about["binds"]) == (None, None, "")
        assert call.about["first_start"] == "2026-06-11T05:00:00+00:00", "the shift begins at 07:00 CEST"
        assert call.about["held_to"] == ["gust at hub <= 16 m/s, 0.05 min", "10 min wind at hub <= 12 m/s, 10 min"]

    def test_a_stay_in_a_storm_is_no_go_with_what_binds(self, farm: Farm) -> None:
        told(farm)
        calls_record(forecast=forecast(farm, mps=17), now=NOW)
        call = StayCall.objects.get()
        assert not call.go
        assert call.chance < 0.2
        assert "passed in" in call.about["binds"]
        assert call.about["first_start"] is None

    def test_the_chance_is_the_one_the_windows_tell_for_the_same_members(self, farm: Farm) -> None:
        """Asked at local midnight, the windows draw the same members over the same slots."""
        visit = told(farm, day=TODAY)
        row = forecast(farm, mps=10.5, issued_at=datetime.combine(TODAY, time(), tzinfo=farm.hill.zone) - timedelta(hours=1))
        midnight = datetime.combine(TODAY, time(), tzinfo=farm.hill.zone)
        calls_record(forecast=row, now=midnight)
        tower = LimitSet.objects.get(code="tower")
        found = access_windows(turbine=farm.h2, limit_set=tower, stay_min=180, now=midnight, days=1)
        chance = {one.start: one.chance for one in found.starts}[visit.starts_at]
        assert 0 < chance < 1
        assert StayCall.objects.get().chance == pytest.approx(chance, abs=1e-3)

    def test_a_later_forecast_is_another_call_and_the_same_one_none(self, farm: Farm) -> None:
        told(farm)
        first, second = forecast(farm), forecast(farm, issued_at=NOW - timedelta(hours=1))
        for row in (first, second, first, second):
            calls_record(forecast=row, now=NOW)
        assert sorted(StayCall.objects.values_list("lead_h", flat=True)) == [27.0, 29.0]

    def test_what_was_said_stands_when_the_site_asks_for_more_since(self, farm: Farm) -> None:
        told(farm)
        row = forecast(farm, mps=4)
        calls_record(forecast=row, now=NOW)
        StayCall.objects.update(chance=0.85)
        calls_catch_up(now=NOW)
        assert StayCall.objects.get().chance == 0.85

    def test_a_second_file_of_the_same_issue_takes_the_place_of_the_first(self, farm: Farm) -> None:
        told(farm)
        first = forecast(farm, mps=4)
        calls_record(forecast=first, now=NOW)
        second = forecast(farm, mps=20)
        calls_record(forecast=second, now=NOW)
        calls_record(forecast=first, now=NOW)
        assert StayCall.objects.values_list("forecast", "go").get() == (second.pk, False)

    def test_a_stay_that_began_is_not_called_any_more(self, farm: Farm) -> None:
        visit = told(farm)
        calls_record(forecast=forecast(farm, issued_at=visit.starts_at - timedelta(hours=1)), now=visit.starts_at)
        assert not StayCall.objects.exists()

    @pytest.mark.parametrize("age_h", [12.1, 90])
    def test_nothing_is_called_from_a_stale_forecast(self, age_h: float, farm: Farm) -> None:
        told(farm)
        assert calls_record(forecast=forecast(farm, issued_at=NOW - timedelta(hours=age_h), hours=200), now=NOW) == []

    def test_nothing_is_called_from_a_forecast_of_the_future(self, farm: Farm) -> None:
        told(farm)
        assert calls_record(forecast=forecast(farm, issued_at=NOW + timedelta(minutes=1)), now=NOW) == []

    def test_unknown_wind_is_no_call_and_not_a_chance_of_nothing(self, farm: Farm) -> None:
        """The forecast ends at 09:00 UTC, an hour into the stay."""
        told(farm)
        assert calls_record(forecast=forecast(farm, hours=30), now=NOW) == []
        Limit.objects.create(limit_set=LimitSet.objects.get(code="tower"), quantity="visibility", comparison=">=", value=500)
        assert calls_record(forecast=forecast(farm), now=NOW) == []

    def test_a_limit_at_another_height_than_the_hub_is_held_against_the_wind_there(self, farm: Farm) -> None:
        """14 m/s at the hub of 100 m are 8.8 m/s at 10 m by the exponent 0.2, and the limit is 12."""
        told(farm)
        Limit.objects.exclude(quantity="wind").delete()
        Limit.objects.update(at_hub=False, height_m=10, value=12)
        (call,) = calls_record(forecast=forecast(farm, mps=14), now=NOW)
        assert call.chance >= 0.8
        (call,) = calls_record(forecast=forecast(farm, mps=30), now=NOW)
        assert call.chance == 0.0

    def test_only_plans_people_go_by(self, farm: Farm) -> None:
        """A superseded plan holds until the newer one begins; a draft holds nothing."""
        tomorrow, friday = TODAY + timedelta(days=1), TODAY + timedelta(days=2)
        old = build_plan(farm, state="superseded", published_at=NOW - timedelta(hours=5))
        build_visit(old, farm, build_order(farm.h2, farm, "HILL-1", work="lamp"), day=tomorrow)
        build_visit(old, farm, build_order(farm.h2, farm, "HILL-2", work="lamp"), day=friday)
        new = build_plan(farm, first_day=friday, last_day=friday + timedelta(days=13))
        build_visit(new, farm, build_order(farm.h1, farm, "HILL-3", work="lamp"), day=friday)
        build_visit(build_plan(farm, state="draft"), farm, build_order(farm.h1, farm, "HILL-4", work="lamp"), day=friday)
        calls_record(forecast=forecast(farm), now=NOW)
        kept = StayCall.objects.values_list("visit__jobs__order__number", flat=True)
        assert sorted(map(str, kept)) == ["HILL-1", "HILL-3"]

    def test_many_stays_cost_as_many_queries_as_few(self, farm: Farm) -> None:
        row = forecast(farm)
        told(farm)

        def queries() -> int:
            with CaptureQueriesContext(connection) as seen:
                calls_record(forecast=row, now=NOW)
            return len(seen)

        few = queries()
        for n in range(8):
            told(farm, start=time(7 + n, 30), number=f"HILL-{n + 10}")
        assert queries() == few
        assert StayCall.objects.count() == 9


class TestPublish:
    def test_a_published_plan_is_called_when_it_is_committed(
        self, rows: Farm, django_capture_on_commit_callbacks: object
    ) -> None:
        forecast(rows, mps=4)
        with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
            plan = plan_publish(plan=draft(rows), by=None, now=NOW)
        assert set(StayCall.objects.values_list("visit", flat=True)) == set(plan.visits.values_list("pk", flat=True))
        assert not StayCall.objects.exclude(issued_at=ISSUED).exists()

    def test_without_a_forecast_there_is_nothing_to_keep(self, farm: Farm) -> None:
        calls_record_plan(plan_id=told(farm).plan_id, now=NOW)
        assert not StayCall.objects.exists()

    def test_calls_that_fail_keep_no_plan_from_people(
        self, rows: Farm, django_capture_on_commit_callbacks: object, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        forecast(rows)

        def broken(*_: object) -> None:
            raise RuntimeError("no members today")

        monkeypatch.setattr(stay_calls, "stay_chances", broken)
        with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
            plan_publish(plan=draft(rows), by=None, now=NOW)
        assert Plan.objects.get().state == "published"


class TestScore:
    """One stay, 08:00 to 11:00 UTC tomorrow, called from the forecast of this morning."""

    @pytest.fixture
    def call(self, farm: Farm) -> StayCall:
        told(farm)
        calls_record(forecast=forecast(farm), now=NOW)
        return StayCall.objects.get()

    def scored(self, call: StayCall, row: WeatherSet, now: datetime = LATER) -> StayCall:
        weather_take(weather_set_id=row.pk, now=now)
        call.refresh_from_db()
        return call

    def test_a_calm_stay_fitted(self, farm: Farm, call: StayCall) -> None:
        row = measured(farm, [9.0] * 18, gust=[12.0] * 18, start=call.starts_at)
        self.scored(call, row)
        assert (call.fitted, call.scored_at) == (True, LATER)
        told_of = call.about["measured"]
        assert told_of["judged"][1] == "10 min wind at hub at most 9.0 m/s, limit <= 12 held"
        assert (told_of["why"], told_of["left_out"]) == ("", [])
        assert call.about["first_start"], "what was said stays beside it"

    def test_one_ten_minutes_over_the_limit_did_not_fit(self, farm: Farm, call: StayCall) -> None:
        wind = [9.0] * 17 + [12.1]
        assert self.scored(call, measured(farm, wind, start=call.starts_at)).fitted is False

    def test_wind_just_before_and_after_the_stay_is_nothing_to_it(self, farm: Farm, call: StayCall) -> None:
        wind = [20.0] * 6 + [12.0] * 18 + [20.0] * 6
        assert self.scored(call, measured(farm, wind, start=call.starts_at - timedelta(hours=1))).fitted is True

    def test_a_measured_gust_counts_and_an_unmeasured_one_is_left_out_and_said(self, farm: Farm, call: StayCall) -> None:
        """11.9 x 1.3 would pass 16 m/s: what was not measured is not guessed."""
        self.scored(call, measured(farm, [11.9] * 18, start=call.starts_at))
        assert (call.fitted, call.about["measured"]["left_out"]) == (True, ["gust at hub"])
        self.scored(call, measured(farm, [11.9] * 18, gust=[15.0] * 17 + [16.5], start=call.starts_at))
        assert (call.fitted, call.about["measured"]["left_out"]) == (False, [])

    @pytest.mark.parametrize("bad", [(0,), (17,), (5, 6, 7)])
    def test_a_flagged_value_inside_the_stay_is_not_scored(self, bad: tuple[int, ...], farm: Farm, call: StayCall) -> None:
        self.scored(call, measured(farm, [9.0] * 18, flagged=bad, start=call.starts_at))
        assert (call.fitted, call.scored_at) == (None, None)
        assert f"missing or flagged for {10 * len(bad)} of 180 min" in call.about["measured"]["why"]

    def test_a_missing_value_is_not_scored_even_where_the_rest_blew(self, farm: Farm, call: StayCall) -> None:
        self.scored(call, measured(farm, [20.0] * 17 + [float("nan")], start=call.starts_at))
        assert call.fitted is None

    def test_half_a_stay_measured_waits_for_the_other_half(self, farm: Farm, call: StayCall) -> None:
        self.scored(call, measured(farm, [9.0] * 9, start=call.starts_at))
        assert (call.fitted, "first at 09:30 UTC" in call.about["measured"]["why"]) == (None, True)
        self.scored(call, measured(farm, [9.5] * 9, start=call.starts_at + timedelta(minutes=90)))
        assert call.fitted is True

    def test_a_correction_scores_anew(self, farm: Farm, call: StayCall) -> None:
        assert self.scored(call, measured(farm, [9.0] * 18, start=call.starts_at)).fitted is True
        later = LATER + timedelta(days=1)
        self.scored(call, measured(farm, [13.0] * 18, start=call.starts_at), later)
        assert (call.fitted, call.scored_at) == (False, later)
        self.scored(call, measured(farm, [13.0] * 18, flagged=[3], start=call.starts_at))
        assert (call.fitted, call.scored_at) == (None, None)

    def test_the_same_measurement_twice_changes_nothing(self, farm: Farm, call: StayCall) -> None:
        row = measured(farm, [9.0] * 18, start=call.starts_at)
        self.scored(call, row)
        self.scored(call, row, LATER + timedelta(days=9))
        assert call.scored_at == LATER

    def test_another_mast_fills_what_one_lacks_and_the_newest_of_a_feed_speaks_for_it(self, farm: Farm, call: StayCall) -> None:
        mast, lidar = (WeatherFeed.objects.create(site=farm.hill, name=name, kind="observed", recipe={}) for name in "ab")
        self.scored(call, measured(farm, [9.0] * 18, flagged=[4], start=call.starts_at, feed=mast))
        assert call.fitted is None
        self.scored(call, measured(farm, [9.2] * 18, start=call.starts_at, feed=lidar))
        assert call.fitted is True

    def test_a_step_of_hours_tells_no_hour(self, farm: Farm, call: StayCall) -> None:
        self.scored(call, measured(farm, [5.0] * 4, start=call.starts_at, step_min=180))
        assert (call.fitted, call.about["measured"]["why"]) == (None, "nothing that its limits ask for was measured")

    def test_limits_changed_after_the_call_are_not_what_was_called(self, farm: Farm, call: StayCall) -> None:
        Limit.objects.filter(limit_set__code="tower", quantity="wind").update(value=8)
        self.scored(call, measured(farm, [9.0] * 18, start=call.starts_at))
        assert (call.fitted, call.about["measured"]["why"]) == (None, "its limits were changed after the call")

    def test_a_stay_outside_daylight_did_not_fit_where_daylight_was_asked(self, farm: Farm) -> None:
        """Sunrise at HILL on 11 June is at 02:49 UTC (astral)."""
        for hour, fitted in ((3, False), (10, True)):
            order = build_order(farm.h1, farm, f"HILL-{hour}", work="blade-look")
            visit = build_visit(
                build_plan(farm, first_day=TODAY - timedelta(days=hour)), farm, order, day=TODAY, start=time(hour)
            )
            call = called(visit, 0.9)
            StayCall.objects.filter(pk=call.pk).update(limits=["blade"])
            self.scored(call, measured(farm, [5.0 + hour / 10] * 48, start=visit.starts_at))
            assert call.fitted is fitted

    def test_years_already_past_call_nothing_and_score_nothing(self, farm: Farm, call: StayCall) -> None:
        row = measured(farm, [9.0] * 18, start=call.starts_at)
        WeatherSet.objects.filter(pk=row.pk).update(kind="past years")
        assert self.scored(call, row).fitted is None
        weather_take(weather_set_id=987_654)

    def test_many_calls_cost_as_many_queries_as_few(self, farm: Farm) -> None:
        def queries(count: int, mps: float) -> int:
            StayCall.objects.all().delete()
            Visit.objects.all().delete()
            for visit in past_visits(farm, count):
                called(visit, 0.9)
            row = measured(farm, [mps] * 24 * count, start=NOW - timedelta(days=count), step_min=60)
            with CaptureQueriesContext(connection) as seen:
                weather_take(weather_set_id=row.pk, now=LATER)
            assert not StayCall.objects.filter(fitted__isnull=True).exists()
            return len(seen)

        few = queries(2, 5.0)
        WeatherSet.objects.all().delete()
        assert queries(20, 5.1) == few


class TestCatchUp:
    def test_it_makes_good_what_a_lost_message_left(self, farm: Farm) -> None:
        told(farm)
        forecast(farm)
        past = called(past_visits(farm, 1)[0], 0.9)
        measured(farm, [5.0] * 24, start=past.starts_at)
        calls_catch_up(now=NOW)
        assert StayCall.objects.filter(fitted__isnull=True, starts_at__gt=NOW).count() == 1
        past.refresh_from_db()
        assert past.fitted is True

    def test_one_site_that_fails_keeps_nobody_from_theirs(
        self, farm: Farm, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        forecast(farm)
        monkeypatch.setattr(stay_calls, "stay_chances", lambda *_: 1 / 0)
        past = called(past_visits(farm, 1)[0], 0.9)
        measured(farm, [5.0] * 24, start=past.starts_at)
        with caplog.at_level(logging.ERROR):
            calls_catch_up(now=NOW)
        past.refresh_from_db()
        assert (past.fitted, "Hillside" in caplog.text) == (True, True)


@pytest.mark.django_db(transaction=True)
def test_weather_is_queued_when_it_is_committed(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[int] = []
    monkeypatch.setattr(tasks.weather_arrived, "delay", sent.append)
    row = forecast(farm)
    tasks.weather_queue(row)
    assert sent == [row.pk]
    visit = told(farm)
    tasks.weather_arrived(row.pk)
    tasks.stay_calls_sweep()
    assert StayCall.objects.get().visit == visit
