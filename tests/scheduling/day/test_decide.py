from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.day.check import check
from scheduling.day.decide import decide
from scheduling.day.problem import Gate, Limit, Measured, Person, Problem, Verdict
from tests.scheduling.day.farm import ANNA, BELA, HOUR, MORNING, STAY, WIND, winds, with_stay, with_wind


def only(problem: Problem) -> Verdict:
    """The verdict on the one stay, which the second pair of eyes must bear out."""
    verdicts = decide(problem)
    assert check(problem, verdicts) == ()
    return verdicts[0]


def codes(verdict: Verdict) -> list[str]:
    return [reason.code for reason in verdict.reasons]


def test_a_calm_day_is_go_at_the_planned_start_until_the_end_of_the_shift() -> None:
    v = only(MORNING)
    assert (v.verdict, v.start_min, v.first_safe_min, v.last_safe_min) == ("go", 8 * HOUR, 7 * HOUR, 14 * HOUR)
    assert (v.must_be_down_min, v.start_down_min) == (17 * HOUR, 17 * HOUR - 30)
    assert (v.chance, v.chance_best, v.forecast_age_h) == (1.0, 1.0, 3.0)
    assert "competent person on site decide" in v.caution


def test_everybody_is_down_before_the_wind_comes() -> None:
    v = only(with_wind({13: 14.0}))
    assert (v.verdict, v.last_safe_min, v.must_be_down_min) == ("go", 14 * HOUR, 13 * HOUR)


def test_the_way_down_must_fit_too() -> None:
    """The stay ends at 11:00; wind from 10:00 on blocks only its last hour, packing and the way down."""
    v = only(with_wind({10: 14.0}))
    assert (v.verdict, v.start_min) == ("wait", 11 * HOUR)
    assert codes(v) == ["weather", "later"]


def test_wait_names_the_first_start_that_fits() -> None:
    v = only(with_wind({8: 13.0, 9: 13.0}))
    assert (v.verdict, v.start_min, v.first_safe_min) == ("wait", 10 * HOUR, 10 * HOUR)
    assert v.must_be_down_min == 17 * HOUR
    assert "0 % of the members" in v.reasons[0].text


def test_no_go_where_no_start_fits_and_the_limit_that_binds_is_named() -> None:
    v = only(with_wind(dict.fromkeys(range(9, 17), 15.5)))
    assert (v.verdict, v.start_min, v.must_be_down_min) == ("no-go", None, None)
    assert v.binding is not None
    assert (v.binding.name, v.binding.value, v.binding.limit, v.binding.at_min) == ("wind at hub", 15.5, 12.0, 9 * HOUR)
    assert codes(v) == ["weather", "none today"]


def test_an_earlier_start_alone_is_not_go() -> None:
    problem = with_wind(dict.fromkeys(range(10, 24), 15.0))
    assert only(problem).verdict == "no-go"
    assert codes(only(problem))[-1] == "earlier"
    assert only(problem).first_safe_min == 7 * HOUR


def test_a_planned_start_that_is_past_is_judged_from_now() -> None:
    late = replace(MORNING, now_min=8 * HOUR + 10, issue_min=3 * HOUR)
    assert only(late).start_min == 8 * HOUR + 10
    blown = replace(late, series={"wind": winds({11: 20.0})})
    assert (only(blown).verdict, only(blown).start_min) == ("wait", 12 * HOUR)


def test_confidence_counts_members_stay_by_stay() -> None:
    """One of five members is windy at 9, another at 10: the stay fits in three of five, though each hour is good in four."""
    rows = [list(row) for row in winds({})]
    rows[0][9] = rows[1][10] = 20.0
    problem = replace(MORNING, series={"wind": tuple(map(tuple, rows))}, confidence=0.8)
    assert only(problem).chance == pytest.approx(0.6)
    assert only(problem).verdict == "wait"
    assert only(replace(problem, confidence=0.6)).verdict == "go"


@pytest.mark.parametrize(("age_h", "verdict"), [(0.0, "go"), (12.0, "go"), (12.1, "no-go"), (72.0, "no-go"), (-0.1, "no-go")])
def test_a_stale_forecast_is_never_go(age_h: float, verdict: str) -> None:
    v = only(replace(MORNING, issue_min=MORNING.now_min - round(age_h * 60)))
    assert v.verdict == verdict
    if verdict == "no-go":
        assert "stale forecast" in codes(v)
        assert (v.first_safe_min, v.chance, v.chance_best) == (None, 0.0, 0.0)


def test_a_stale_forecast_says_its_age_and_what_to_do() -> None:
    text = only(replace(MORNING, issue_min=MORNING.now_min - 15 * HOUR)).reasons[0].text
    assert "15.0 h old" in text
    assert "fetch a new one" in text


def test_no_forecast_is_no_go() -> None:
    assert codes(only(replace(MORNING, issue_min=None)))[0] == "no forecast"
    assert only(replace(MORNING, series={}, issue_min=None)).verdict == "no-go"


def test_a_limit_without_its_series_is_no_go() -> None:
    sets = {"nacelle": (WIND, Limit("gust at hub", "gust", "<=", 16.0))}
    v = only(replace(MORNING, limit_sets=sets))
    assert v.verdict == "no-go"
    assert "holds no gust at hub" in v.reasons[0].text


@pytest.mark.parametrize("nothing", [None, float("nan")])
def test_an_unknown_value_never_passes(nothing: float | None) -> None:
    v = only(with_wind({9: nothing}))
    assert (v.verdict, v.start_min) == ("wait", 10 * HOUR)
    assert "unknown" in v.reasons[0].text


@pytest.mark.parametrize(
    ("op", "value", "verdict"), [("<=", 12.0, "go"), ("<", 12.0, "no-go"), (">=", 12.0, "go"), (">", 12.0, "no-go")]
)
def test_the_limit_itself_passes_or_not_as_its_op_says(op: str, value: float, verdict: str) -> None:
    """Same series, "<=" and "<" (and their mirror images) differ exactly at the limit."""
    problem = replace(with_wind(dict.fromkeys(range(24), 12.0)), limit_sets={"nacelle": (replace(WIND, op=op, value=value),)})
    assert only(problem).verdict == verdict


def test_people() -> None:
    carl = Person("Carl", False, True, why_not="working at height ended 2026-03-01")
    learner = Person("Dora", True, True, learner=True)
    cases = {
        (ANNA,): ["people", "rescue"],
        (ANNA, BELA, carl): ["person"],
        (ANNA, learner): ["people", "rescue"],
        (ANNA, replace(BELA, rescue=False)): ["rescue"],
    }
    for people, expected in cases.items():
        v = only(with_stay(people=people))
        assert (v.verdict, codes(v)) == ("no-go", expected)
    assert "working at height ended 2026-03-01" in only(with_stay(people=(ANNA, BELA, carl))).reasons[0].text


def test_gates() -> None:
    lift = Gate("lift inspection", "lift", True, "due 2026-02-28")
    assert only(with_stay(gates=(lift,))).verdict == "no-go"
    assert only(with_stay(gates=(lift,), by="ladder")).verdict == "go"
    assert only(with_stay(gates=(replace(lift, shut=False),))).verdict == "go"
    ladder = Gate("fall arrest inspection", "climbing", True)
    assert codes(only(with_stay(gates=(ladder,)))) == ["gate"]
    assert only(with_stay(gates=(ladder,), uses=("entry",))).verdict == "go"


def test_measured_wind_above_the_limit_now_stops_whatever_the_forecast_says() -> None:
    problem = replace(with_stay(planned_start_min=6 * HOUR, shift_start_min=6 * HOUR), measured={"wind": (Measured(350, 12.1),)})
    v = only(problem)
    assert (v.verdict, v.start_min) == ("wait", 7 * HOUR)
    assert codes(v) == ["measured", "later"]
    assert "12.1 m/s" in v.reasons[0].text


def test_back_up_only_after_the_hold() -> None:
    """12.1 at 10:00, within the limit from 10:10, hold 20 min: back up from 10:30 (common practice, no source)."""
    readings = (Measured(600, 12.1), Measured(610, 11.0), Measured(615, 11.5))
    base = replace(with_stay(planned_start_min=600), slot_min=10, slots=144, series={"wind": ((8.0,) * 144,)})
    assert only(replace(base, now_min=615, issue_min=300, measured={"wind": readings})).start_min == 630
    later = only(replace(base, now_min=630, issue_min=300, measured={"wind": readings}))
    assert (later.verdict, later.start_min) == ("go", 630)


@pytest.mark.parametrize("nothing", [None, float("nan")])
def test_a_reading_without_a_value_is_not_calm(nothing: float | None) -> None:
    problem = replace(MORNING, now_min=8 * HOUR, measured={"wind": (Measured(8 * HOUR, nothing),)})
    v = only(problem)
    assert (v.verdict, codes(v)[0]) == ("wait", "measured")
    assert "no usable value" in v.reasons[0].text


def test_daylight_is_asked_for_the_whole_stay() -> None:
    assert only(with_stay(daylight=True)).verdict == "no-go"
    light = replace(with_stay(daylight=True), daylight=(8 * HOUR + 30, 12 * HOUR + 30))
    v = only(light)
    assert (v.verdict, v.start_min, v.last_safe_min, v.must_be_down_min) == ("wait", 9 * HOUR, 9 * HOUR, 12 * HOUR + 30)
    assert codes(v)[0] == "daylight"


def test_a_stay_that_leaves_the_shift_is_not_go() -> None:
    v = only(with_stay(planned_start_min=15 * HOUR))
    assert (v.verdict, codes(v)) == ("no-go", ["shift", "earlier"])


def test_every_stay_has_its_verdict() -> None:
    two = replace(MORNING, stays=(STAY, replace(STAY, id="V2", planned_start_min=12 * HOUR)))
    assert [v.start_min for v in decide(two)] == [8 * HOUR, 12 * HOUR]
    assert decide(replace(MORNING, stays=())) == ()
