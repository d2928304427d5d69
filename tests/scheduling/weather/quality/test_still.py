from __future__ import annotations

from scheduling.weather import quality
from scheduling.weather.series import Flag
from tests.scheduling.weather.builders import wind
from tests.scheduling.weather.quality.hands import NAN, flagged, gently


def test_a_constant_run_of_six_hours_is_stuck_and_a_shorter_one_is_not() -> None:
    (checked,) = quality.check([wind([*gently(5), *[4.3] * 36, *gently(5)], step_min=10)])
    assert flagged(checked, Flag.STUCK) == list(range(5, 41))
    (short,) = quality.check([wind([*gently(5), *[4.3] * 35, *gently(5)], step_min=10)])
    assert not short.flags.any()


def test_a_long_hole_ends_a_constant_run_and_a_short_one_does_not() -> None:
    (checked,) = quality.check([wind([4.3] * 20 + [NAN] * 7 + [4.3] * 20, step_min=10)])
    assert flagged(checked, Flag.STUCK) == []
    (checked,) = quality.check([wind([4.3] * 20 + [NAN] * 6 + [4.3] * 20, step_min=10)])
    assert flagged(checked, Flag.STUCK) == list(range(46))
    (other,) = quality.check([wind([4.3] * 20 + [NAN] + [4.4] * 20, step_min=10)])
    assert flagged(other, Flag.STUCK) == []


def test_a_dead_sensor_with_lost_rows_is_dead_all_the_same() -> None:
    alive = wind(gently(60), step_min=10)
    dead = wind([0.0 if n % 5 else NAN for n in range(60)], step_min=10)
    assert flagged(quality.check([alive, dead])[1], Flag.DEAD) == list(range(1, 60))
    assert flagged(quality.check([dead])[0], Flag.DEAD) == list(range(1, 60))


def test_whole_metres_a_second_stand_still_longer_than_fine_ones() -> None:
    whole = [*[5.0, 6.0, 7.0] * 3, *[8.0] * 36, *[7.0, 6.0, 5.0] * 3]
    (checked,) = quality.check([wind(whole, step_min=10)])
    assert not checked.flags.any()
    (longer,) = quality.check([wind([*whole[:20], *[8.0] * 144], step_min=10)])
    assert flagged(longer, Flag.STUCK) == list(range(9, 164))


def test_a_calm_night_in_whole_knots_is_believed_and_a_calm_day_and_night_is_not() -> None:
    knot = 1852.0 / 3600.0
    day = [4 * knot, 5 * knot, 7 * knot, 6 * knot, 3 * knot, 8 * knot]
    assert not quality.check([wind([*day, *[0.0] * 14, *day])])[0].flags.any()
    assert not quality.check([wind([*day, *[4 * knot] * 14, *day])])[0].flags.any()
    (dead,) = quality.check([wind([*day, *[0.0] * 20, *day])])
    assert flagged(dead, Flag.DEAD) == list(range(6, 26))


def test_an_hour_at_one_value_while_the_neighbour_moves_is_stuck() -> None:
    moving, frozen = wind(gently(30, by=0.5), step_min=10), wind([*gently(10), *[6.25] * 8, *gently(12)], step_min=10)
    checked = quality.check([moving, frozen])
    assert flagged(checked[1], Flag.STUCK) == list(range(10, 18))
    assert not checked[0].flags.any()


def test_an_anemometer_at_its_offset_while_the_neighbour_blows_is_stuck() -> None:
    blowing, offset = wind(gently(30), step_min=10), wind([*gently(10), *[0.094] * 8, *gently(12)], step_min=10)
    assert flagged(quality.check([blowing, offset])[1], Flag.STUCK) == list(range(10, 18))


def test_zero_for_an_hour_while_the_neighbour_blows_is_dead() -> None:
    alive, dead = wind(gently(30), step_min=10), wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10)
    checked = quality.check([alive, dead])
    assert flagged(checked[1], Flag.DEAD) == list(range(10, 16))
    assert not checked[0].flags.any()


def test_zero_for_an_hour_in_a_calm_is_believed() -> None:
    calm = wind([*gently(10), *[0.4, 0.5] * 3, *gently(14)], step_min=10)
    still = wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10)
    assert not quality.check([calm, still])[1].flags.any()
    assert not quality.check([still])[0].flags.any()


def test_zero_for_six_hours_is_dead_alone_and_believed_beside_a_living_calm() -> None:
    still = wind([*gently(4), *[0.0] * 36], step_min=10)
    assert flagged(quality.check([still])[0], Flag.DEAD) == list(range(4, 40))
    calm = wind([*gently(4), *[0.2, 0.5] * 18], step_min=10)
    assert not quality.check([still, calm])[0].flags.any()
    both_dead = quality.check([still, wind(still.values, step_min=10, name="other")])
    assert all(flagged(one, Flag.DEAD) == list(range(4, 40)) for one in both_dead)


def test_a_low_anemometer_may_be_calm_under_a_nocturnal_wind() -> None:
    low = wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10, height_m=10.0)
    aloft = wind(gently(30, base=7.0), step_min=10, height_m=100.0)
    assert not quality.check([low, aloft])[0].flags.any()
    # 40 m under 80 m: with the steepest shear 3 m/s there are 4.5 m/s here.
    half = wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10, height_m=40.0)
    assert flagged(quality.check([half, wind(gently(30, base=4.0), step_min=10)])[0], Flag.DEAD) == []
    assert flagged(quality.check([half, wind(gently(30, base=5.0), step_min=10)])[0], Flag.DEAD) == list(range(10, 16))


def test_a_vane_that_says_the_same_for_six_hours_in_the_wind_is_stuck() -> None:
    vane = wind([*[200.0 + 0.3 * (i % 11) for i in range(20)], *[200.5] * 40], variable="direction", step_min=10)
    assert flagged(quality.check([vane, wind(gently(60), step_min=10)])[0], Flag.STUCK) == list(range(20, 60))
    calm = wind(gently(60, base=0.5), step_min=10)
    assert flagged(quality.check([vane, calm])[0], Flag.STUCK) == []


def test_members_are_no_neighbours_of_each_other() -> None:
    one = wind([*gently(10), *[0.0] * 6, *gently(14)], step_min=10).with_values
    dead = one(wind([*gently(10), *[0.0] * 6, *gently(14)]).values, member=1)
    assert flagged(quality.check([dead, dead.with_values(wind(gently(30)).values, member=2)])[0], Flag.DEAD) == []
    assert flagged(quality.check([dead, dead.with_values(wind(gently(30)).values)])[0], Flag.DEAD) == list(range(10, 16))
