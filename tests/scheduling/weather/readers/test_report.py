from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduling.weather.quality import RULE_BOOK
from scheduling.weather.readers.report import quality_runs
from scheduling.weather.series import Flag
from tests.scheduling.weather.builders import wind

NAMED = sorted({flag for flag, _ in RULE_BOOK} | {Flag.CONFLICT, Flag.DOUBLED})


@pytest.mark.parametrize("flag", NAMED, ids=lambda one: one.name)
def test_every_quality_flag_is_told_by_name(flag: Flag) -> None:
    flags = np.array([0, int(flag), int(flag), 0, int(flag | Flag.RANGE)], dtype=np.uint16)
    one = replace(wind([1.0, 2.0, 3.0, 4.0, 5.0]), flags=flags)
    runs = [run for run in quality_runs((one,)) if run.rule == flag.name]
    assert [(run.start, run.rows, run.column) for run in runs] == [(one.time(1), 2, "w"), (one.time(4), 1, "w")]
