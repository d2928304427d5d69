from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from scheduling.weather.readers import AnswerNeeded, Reading, ReadRefused, read
from scheduling.weather.recipe import Recipe
from scheduling.weather.series import Flag
from tests.scheduling.weather.readers.recipes import recipe as plain


def members_matrix(series):  # type: ignore[no-untyped-def]
    """[members, n], NaN where a value is flagged."""
    return np.stack([one.usable() for one in sorted(series, key=lambda one: one.member)])


HEAD = "issue,valid,member,ws"
ISSUES = ("2025-06-01T18:00Z", "2025-06-02T00:00Z")


def recipe(**changes: Any) -> Recipe:
    roles = {"issue": "issue", "member": "member"}
    return plain(**{"reader": "ensemble", "time_columns": ["valid"], "zone": "in text", "roles": roles} | changes)


def rows(value: Callable[[int, int, int], Any], *, issues: int = 1, hours: int = 3, members: int = 3) -> list[str]:
    """Lines of issue, valid time, member 0.. and the value of (issue, hour, member)."""
    return [
        f"{ISSUES[issue]},2025-06-02T{hour:02d}:00Z,{member},{value(issue, hour, member)}"
        for issue in range(issues)
        for hour in range(hours)
        for member in range(members)
    ]


def text(lines: list[str], head: str = HEAD) -> bytes:
    return "\n".join([head, *lines]).encode()


def ten(issue: int, hour: int, member: int) -> int:
    return 100 * issue + 10 * member + hour


def quantiles(*lines: str, **changes: Any) -> Reading:
    settings = {"roles": {"quantile": "q"}, "time_columns": ["valid"]} | changes
    return read(text(list(lines), "valid,q,ws"), recipe(**settings))


def test_each_member_is_a_series_on_the_same_grid() -> None:
    reading = read(text(rows(ten)), recipe())
    assert [one.member for one in reading.series] == [1, 2, 3]
    assert members_matrix(reading.series).tolist() == [[0, 1, 2], [10, 11, 12], [20, 21, 22]]
    assert (reading.members, reading.report.rows_read, reading.report.duplicates) == (3, 9, 0)
    assert reading.issued_at == datetime(2025, 6, 1, 18, tzinfo=UTC)
    assert reading.report.notes == ("3 members: 0 to 2 became 1 to 3.",)


def test_the_order_of_rows_and_the_names_of_members_do_not_matter() -> None:
    lines = [line.replace(",2,", ",mem10,").replace(",1,", ",mem9,").replace(",0,", ",mem0,") for line in rows(ten)]
    reading = read(text(lines[::-1]), recipe())
    assert members_matrix(reading.series).tolist() == [[0, 1, 2], [10, 11, 12], [20, 21, 22]]


def test_one_issue_of_several_is_asked_for_or_chosen() -> None:
    content = text(rows(ten, issues=2))
    with pytest.raises(AnswerNeeded, match=r"The file has 2 issues, the last of 2025-06-02 00:00 UTC\. Which one\?") as caught:
        read(content, recipe())
    assert caught.value.ask[0].field == "only.issue"
    assert caught.value.ask[0].choices == ("newest", *ISSUES)
    newest = read(content, recipe(only={"issue": "newest"}))
    assert (newest.series[0].values[0], newest.issued_at) == (100.0, datetime(2025, 6, 2, tzinfo=UTC))
    first = read(content, recipe(only={"issue": ISSUES[0]}))
    assert (first.series[0].values[0], first.issued_at) == (0.0, datetime(2025, 6, 1, 18, tzinfo=UTC))
    with pytest.raises(ReadRefused, match="no row has issue = "):
        read(content, recipe(only={"issue": "yesterday"}))


def test_what_a_member_lacks_is_flagged_and_counted() -> None:
    lines = [line for line in rows(ten) if not line.endswith(",11")]
    lines = [line.replace(",22", ",NA") for line in lines]
    reading = read(text(lines), recipe())
    assert [one.flags.tolist() for one in reading.series] == [[0, 0, 0], [0, Flag.GAP, 0], [0, 0, Flag.MISSING]]
    assert reading.report.notes[1] == "1 of 9 times of single members are missing; there those members count as unknown."
    assert reading.report.gaps == ()


def test_one_time_of_a_member_with_two_values_is_a_conflict() -> None:
    lines = rows(ten)
    reading = read(text([*lines, lines[0].rpartition(",")[0] + ",99"]), recipe())
    assert reading.report.duplicates == 1
    assert reading.series[0].flags[0] == Flag.CONFLICT


def test_members_are_no_neighbours_of_each_other() -> None:
    calm_beside_wind = read(text(rows(lambda _, hour, member: member * (5 + hour % 2), hours=5, members=2)), recipe())
    assert not any((one.flags & Flag.DEAD).any() for one in calm_beside_wind.series)


def test_steps_that_grow_are_coarse_in_every_member() -> None:
    lines = [line for line in rows(ten, hours=24) if int(line[29:31]) in (0, 1, 2, 3, 9, 15, 21)]
    reading = read(text(lines), recipe())
    assert all(np.flatnonzero(one.flags == 0).tolist() == [0, 1, 2] for one in reading.series)


def test_the_hour_a_clock_has_twice_is_told_member_by_member() -> None:
    stamps = ["2025-10-26 01:00", "2025-10-26 02:00", "2025-10-26 02:00", "2025-10-26 03:00"]
    lines = [f"{stamp},{member},5" for stamp in stamps for member in range(3)]
    reading = read(text(lines, "valid,member,ws"), recipe(roles={"member": "member"}, zone="Europe/Berlin"))
    assert (reading.report.duplicates, len(reading.series[0].values), reading.issued_at) == (0, 4, None)


@pytest.mark.parametrize(
    ("lines", "changes", "match"),
    [
        (rows(ten), {"roles": {"issue": "issue"}}, "Which column holds the number of the member"),
        (rows(ten), {"roles": {"member": "member", "quantile": "member"}}, "or else the quantile"),
        (rows(ten), {"roles": {"member": "ens"}}, "column 'ens' is not in the header"),
        ([*rows(ten), f"{ISSUES[0]},2025-06-02T00:00Z,,5"], {}, "1 rows name no member"),
        (rows(ten, hours=1, members=1001), {}, "1,001 different texts; name the one that holds the member"),
        ([f"yesterday,2025-06-02T{hour:02d}:00Z,0,5" for hour in range(3)], {}, "line 2: 'yesterday' is no time"),
        ([*rows(ten), f"{ISSUES[0]},2025-06-02T03:00Z,0,calm"], {}, "line 11, column ws: 'calm' is no number"),
        ([*rows(ten), "5"], {}, "line 11"),
        (rows(ten, hours=1), {}, "One time alone tells no step"),
    ],
)
def test_rows_that_make_no_ensemble_are_refused(lines: list[str], changes: dict[str, Any], match: str) -> None:
    with pytest.raises(ReadRefused, match=match):
        read(text(lines), recipe(**changes))


def test_quantiles_become_members_at_even_steps() -> None:
    """A uniform wind between 0 and 10: the quantile function is 10 p, and so is every even sample of it."""
    lines = [f"2025-06-02T{hour:02d}:00Z,{level},{10 * level}" for hour in range(6) for level in (0.1, 0.5, 0.9)]
    reading = quantiles(*lines)
    matrix = members_matrix(reading.series)
    assert matrix.shape == (20, 6)
    assert np.sort(matrix, axis=0) == pytest.approx(np.repeat((np.arange(20)[:, None] + 0.5) / 2, 6, axis=1), abs=1e-5)
    assert reading.report.rows_read == 18
    assert reading.report.rows_skipped == 0
    assert reading.report.notes[0] == "3 quantiles (0.1, 0.5, 0.9) became 20 members at even steps."


def test_the_order_of_members_has_a_memory_and_both_variables_share_it() -> None:
    hours = [(f"2025-06-{2 + hour // 24:02d}T{hour % 24:02d}:00Z", level) for hour in range(240) for level in (10, 50, 90)]
    lines = [f"{hour},{level},{level / 10},{level / 5}" for hour, level in hours]
    ws = {"column": "ws", "variable": "wind", "unit": "m/s", "height_m": 80, "averaging_min": 10}
    columns = [ws, ws | {"column": "fx", "variable": "gust"}]
    reading = read(text(lines, "valid,q,ws,fx"), recipe(roles={"quantile": "q"}, columns=columns))
    wind, gust = (members_matrix(reading.of(variable)) for variable in ("wind", "gust"))
    assert gust == pytest.approx(2 * wind, abs=1e-5)
    order = np.argsort(np.argsort(wind, axis=0), axis=0) - 9.5
    next_hour, next_day = ((order[:, :-lag] * order[:, lag:]).mean() / (order**2).mean() for lag in (1, 24))
    assert 0.7 < next_hour < 0.99, "neither one rank for ever nor a new one each hour"
    assert next_day < 0.5


@pytest.mark.parametrize("levels", [("10", "50", "90"), ("q10", "q50", "q90"), ("10%", "50 %", "90%"), ("P10", "P50", "P90")])
def test_quantiles_in_per_cent_and_with_letters(levels: tuple[str, ...]) -> None:
    lines = [f"2025-06-02T{hour:02d}:00Z,{level},{number}" for hour in range(2) for number, level in enumerate(levels)]
    matrix = members_matrix(quantiles(*lines).series)
    assert np.median(matrix[:, 0]) == pytest.approx(1.0)
    assert matrix.min() >= 0.0


@pytest.mark.parametrize(
    ("levels", "values", "match"),
    [
        ((0.1, 0.5, 0.9), (5, 4, 6), r"ws, 2025-06-02 00:00 UTC: quantile 0\.5 \(4\) lies below a lower one"),
        ((0.1, 50), (5, 6), "are not all fractions between 0 and 1, nor all per cents"),
        ((0, 0.5, 1), (5, 6, 7), "are not all fractions"),
        ((0.5, 0.6), (5, 6), "say too little"),
        ((0.5,), (5,), "say too little"),
        (("low", 0.5), (5, 6), "'low' is no quantile"),
    ],
)
def test_quantiles_that_say_nothing_are_refused(levels: tuple[Any, ...], values: tuple[float, ...], match: str) -> None:
    lines = [
        f"2025-06-02T{hour:02d}:00Z,{level},{value}" for hour in range(2) for level, value in zip(levels, values, strict=True)
    ]
    with pytest.raises(ReadRefused, match=match):
        quantiles(*lines)


def test_a_time_without_all_its_quantiles_is_unknown_and_a_doubled_one_refused() -> None:
    lines = [f"2025-06-02T{hour:02d}:00Z,{level},{level * 9}" for hour in range(3) for level in (0.1, 0.5, 0.9)]
    matrix = members_matrix(quantiles(*lines[:4], *lines[5:]).series)
    assert np.isnan(matrix[:, 1]).all()
    assert np.isfinite(matrix[:, [0, 2]]).all()
    with pytest.raises(ReadRefused, match="line 11: this time and quantile came before"):
        quantiles(*lines, lines[0])
