from __future__ import annotations

from dataclasses import replace

from scheduling.day.decide import decide
from scheduling.day.explain import clock, percent, verdict_text
from tests.scheduling.day.farm import HOUR, MORNING, with_wind


def test_a_go_says_when_and_until_when_and_who_decides() -> None:
    text = verdict_text(MORNING, decide(MORNING)[0])
    assert text.startswith("Team 1 at T1: go from 08:00, everybody down by 17:00 (way down begins by 16:30); forecast 3.0 h old.")
    assert "wind at hub 8.4 m/s" not in text  # the value that 80 % of five members keep is the fourth, 8.3
    assert "wind at hub 8.3 m/s at 08:00, the limit is <= 12.0 m/s" in text
    assert "competent person on site decide" in text


def test_a_no_go_names_no_start() -> None:
    problem = with_wind(dict.fromkeys(range(24), 20.0))
    text = verdict_text(problem, decide(problem)[0])
    assert text.startswith("Team 1 at T1: no-go; forecast 3.0 h old.")
    assert "down by" not in text


def test_minutes_run_through_the_change_of_clocks() -> None:
    """29 March 2026 in Berlin has 23 hours (zoneinfo): midnight is 23:00 UTC, 01:59 is followed by 03:00."""
    spring = replace(MORNING, date="2026-03-29", origin="2026-03-28T23:00:00+00:00")
    assert [clock(spring, m) for m in (119, 120, 1379)] == ["01:59 (UTC+0100)", "03:00 (UTC+0200)", "23:59 (UTC+0200)"]
    assert clock(spring, 1380) == "2026-03-30 00:00 (UTC+0200)"


def test_the_doubled_hour_is_told_apart() -> None:
    """25 October 2026 in Berlin has 25 hours (zoneinfo)."""
    autumn = replace(MORNING, date="2026-10-25", origin="2026-10-24T22:00:00+00:00")
    assert [clock(autumn, m) for m in (150, 210)] == ["02:30 (UTC+0200)", "02:30 (UTC+0100)"]
    assert clock(autumn, 25 * HOUR - 1) == "23:59 (UTC+0100)"


def test_ages_and_stays_are_real_minutes_on_the_day_of_the_change() -> None:
    """A forecast issued at 22:00 local on the evening before is 8 h old at 07:00 local, not 9."""
    problem = replace(MORNING, date="2026-03-29", origin="2026-03-28T23:00:00+00:00", issue_min=-HOUR - 60, now_min=6 * HOUR)
    verdict = decide(problem)[0]
    assert clock(problem, problem.now_min) == "07:00 (UTC+0200)"
    assert verdict.forecast_age_h == 8.0
    assert "go from 09:00 (UTC+0200)" in verdict_text(problem, verdict)


def test_a_share_is_never_rounded_up() -> None:
    assert [percent(v) for v in (0.799, 0.8, 0.29, 1.0)] == ["79 %", "80 %", "29 %", "100 %"]
