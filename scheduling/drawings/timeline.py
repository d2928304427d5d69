"""The fortnight by day and team: who is where, from when, until when everybody must be down."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scheduling.drawings.svg import box, drawing, line, text, title

WIDTH, LEFT, RIGHT, TOP, ROW = 1000.0, 210.0, 10.0, 26.0, 30.0


@dataclass(frozen=True)
class Bar:
    """A visit in minutes of the local day's clock; `down_by_min` is when everybody must be at the tower's foot."""

    start_min: int
    end_min: int
    down_by_min: int
    label: str
    detail: str


@dataclass(frozen=True)
class Row:
    """A team on a day. `day` is set on the first row of its day only."""

    day: str
    team: str
    bars: tuple[Bar, ...]


def timeline(name: str, heading: str, rows: tuple[Row, ...], zone: str) -> str:
    """The rows as SVG text, 1000 wide. The hours shown reach from the first start to the last down-by time."""
    first, last = _hours(rows)
    height = TOP + ROW * len(rows) + 8
    words = f"{sum(len(row.bars) for row in rows)} visits. The table below says the same in words. Clock times in {zone}."
    return drawing(
        name,
        WIDTH,
        height,
        heading,
        words,
        *_clock(first, last, height, zone),
        *(part for index, row in enumerate(rows) for part in _row(row, index, first, last)),
    )


def _hours(rows: tuple[Row, ...]) -> tuple[int, int]:
    starts = [bar.start_min for row in rows for bar in row.bars] or [7 * 60]
    ends = [max(bar.end_min, bar.down_by_min) for row in rows for bar in row.bars] or [17 * 60]
    return min(starts) // 60, max(-(-max(ends) // 60), min(starts) // 60 + 4)


def _x(minute: float, first: int, last: int) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * (minute - 60 * first) / (60 * (last - first))


def _clock(first: int, last: int, height: float, zone: str) -> Iterator[str]:
    yield text(0, 14, zone, "small")
    for hour in range(first, last + 1):
        x = _x(60 * hour, first, last)
        yield line(x, TOP - 6, x, height - 6, "grid")
        yield text(x, 14, f"{hour:02d}:00", "small", "end" if hour == last else "middle")


def _row(row: Row, index: int, first: int, last: int) -> Iterator[str]:
    y = TOP + ROW * index
    if row.day:
        yield line(0, y, WIDTH, y, "rule")
        yield text(0, y + 19, row.day, "strong")
    yield text(92, y + 19, _short(row.team, 18), "small")
    for bar in row.bars:
        yield from _bar(bar, y, first, last)


def _bar(bar: Bar, y: float, first: int, last: int) -> Iterator[str]:
    x, width = _x(bar.start_min, first, last), _x(bar.end_min, first, last) - _x(bar.start_min, first, last)
    down = _x(bar.down_by_min, first, last)
    yield line(x + width, y + 15, down, y + 15, "slack")
    yield box(x, y + 4, width, ROW - 8, "stay", title(bar.detail), rx=3)
    yield line(down, y + 3, down, y + ROW - 3, "down")
    yield text(x + 5, y + 19, _short(bar.label, int(width / 6.4)), "small")


def _short(words: str, most: int) -> str:
    return words if len(words) <= most else words[: max(1, most - 1)] + "…"
