from __future__ import annotations

import numpy as np
import pytest

from scheduling.weather.readers.coarse import coarse_slots, finest_step_s, flag_coarse
from scheduling.weather.readers.grid import lay_grid
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.series import Flag

H = 3600


def seconds(*hours: int) -> np.ndarray:
    return np.array(hours, dtype=np.int64) * H


def marked(*hours: int, step_min: int = 60) -> list[int]:
    at = seconds(*hours)
    return [int(slot) for slot in np.flatnonzero(coarse_slots(lay_grid(at, step_min, "start"), at))]


def test_the_finest_step_counts_and_a_stray_row_does_not() -> None:
    assert finest_step_s(seconds(0, 1, 2, 8, 14, 20, 26, 32)) == H
    many = np.r_[np.arange(100) * H, 600]
    assert finest_step_s(many) == H
    assert finest_step_s(seconds(5, 5)) is None
    with pytest.raises(ReadRefused, match="every 90 s"):
        finest_step_s(np.array([0, 90, 180]))


def test_two_equal_long_steps_make_a_coarse_stretch_and_one_is_a_gap() -> None:
    assert marked(0, 1, 2, 8, 14) == list(range(2, 15))
    assert marked(0, 1, 2, 8, 9) == []
    assert marked(0, 1, 4, 7, 13, 19) == list(range(1, 20))
    assert marked(0, 6, 12, 13, 14) == list(range(12))
    assert marked(0, 1, 2) == []
    assert marked(3) == []


def test_coarse_takes_the_place_of_a_gap_and_joins_what_else_is_said() -> None:
    flags = np.array([0, Flag.GAP, Flag.RANGE, 0], dtype=np.uint16)
    coarse = np.array([True, True, True, False])
    assert flag_coarse(flags, coarse).tolist() == [Flag.COARSE, Flag.COARSE, Flag.COARSE | Flag.RANGE, 0]
