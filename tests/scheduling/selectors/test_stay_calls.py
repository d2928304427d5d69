"""How often calls were right, counted by hand."""

from __future__ import annotations

from datetime import timedelta
from math import isnan

import pytest

from scheduling.models import StayCall
from scheduling.selectors.stay_calls import calls_ended, calls_scored, forecasts_latest, lead_day_of, skill_of, stays_told
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_plan
from tests.scheduling.stay_scenes import ISSUED, called, forecast, past_visits, told


@pytest.mark.parametrize(("lead_h", "day"), [(0, 1), (23.9, 1), (24, 2), (47.9, 2), (48, 3), (240, 11)])
def test_lead_days_are_counted_from_one(lead_h: float, day: int) -> None:
    assert lead_day_of(lead_h) == day


def test_the_last_call_of_a_lead_day_counts_for_a_stay(farm: Farm) -> None:
    visit = past_visits(farm, 1)[0]
    for lead_h, chance in ((6, 0.8), (12, 0.5), (30, 0.4), (18, 0.9)):
        called(visit, chance, lead_h=lead_h, fitted=True)
    assert [(one.lead_day, one.chance) for one in calls_scored(site=farm.hill, now=NOW)] == [(1, 0.8), (2, 0.4)]


def test_a_stay_that_two_plans_hold_counts_once(farm: Farm) -> None:
    visit = past_visits(farm, 1)[0]
    called(visit, 0.9, fitted=True)
    other = build_plan(farm, state="superseded")
    visit.pk, visit.plan = None, other
    visit.save()
    called(visit, 0.9, fitted=True)
    assert StayCall.objects.count() == 2
    assert len(calls_scored(site=farm.hill, now=NOW)) == 1


def test_only_known_outcomes_of_the_last_year_at_this_site(farm: Farm) -> None:
    known, unknown = past_visits(farm, 2)
    called(known, 0.9, fitted=True)
    called(unknown, 0.9)
    assert len(calls_scored(site=farm.hill, now=NOW)) == 1
    assert calls_scored(site=farm.hill, now=NOW + timedelta(days=366)) == []
    assert calls_scored(site=farm.plain, now=NOW) == []


def test_scores_by_hand(farm: Farm) -> None:
    """20 stays called 0.8 of which 16 could be done, 20 called 0.3 of which 6 could.

    Brier 0.5 (0.16 + 0.21) = 0.185, no reliability part; all in all 22 of 40 could be done, so somebody without a forecast
    scores 0.55 x 0.45 = 0.2475: skill 1 - 0.185 / 0.2475 = 0.2525. Go from 0.8 on: 16 hits, 4 gone wrongly, 6 missed, 14 right.
    """
    for n, visit in enumerate(past_visits(farm, 40)):
        called(visit, 0.8 if n < 20 else 0.3, fitted=n < 16 or 20 <= n < 26)
    skill = skill_of(site=farm.hill, now=NOW)
    score = skill.score
    assert score.enough
    assert (score.stays, score.calls.n) == (40, 40)
    assert score.brier.score == pytest.approx(0.185)
    assert score.brier.reliability == pytest.approx(0, abs=1e-12)
    assert score.climate == pytest.approx(0.55)
    assert score.skill == pytest.approx(0.2525, abs=1e-4)
    assert (score.calls.hits, score.calls.false_go, score.calls.missed, score.calls.right_no) == (16, 4, 6, 14)
    assert {(one.low, one.n, one.share_fitted) for one in skill.bins if one.n} == {(0.8, 20, 0.8), (0.3, 20, 0.3)}
    assert [one.lead_day for one in skill.by_lead] == [2]


def test_a_lead_day_is_scored_for_itself(farm: Farm) -> None:
    for visit in past_visits(farm, 20):
        called(visit, 0.9, lead_h=10, fitted=True)
        called(visit, 0.2, lead_h=40, fitted=True)
    near = skill_of(site=farm.hill, now=NOW, lead_day=1)
    assert (near.score.calls.n, near.score.calls.hits, near.score.calls.missed) == (20, 20, 0)
    assert [one.calls.missed for one in near.by_lead] == [0, 20]
    assert isnan(near.score.skill), "every stay could be done: there is nothing to be better than"


def test_too_few_calls_have_no_scores(farm: Farm) -> None:
    for visit in past_visits(farm, 19):
        called(visit, 0.9, fitted=True)
    score = skill_of(site=farm.hill, now=NOW).score
    assert not score.enough
    assert isnan(score.brier.score)
    assert isnan(score.climate)
    assert score.calls.hits == 19


def test_no_call_at_all(farm: Farm) -> None:
    skill = skill_of(site=farm.hill, now=NOW)
    assert (skill.score.calls.n, skill.by_lead) == (0, ())


def test_the_last_stays_show_their_last_call(farm: Farm) -> None:
    first, second = past_visits(farm, 2)
    called(second, 0.5, lead_h=20)
    last = called(first, 0.7, lead_h=5)
    called(first, 0.9, lead_h=50)
    assert [call.chance for call in calls_ended(site=farm.hill, now=NOW)] == [0.7, 0.5]
    assert calls_ended(site=farm.hill, now=NOW, most=1) == [last]


def test_a_stay_that_a_newer_plan_took_back_is_not_among_the_last(farm: Farm) -> None:
    visit = past_visits(farm, 1)[0]
    called(visit, 0.9)
    assert len(calls_ended(site=farm.hill, now=NOW)) == 1
    build_plan(farm, first_day=visit.day, last_day=TODAY + timedelta(days=20), published_at=NOW)
    assert calls_ended(site=farm.hill, now=NOW) == []


def test_of_one_issue_the_file_that_came_last(farm: Farm) -> None:
    forecast(farm, mps=4, issued_at=NOW - timedelta(hours=9))
    forecast(farm, mps=5)
    newest = forecast(farm, mps=6)
    forecast(farm, issued_at=NOW + timedelta(hours=1))
    found = forecasts_latest(site=farm.hill, at=NOW)
    assert [row.issued_at for row in found] == [ISSUED, NOW - timedelta(hours=9)]
    assert found[0] == newest


def test_stays_told_end_with_their_start(farm: Farm) -> None:
    visit = told(farm)
    assert list(stays_told(site=farm.hill, after=visit.starts_at - timedelta(seconds=1))) == [visit]
    assert not stays_told(site=farm.hill, after=visit.starts_at)
    assert not stays_told(site=farm.plain, after=NOW)
