"""What holds for every rule, whatever the record."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.weather import quality
from scheduling.weather.series import Flag, Series
from tests.scheduling.weather.builders import wind

KINDS = [
    ("wind", 80.0, 10.0, 8.0), ("wind", 80.0, 10.0, 8.0), ("wind", 40.0, 10.0, 6.0), ("gust", 80.0, 0.05, 11.0),
    ("direction", 78.0, 10.0, 200.0), ("temperature", 2.0, 10.0, 0.0), ("humidity", 2.0, 10.0, 95.0),
    ("pressure", 2.0, 10.0, 95_000.0), ("dew_point", 2.0, 10.0, -1.0), ("temperature", 80.0, 10.0, 0.0),
]  # fmt: skip


@st.composite
def records(draw: st.DrawFn) -> list[Series]:
    """Some of the columns of a mast, with runs, holes, zeros, leaps and factors in them."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    count, step = draw(st.integers(0, 120)), draw(st.sampled_from([10, 30, 60, 360]))
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=6))
    return [_record(rng, kind, count, step, f"c{n}") for n, kind in enumerate(kinds)]


def _record(rng: np.random.Generator, kind: tuple[str, float, float, float], count: int, step: int, name: str) -> Series:
    variable, height, averaging, base = kind
    values = base + np.round(rng.normal(0, 0.2 * max(base, 5.0) ** 0.5, count).cumsum() * 0.3, 2)
    for _ in range(rng.integers(0, 4)):
        first, length = rng.integers(0, count + 1), rng.integers(1, 60)
        here = slice(first, first + length)
        fault = rng.choice(["run", "hole", "zero", "leap", "factor"])
        values[here] = {
            "run": values[here][:1], "hole": np.nan, "zero": 0.0, "leap": values[here] + 25.0, "factor": values[here] * 3.6,
        }[fault] if len(values[here]) else values[here]  # fmt: skip
    series = wind(values, variable=variable, height_m=height, averaging_min=averaging, step_min=step, name=name)
    noted = np.where(rng.random(count) < 0.05, int(Flag.CONFLICT), 0).astype(np.uint16)
    return replace(series, flags=series.flags | noted)


@given(records())
@settings(max_examples=80, deadline=None)
def test_flags_only_add_and_values_stay(record: list[Series]) -> None:
    for before, after in zip(record, quality.check(record), strict=True):
        assert ((before.flags & after.flags) == before.flags).all()
        assert np.array_equal(before.values, after.values, equal_nan=True)
        assert np.isnan(after.usable()[after.flags != 0]).all()


@given(records(), st.integers(-100_000, 100_000))
@settings(max_examples=40, deadline=None)
def test_the_date_plays_no_part(record: list[Series], minutes: int) -> None:
    moved = [replace(one, start=one.start + timedelta(minutes=minutes)) for one in record]
    for here, there in zip(quality.check(record), quality.check(moved), strict=True):
        assert np.array_equal(here.flags, there.flags)


@given(records(), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_the_order_of_the_columns_plays_no_part(record: list[Series], random: object) -> None:
    shuffled = list(record)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    expected = {one.name: one.flags for one in quality.check(record)}
    for one in quality.check(shuffled):
        assert np.array_equal(one.flags, expected[one.name]), one.name


@given(records())
@settings(max_examples=40, deadline=None)
def test_a_second_look_finds_nothing_new(record: list[Series]) -> None:
    once = quality.check(record)
    for first, second in zip(once, quality.check(once), strict=True):
        assert np.array_equal(first.flags, second.flags)


@given(records())
@settings(max_examples=40, deadline=None)
def test_a_series_on_another_grid_says_nothing(record: list[Series]) -> None:
    other = wind([0.0] * 50, step_min=15, name="other", start=record[0].start + timedelta(minutes=3))
    for alone, beside in zip(quality.check(record), quality.check([*record, other]), strict=False):
        assert np.array_equal(alone.flags, beside.flags)
