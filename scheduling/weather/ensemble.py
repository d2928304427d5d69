"""Members that come as an ensemble: Series told apart by `member`."""

from __future__ import annotations

from collections.abc import Sequence

from scheduling.weather.series import Series


def by_member(series: Sequence[Series]) -> dict[int, tuple[Series, ...]]:
    """The series of each member, members in order; {0: all} for a single forecast or an observation.

    A series with member 0 beside an ensemble (the one pressure of all members) is given to every member. So
    whatever works on the series of one forecast (`to_hub`, `to_slots`) works on those of one member.
    """
    numbers = sorted({one.member for one in series} - {0}) or [0]
    return {number: tuple(one for one in series if one.member in (0, number)) for number in numbers}
