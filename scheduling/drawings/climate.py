"""The climate strip: workable hours by week of the year, as a bar for what most years had and a mark for the middle."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.drawings.svg import box, drawing, line, text, title

LEFT, RIGHT, TOP = 44.0, 10.0, 22.0
COLUMN, PLOT = 17.0, 170.0
#: Week numbers are written at every so many weeks.
EVERY = 4


@dataclass(frozen=True)
class Week:
    """One week: hours in the low, middle and high of the years, hours that count, a month's name where one begins.

    All three are None where no year knows the week.
    """

    number: int
    low_h: float | None
    mid_h: float | None
    high_h: float | None
    counted_h: float | None
    month: str


@dataclass(frozen=True)
class ClimateStrip:
    """A strip; `bar` and `mark` say what bar and mark mean, for example "P10 to P90" and "median"."""

    name: str
    heading: str
    bar: str
    mark: str
    weeks: tuple[Week, ...]


def climate_strip(strip: ClimateStrip) -> str:
    """The strip as SVG text. A week nobody knows is hatched and said, never drawn as 0."""
    width = LEFT + COLUMN * len(strip.weeks) + RIGHT
    top = _scale_top(strip)
    return drawing(
        strip.name,
        width,
        TOP + PLOT + 40,
        strip.heading,
        describe(strip),
        *_axis(strip, top, width),
        *(piece for n in range(len(strip.weeks)) for piece in _week(strip, n, top)),
        *_ticks(strip),
    )


def describe(strip: ClimateStrip) -> str:
    """The strip in words."""
    known = [week for week in strip.weeks if week.mid_h is not None]
    if not known:
        return "Workable hours unknown in every week."
    best = max(known, key=lambda week: week.mid_h or 0.0)
    worst = min(known, key=lambda week: week.mid_h or 0.0)
    missing = len(strip.weeks) - len(known)
    gaps = f" Unknown: {missing} of {len(strip.weeks)} weeks." if missing else ""
    return (
        f"Workable hours a week ({strip.mark}): most in week {best.number} with {best.mid_h:.0f} h, "
        f"least in week {worst.number} with {worst.mid_h:.0f} h.{gaps}"
    )


def words_of(week: Week, strip: ClimateStrip) -> str:
    """One week in words."""
    if week.mid_h is None or week.low_h is None or week.high_h is None:
        return f"week {week.number}: unknown"
    return f"week {week.number}: {strip.mark} {week.mid_h:.0f} h, {strip.bar} {week.low_h:.0f} to {week.high_h:.0f} h"


def _scale_top(strip: ClimateStrip) -> float:
    highest = max((value or 0.0 for week in strip.weeks for value in (week.high_h, week.counted_h)), default=0.0)
    return max(10.0, 1.05 * highest)


def _x(column: float) -> float:
    return LEFT + COLUMN * column


def _y(hours: float, top: float) -> float:
    return TOP + PLOT * (1 - hours / top)


def _axis(strip: ClimateStrip, top: float, width: float) -> Iterator[str]:
    yield text(0, 12, "hours a week", "small")
    step = 10 if top <= 80 else 20 if top <= 120 else 40
    for hours in range(0, int(top) + 1, step):
        yield line(LEFT, _y(hours, top), width - RIGHT, _y(hours, top), "grid")
        yield text(LEFT - 6, _y(hours, top) + 4, str(hours), "small", "end")


def _week(strip: ClimateStrip, n: int, top: float) -> Iterator[str]:
    week, x = strip.weeks[n], _x(n)
    told = title(words_of(week, strip))
    if week.mid_h is None or week.low_h is None or week.high_h is None:
        yield box(x + 1, TOP, COLUMN - 2, PLOT, "unknown", told, fill=f"url(#{strip.name}-hatch)")
        return
    if week.counted_h is not None:
        yield line(x, _y(week.counted_h, top), x + COLUMN, _y(week.counted_h, top), "slack")
    low, high = _y(week.low_h, top), _y(week.high_h, top)
    yield box(x + 2.5, high, COLUMN - 5, max(1.0, low - high), "load", told)
    yield line(x + 1, _y(week.mid_h, top), x + COLUMN - 1, _y(week.mid_h, top), "middle")


def _ticks(strip: ClimateStrip) -> Iterator[str]:
    for n, week in enumerate(strip.weeks):
        if week.number % EVERY == 1:
            yield text(_x(n + 0.5), TOP + PLOT + 15, str(week.number), "small", "middle")
        if week.month:
            yield line(_x(n), TOP + PLOT, _x(n), TOP + PLOT + 36, "grid")
            yield text(_x(n) + 3, TOP + PLOT + 32, week.month, "small")
    yield text(LEFT - 6, TOP + PLOT + 15, "week", "small", "end")
