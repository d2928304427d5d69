"""The fortnight by day and team: who is where, from when, until when everybody must be down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.drawings.svg import box, drawing, line, text, title

WIDTH, LEFT, RIGHT, TOP, ROW = 1000.0, 210.0, 10.0, 26.0, 30.0

HELD_MARK = "▣"


@dataclass(frozen=True)
class Bar:
    """A visit in minutes of the local day's clock; `down_by_min` is when everybody must be at the tower's foot. A visit that is
    `held` has a second outline and a mark before its label."""

    start_min: int
    end_min: int
    down_by_min: int
    label: str
    detail: str
    held: bool = False


@dataclass(frozen=True)
class Row:
    """A team on a day. `day` is set on the first row of its day only."""

    day: str
    team: str
    bars: tuple[Bar, ...]


def timeline(
    name: str, heading: str, rows: tuple[Row, ...], zone: str, hours: tuple[int, int] | None = None, width: float = WIDTH
) -> str:
    """The rows as SVG text. The hours shown reach from the first start to the last down-by time, or are given, so that two
    timelines can be held side by side."""
    axis = Axis(*(hours or hours_of(rows)), width)
    height = TOP + ROW * len(rows) + 8
    words = f"{sum(len(row.bars) for row in rows)} visits. The table below says the same in words. Clock times in {zone}."
    return drawing(
        name,
        width,
        height,
        heading,
        words,
        *_clock(axis, height, zone),
        *(part for index, row in enumerate(rows) for part in _row(row, index, axis)),
    )


def hours_of(rows: tuple[Row, ...]) -> tuple[int, int]:
    """The whole hours that hold all bars, at least four; 7 to 17 without any."""
    starts = [bar.start_min for row in rows for bar in row.bars] or [7 * 60]
    ends = [max(bar.end_min, bar.down_by_min) for row in rows for bar in row.bars] or [17 * 60]
    return min(starts) // 60, max(-(-max(ends) // 60), min(starts) // 60 + 4)


@dataclass(frozen=True)
class Axis:
    """Whole hours from `first` to `last` on a drawing of a width."""

    first: int
    last: int
    width: float

    def x(self, minute: float) -> float:
        """Where a minute of the day stands."""
        return LEFT + (self.width - LEFT - RIGHT) * (minute - 60 * self.first) / (60 * (self.last - self.first))

    @property
    def every(self) -> int:
        """Hours between two lines with a label, so that labels do not touch."""
        return 1 if (self.width - LEFT - RIGHT) / (self.last - self.first) >= 44 else 2


def _clock(axis: Axis, height: float, zone: str) -> Iterator[str]:
    yield text(0, 14, zone, "small")
    for hour in range(axis.first, axis.last + 1):
        x = axis.x(60 * hour)
        yield line(x, TOP - 6, x, height - 6, "grid")
        if (hour - axis.first) % axis.every == 0:
            yield text(x, 14, f"{hour:02d}:00", "small", "end" if hour == axis.last else "middle")


def _row(row: Row, index: int, axis: Axis) -> Iterator[str]:
    y = TOP + ROW * index
    if row.day:
        yield line(0, y, axis.width, y, "rule")
        yield text(0, y + 19, row.day, "strong")
    yield text(92, y + 19, _short(row.team, 18), "small")
    for bar in row.bars:
        yield from _bar(bar, y, axis)


def _bar(bar: Bar, y: float, axis: Axis) -> Iterator[str]:
    x, width = axis.x(bar.start_min), axis.x(bar.end_min) - axis.x(bar.start_min)
    down = axis.x(bar.down_by_min)
    yield line(x + width, y + 15, down, y + 15, "slack")
    yield box(x, y + 4, width, ROW - 8, "stay", title(bar.detail), rx=3)
    if bar.held:
        yield box(x + 3, y + 7, width - 6, ROW - 14, "held", rx=2)
    yield line(down, y + 3, down, y + ROW - 3, "down")
    yield text(x + 5, y + 19, _short(f"{HELD_MARK} {bar.label}" if bar.held else bar.label, int(width / 6.4)), "small")


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: max(1, most - 1)] + "…"
