"""Named quality rules. They only ever flag: a flagged value keeps its number and opens no window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from scheduling.weather.quality.alone import jumped, outside, spiked
from scheduling.weather.quality.companions import impossible_dew_point, impossible_gust
from scheduling.weather.quality.icing import iced
from scheduling.weather.quality.scale import scaled
from scheduling.weather.quality.still import dead, stuck
from scheduling.weather.quality.table import RULES
from scheduling.weather.series import BoolArray, Flag, Series

#: Each rule looks at the values of one series and of all others as they came, so that no order matters.
RULE_BOOK: tuple[tuple[Flag, Callable[[Series, Sequence[Series]], BoolArray]], ...] = (
    (Flag.RANGE, outside),
    (Flag.RANGE, impossible_gust),
    (Flag.RANGE, impossible_dew_point),
    (Flag.SPIKE, spiked),
    (Flag.JUMP, jumped),
    (Flag.SCALE, scaled),
    (Flag.STUCK, stuck),
    (Flag.DEAD, dead),
    (Flag.ICING, iced),
)


def check(series: Sequence[Series]) -> tuple[Series, ...]:
    """The same series with the flags of every rule added; series on one grid serve each other as neighbours."""
    return tuple(_checked(one, [two for two in series if two is not one]) for one in series)


def _checked(one: Series, others: Sequence[Series]) -> Series:
    flags = one.flags.copy()
    for flag, rule in RULE_BOOK:
        flags[rule(one, others)] |= int(flag)
    return replace(one, flags=flags)


__all__ = ["RULES", "RULE_BOOK", "check"]
