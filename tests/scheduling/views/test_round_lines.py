"""A round's weeks, months and climate."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from scheduling.views.round_lines import PART_WORDS, climate_of, columns_of, curve_of, months_of, weeks_of
from scheduling.year.rules import PARTS
from tests.farm import Farm
from tests.page_rows import build_round

MONDAYS = [date(2026, 12, 21) + timedelta(weeks=n) for n in range(3)]


def test_the_climate_is_that_of_the_strictest_limits_mean_over_the_years() -> None:
    limit, shares = climate_of({"tower": [[0.8, 0.6], [0.6, 0.4]], "blade": [[0.2, 0.4], [0.4, 0.2]]})
    assert limit == "blade"
    assert shares == pytest.approx([0.3, 0.3])


def test_no_history_gives_no_climate() -> None:
    assert climate_of({}) == ("", [])
    assert climate_of({"tower": []}) == ("", [])


def test_every_part_of_the_cost_has_plain_words() -> None:
    assert set(PART_WORDS) == set(PARTS)


def test_without_history_no_share_of_years_is_told() -> None:
    weeks = [{"load_h": {}, "fits_share": 1.0}]
    assert weeks_of({"weeks": weeks, "history": 0})[0]["fits_share"] is None
    assert weeks_of({"weeks": weeks, "history": 3}) == weeks


def test_a_new_year_is_named_with_its_month() -> None:
    columns = columns_of(MONDAYS, [], [])
    assert [(column.label, column.month) for column in columns] == [("52", "Dec 2026"), ("53", ""), ("1", "Jan 2027")]


def test_what_is_not_known_of_a_week_stays_unknown() -> None:
    (column, *_) = columns_of(MONDAYS, [], [])
    assert (column.workable_share, column.fits_share) == (None, None)


def test_a_month_counts_its_items_and_takes_the_worst_week(farm: Farm) -> None:
    made = build_round(farm, weeks=4)
    mondays = [date(2026, 6, 8) + timedelta(weeks=n) for n in range(4)]
    (june,) = months_of(list(made.items.select_related("turbine")), mondays, made.about["weeks"], [0.5, 0.5, 0.7, 0.7])
    assert (june["name"], june["items"], june["turbines"]) == ("June 2026", "2", "2")
    assert (june["workable"], june["fits"]) == ("60 %", "50 %")


def test_no_outlook_no_curve() -> None:
    assert curve_of({}, MONDAYS) == ""
    assert "9 of 10 years" in curve_of({"history": 2, "done_mean": [0.1, 0.5, 1.0], "done_p10": [0.0, 0.3, 0.9]}, MONDAYS)
