from __future__ import annotations

from scheduling.weather import quality
from scheduling.weather.series import Flag
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.quality.hands import flagged, gently


def gust(values: list[float], **more: object) -> object:
    return wind(values, variable="gust", averaging_min=0.05, **more)  # type: ignore[arg-type]


def test_a_gust_below_the_mean_is_flagged_and_the_mean_is_not() -> None:
    checked = quality.check([wind([6, 6.2, 6.1, 6.3]), gust([8, 5, 6.05, 0])])  # type: ignore[list-item]
    assert flagged(checked[1], Flag.RANGE) == [1, 3]
    assert not checked[0].flags.any()


def test_of_two_booms_the_lower_mean_counts() -> None:
    shadow, free = wind([4.0, 4.1, 4.2]), wind([6.0, 6.1, 6.2], name="free")
    assert not quality.check([free, gust([5.2, 5.3, 5.4]), shadow])[1].flags.any()  # type: ignore[list-item]


def test_another_height_or_member_says_nothing() -> None:
    low = gust([5.0, 5.1, 5.2], height_m=10.0)
    assert not quality.check([wind([6.0, 6.1, 6.2]), low])[1].flags.any()  # type: ignore[list-item]


def test_a_gust_that_is_the_mean_for_hours_is_no_gust() -> None:
    mean = wind(gently(50), step_min=10)
    checked = quality.check([mean, gust([*gently(40), *gently(10, base=8.0)], step_min=10)])  # type: ignore[list-item]
    assert flagged(checked[1], Flag.RANGE) == list(range(40))
    calm = wind(gently(50, base=1.0), step_min=10)
    assert not quality.check([calm, gust(gently(50, base=1.0), step_min=10)])[1].flags.any()  # type: ignore[list-item]


def test_a_dew_point_above_the_temperature_is_out_of_range() -> None:
    air = wind([10.0, 10.1, 10.2], variable="temperature", height_m=2.0)
    dew = wind([9.0, 12.0, 10.9], variable="dew_point", height_m=2.0)
    assert flagged(quality.check([air, dew])[1], Flag.RANGE) == [1]
    assert not quality.check([air, dew])[0].flags.any()
    assert not quality.check([dew])[0].flags.any()
