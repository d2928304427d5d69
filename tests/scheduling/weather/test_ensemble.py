from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduling.weather.ensemble import by_member
from scheduling.weather.height import to_hub
from scheduling.weather.series import Series
from scheduling.weather.slots import to_slots
from tests.scheduling.weather.builders import wind


def members(*rows: list[float], height_m: float = 80.0) -> list[Series]:
    return [replace(wind(row, height_m=height_m), member=number) for number, row in enumerate(rows, start=1)]


def test_each_member_gets_its_own_series_and_what_all_share() -> None:
    shared = wind([9, 9], variable="pressure")
    groups = by_member([*members([1, 2], [3, 4])[::-1], shared])
    assert list(groups) == [1, 2]
    assert [[one.variable for one in group] for group in groups.values()] == [["wind", "pressure"]] * 2
    assert by_member([shared]) == {0: (shared,)}


def test_height_and_slots_work_member_by_member() -> None:
    """Shear comes from a member's own two heights: ln(12/10)/ln(80/40) = 0.263 and none (same wind) here."""
    low, high = members([10.0] * 2, [12.0] * 2, height_m=40), members([12.0] * 2, [12.0] * 2)
    hubs = [to_hub(group, 100.0) for group in by_member([*high, *low]).values()]
    assert [hub.exponent[0] for hub in hubs] == pytest.approx([np.log(1.2) / np.log(2), 0.0])
    slots = [to_slots(hub.series, start=hub.series.start, slot_min=30, slots=4) for hub in hubs]
    assert [one.values[3] for one in slots] == pytest.approx([12 * 1.25 ** hubs[0].exponent[0], 12.0])
