"""False alarms: what share of real records the rules flag, and that what they flag is known to be wrong."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import numpy as np
import pytest

from scheduling.weather import quality
from scheduling.weather.series import Flag, Series
from tests.scheduling.weather import records
from tests.scheduling.weather.records import by_name

MISSING = int(Flag.MISSING)


def told(series: tuple[Series, ...]) -> dict[str, dict[str, int]]:
    """Steps that each rule flags in each column; columns without any are left out."""
    found = {
        one.name: {
            flag.name or "": int((one.flags & int(flag) > 0).sum()) for flag in Flag if flag not in (Flag.OK, Flag.MISSING)
        }
        for one in quality.check(series)
    }
    counts = {name: {rule: count for rule, count in rules.items() if count} for name, rules in found.items()}
    return {name: rules for name, rules in counts.items() if rules}


@pytest.mark.parametrize(
    "record",
    [
        records.merra2, records.windpowerlib_2010, records.era5, records.wrf,
        records.nacelle, records.buoy, records.storm,
        *(lambda name=name: records.four_turbines(name) for name in ("spring_2014", "spring_2015", "autumn_2014", "autumn_2015")),
    ],
)  # fmt: skip
def test_a_record_without_known_faults_is_not_flagged(record: Callable[[], tuple[Series, ...]]) -> None:
    assert told(record()) == {}


def test_the_mast_is_flagged_where_it_is_known_to_be_wrong() -> None:
    found = told(records.mast())
    # The second boom is dead from 4 September 2017 00:30 on (8,349 steps), and stood iced on 28 January.
    assert found.pop("Spd80mS") == {"STUCK": 8_358, "DEAD": 8_349, "ICING": 13}
    # The vane says 200.5 degrees from 11 August 2017 02:10 to the end.
    assert found.pop("Dir78mS") == {"STUCK": 11_795}
    # The barometer leaps by 44 hPa down (15 September 2017) and 51 hPa up (9 October): each is doubted for six hours.
    assert found.pop("P2m") == {"JUMP": 72}
    # At 40 m, 18 steps (0.03 %) of a stable night near freezing: the price of the rule.
    assert found == {"Spd40mN": {"ICING": 18}}


def test_the_barometer_leaps_where_it_says_so() -> None:
    pressure = by_name(quality.check(records.mast()))["P2m"]
    first = np.flatnonzero(pressure.flags & int(Flag.JUMP))[0]
    assert pressure.time(int(first)) == datetime(2017, 9, 15, 13, 50, tzinfo=UTC)
    assert pressure.values[first - 1 : first + 1].tolist() == [96_300.0, 91_900.0]


def test_calm_hours_at_zero_stay_usable() -> None:
    wind = records.nacelle()[0]
    checked = quality.check(records.nacelle())[0]
    zero = wind.values == 0.0
    assert zero.mean() == pytest.approx(0.0177, abs=5e-4)  # counted with pandas
    assert (checked.usable()[zero] == 0.0).all()


def test_a_typical_year_stands_still_where_its_months_are_joined() -> None:
    # 30 of 8,760 hours: 1.31 m/s for six, 1.03 for eight, 0.97 for eight before the end of October and eight after it.
    found = [told(month) for month in records.typical_months()]
    assert [rules for rules in found if rules] == [{"WS10m": {"STUCK": 22}}, {"WS10m": {"STUCK": 8}}]
