from __future__ import annotations

import pytest

from scheduling.access import Stay, access_min, climb_min


def test_the_whole_stay_counts() -> None:
    stay = Stay(access_up_min=12, work_min=180, pack_min=15, access_down_min=10)
    assert stay.total_min == 217
    assert stay.slots(30) == 8
    assert Stay(0, 60).slots(30) == 2
    assert Stay(0.1 + 0.2, 59.7).slots(30) == 2


def test_lift_then_ladder_and_all_by_ladder_when_the_lift_is_shut() -> None:
    assert access_min(72.0, 14.4) == pytest.approx(4.0 + 2.0)
    assert access_min(72.0, 14.4, lift_shut=True) == pytest.approx(12.0)
    assert access_min(0.0, 86.4) == pytest.approx(12.0)
    assert access_min(60.0, 10.0, lift_m_per_min=30.0, ladder_m_per_min=5.0) == pytest.approx(4.0)


@pytest.mark.parametrize("field", ["access_up_min", "work_min", "pack_min", "access_down_min"])
@pytest.mark.parametrize("value", [-1.0, float("nan"), float("inf")])
def test_nonsense_minutes_are_refused(field: str, value: float) -> None:
    minutes = {"access_up_min": 5.0, "work_min": 60.0, "pack_min": 5.0, "access_down_min": 5.0} | {field: value}
    with pytest.raises(ValueError, match=field):
        Stay(**minutes)


def test_no_work_no_pace_no_height_no_slot_are_refused() -> None:
    with pytest.raises(ValueError, match="work_min"):
        Stay(5, 0)
    with pytest.raises(ValueError, match="pace"):
        climb_min(80.0, 0.0)
    with pytest.raises(ValueError, match="height_m"):
        climb_min(-1.0)
    with pytest.raises(ValueError, match="slot_min"):
        Stay(5, 60).slots(0)
