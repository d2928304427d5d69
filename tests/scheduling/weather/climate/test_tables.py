"""Counts by week and month, and waits, against plain loops and records counted by others."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.access import Field, Limit, LimitSet, windows
from scheduling.weather.climate import Past, in_working_day, joined, judged, month_tables, over_years, stay_steps, week_tables
from scheduling.weather.climate.tables import Table
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.records import mast, merra2
from tests.shared import shared_path

NAN = float("nan")


def past(
    values: list[float] | np.ndarray,
    limit: float,
    steps: int,
    *,
    zone: str = "UTC",
    day: tuple[float, float] = (0, 24),
    **changes: object,
) -> Past:
    series = wind(values, **changes)
    known = series.usable()
    counts = in_working_day(series, zone, *day)
    return Past(series, known <= limit, np.isnan(known), counts, steps, zone)


#: FACTS: 24 hourly means; limit 10, stay 4 h.
DAY = [6, 7, 8, 9, 11, 12, 9, 8, 7, 6, 6, 7, 10, 11, 13, 12, 9, 8, 8, 7, 7, 9, 10, 9]


def test_the_worked_day() -> None:
    """Definitions of the persistency help page of waveclimate.com; the numbers computed by hand: 19 good hours, ten starts,
    a wait of 6 h from hour 10, 36/21 h in the mean over the hours 0 to 20, the last three unknown."""
    one = past(DAY, 10, 4)
    assert one.good.sum() == 19
    assert np.flatnonzero(one.starts).tolist() == [0, 6, 7, 8, 9, 16, 17, 18, 19, 20]
    assert one.wait_h[10] == 6
    assert np.isnan(one.wait_h[21:]).all()
    assert one.wait_h[:21].mean() == pytest.approx(36 / 21)
    longer = past(DAY, 10, 6)
    assert np.flatnonzero(longer.starts).tolist() == [6, 7, 16, 17, 18]
    assert longer.workable.sum() == 15


def test_the_boundary_rule_matters() -> None:
    fields = {"wind": Field(np.array([DAY], dtype=float), "hub", 10.0, 60.0)}
    good = [judged(fields, LimitSet("x", (Limit("wind", op, 10.0),)))[0].sum() for op in ("<=", "<")]
    assert good == [19, 17]


def test_known_to_be_passed_beats_unknown() -> None:
    fields = {
        "wind": Field(np.array([[5.0, 15.0, NAN, 5.0, NAN]]), "hub", 10.0, 60.0),
        "temperature": Field(np.array([[3.0, NAN, 3.0, NAN, -20.0]]), None, 10.0, 60.0),
    }
    good, unknown = judged(fields, LimitSet("x", (Limit("wind", "<=", 12.0), Limit("temperature", ">=", -10.0))))
    assert good.tolist() == [True, False, False, False, False]
    assert unknown.tolist() == [False, False, True, True, False]
    with pytest.raises(ValueError, match="rain: the past weather holds none"):
        judged(fields, LimitSet("x", (Limit("rain", "<=", 0.0),)))


@given(st.lists(st.sampled_from([5.0, 15.0, NAN]), min_size=1, max_size=60), st.integers(1, 5))
def test_waits_against_a_plain_loop(values: list[float], steps: int) -> None:
    """A wait is known only where every way of filling the unknown steps gives the same."""
    one = past(values, 12, steps)
    for n in range(len(values)):
        waits = []
        for filled in (5.0, 15.0):
            calm = [(filled if np.isnan(v) else v) <= 12 for v in values]
            fits = [s for s in range(n, len(values) - steps + 1) if all(calm[s : s + steps])]
            waits.append(fits[0] - n if fits else None)
        if waits[0] is not None and waits[0] == waits[1]:
            assert one.wait_h[n] == waits[0]
        else:
            assert np.isnan(one.wait_h[n])


def test_a_mast_year_of_ten_minutes() -> None:
    """brightwind's mast, 80 m, a year without a gap: 34,639 start slots for 6 h at 12 m/s (counted with pandas)."""
    wind_mps = mast()[0]
    good = wind_mps.values <= 12
    one = Past(wind_mps, good, np.zeros_like(good), np.ones_like(good), stay_steps(360, 10), "UTC")
    assert one.starts.sum() == 34_639
    hourly = wind_mps.values.reshape(-1, 6)
    assert ((hourly.mean(axis=1) <= 12) & (hourly.max(axis=1) > 12)).sum() == 612
    weeks = week_tables(one)["workable_h"]
    assert weeks.years == (2016, 2017)
    stamps = wind_mps.times()
    tenth = (np.datetime64("2017-03-06") <= stamps) & (stamps < np.datetime64("2017-03-13"))
    assert weeks.values[1, 9] == pytest.approx(one.workable[tenth].sum() / 6)


def test_two_years_of_reanalysis_month_by_month() -> None:
    """Waits and days of MERRA-2 at 50 m against a plain scan of every month."""
    series = merra2()[0]
    good = series.values <= 12
    one = Past(series, good, np.zeros_like(good), np.ones_like(good), 6, "UTC")
    assert good.mean() == pytest.approx(0.865, abs=0.0005)  # share of hours at or below 12 m/s, counted with pandas
    months = month_tables(one)
    assert months["wait_h"].years == (2015, 2016)
    stamps = series.times()
    starts = [n for n in range(len(good) - 5) if good[n : n + 6].all()]
    for month, row, column in (("2015-01", 0, 0), ("2016-02", 1, 1), ("2016-07", 1, 6)):
        of = np.flatnonzero(stamps.astype("datetime64[M]") == np.datetime64(month))
        waits = [next(s for s in starts if s >= n) - n for n in of]
        assert months["wait_h"].values[row, column] == pytest.approx(np.mean(waits))
        assert months["wait_p90_h"].values[row, column] == pytest.approx(np.quantile(waits, 0.9))
        days = {n // 24 for n in starts} & {n // 24 for n in of}
        assert months["fits"].values[row, column] == pytest.approx(len(days) / (len(of) / 24))
    assert np.nanmax(months["wait_always_good_h"].values) == 0.0


@pytest.mark.parametrize(("day", "hours"), [("2025-03-30", 9), ("2025-10-26", 11)])
def test_a_window_over_a_clock_change_keeps_its_local_hours(day: str, hours: int) -> None:
    """00:00 to 10:00 in Berlin: nine hours when the clocks go forward, eleven when they go back."""
    start = datetime.fromisoformat(day).replace(tzinfo=UTC)
    one = past(np.full(72, 5.0), 12, 1, zone="Europe/Berlin", day=(0, 10), start=start.replace(day=start.day - 1))
    number = (start.date() - datetime(1970, 1, 1).date()).days
    assert one.counts[one.days == number].sum() == hours
    assert one.workable[one.days == number].sum() == hours


def test_the_working_day_breaks_runs_and_the_night_is_waited_for() -> None:
    one = past(np.full(7 * 24, 5.0), 12, 10, day=(7, 17))
    assert one.starts.sum() == 7
    assert one.workable.sum() == 70
    assert one.wait_h[8] == 23
    assert one.wait_always_good_h[8] == 23


def test_unknown_nights_do_not_matter_to_a_working_day() -> None:
    values = np.full((7, 24), 5.0)
    values[:, 17:] = NAN
    one = past(values.ravel(), 12, 4, day=(7, 17))
    table = week_tables(one)["workable_h"]
    assert table.values[0, 22] == 70.0
    assert not table.left_out[0, 22]


def test_a_week_with_too_much_unknown_is_left_out_and_listed() -> None:
    values = np.full(21 * 24, 5.0)
    values[7 * 24 : 7 * 24 + 16] = NAN  # 9.5 % of the week
    values[14 * 24 : 14 * 24 + 17] = NAN  # 10.1 %
    table = week_tables(past(values, 12, 4))["workable_h"]
    assert table.values[0, 22:25].tolist()[:2] == [168.0, 152.0]
    assert np.isnan(table.values[0, 24])
    assert np.flatnonzero(table.left_out[0]).tolist() == [24]


def test_lost_energy_in_workable_hours_and_in_any() -> None:
    values = np.full(7 * 24, 15.0)
    values[8:14] = 5.0
    made = week_tables(past(values, 12, 6), np.where(values == 5.0, 0.4, 2.0))
    assert made["lost_mwh_h"].values[0, 22] == pytest.approx(0.4)
    assert made["lost_any_mwh_h"].values[0, 22] == pytest.approx((6 * 0.4 + 162 * 2.0) / 168)
    storm = week_tables(past(np.full(7 * 24, 15.0), 12, 6), np.full(7 * 24, 2.0))
    assert np.isnan(storm["lost_mwh_h"].values[0, 22])


def test_quantiles_need_three_years() -> None:
    """Type 7 of Hyndman and Fan (1996): of 10, 20, 30 and 50 the tenth part lies at 13, nine tenths at 44."""
    four = over_years(np.array([30.0, NAN, 10.0, 50.0, 20.0]))
    assert (four.years, four.mean, four.least, four.most) == (4, 27.5, 10.0, 50.0)
    assert (four.p10, four.p50, four.p90) == pytest.approx((13.0, 25.0, 44.0))
    two = over_years(np.array([10.0, 20.0]))
    assert (two.years, two.mean, two.p10, two.p50, two.p90) == (2, 15.0, None, None, None)
    assert over_years(np.array([NAN])).mean is None


def test_records_are_joined_cell_by_cell() -> None:
    nothing = np.zeros((1, 3), dtype=bool)
    first = Table((2015,), np.array([[1.0, NAN, NAN]]), np.array([[False, True, True]]))
    second = Table((2015,), np.array([[9.0, 2.0, NAN]]), nothing)
    third = Table((2014,), np.array([[NAN, NAN, 3.0]]), nothing)
    both = joined([first, second, third])
    assert both.years == (2014, 2015)
    np.testing.assert_equal(both.values, [[NAN, NAN, 3.0], [1.0, 2.0, NAN]])
    assert both.left_out.tolist() == [[False, False, False], [False, False, True]]


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="working day"):
        in_working_day(wind([5.0]), "UTC", 17, 7)
    with pytest.raises(ValueError, match="stay_min"):
        stay_steps(0, 60)
    assert [stay_steps(minutes, 60) for minutes in (1, 60, 61, 240)] == [1, 1, 2, 4]


def test_the_masts_outage_of_may_2016_is_unknown_time() -> None:
    """From 2016-05-11 22:50 to 05-31 15:20 the mast is silent: weeks 19 to 22 have no figure, no wait crosses the outage, and
    the longest run at or below 12 m/s is 147 slots by time, not 196 by rows (counted with pandas).
    """
    table = pd.read_csv(shared_path("data/brightwind_mast/mast_gap_may2016.csv"), index_col=0, parse_dates=True)
    grid = pd.date_range("2016-05-01", "2016-06-12", freq="10min", inclusive="left")
    start = datetime(2016, 5, 1, tzinfo=UTC)
    one = past(table["Spd80mN"].reindex(grid).to_numpy(float), 12, 6, step_min=10, start=start)
    assert max(length for _, length in windows(one.good)) == 147
    assert week_tables(one)["workable_h"].years == ()
    silent = (np.datetime64("2016-05-11T23:10") <= one.grid.times()) & (one.grid.times() < np.datetime64("2016-05-31T15:20"))
    assert not one.workable[silent].any()
    assert np.isnan(one.wait_h[silent]).all()


@given(st.integers(0, 10_000), st.sampled_from([0, 9]), st.floats(6, 14), st.integers(1, 8))
def test_laws_of_counting(seed: int, opens: int, limit: float, steps: int) -> None:
    """A higher limit never takes hours, a longer stay never gives any, nothing unknown opens, all hours are in some week."""
    rng = np.random.default_rng(seed)
    values = np.where(rng.random(28 * 24) < 0.02, NAN, 10 + 3 * np.sin(np.arange(28 * 24) / 9) + rng.normal(size=28 * 24))
    one = past(values, limit, steps, zone="Europe/Berlin", day=(opens, 24))
    for easier in (past(values, limit + 1, steps, zone="Europe/Berlin", day=(opens, 24)), past(values, limit, 1, day=(0, 24))):
        assert (easier.workable | ~one.workable).all()
    assert not (one.workable & one.unknown).any()
    table = week_tables(one)["workable_h"]
    if not table.left_out.any():
        assert np.nansum(table.values) == pytest.approx(one.workable.sum() * one.step_h)
