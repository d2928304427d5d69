"""The reliability diagram: how often stays could be done, how likely they were called, and how many calls that rests on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduling.drawings.svg import box, drawing, line, tag, text, title

LEFT, TOP, PLOT, RIGHT = 44.0, 22.0, 280.0, 20.0
BARS, GAP = 44.0, 62.0
WIDTH, HEIGHT = LEFT + PLOT + RIGHT, TOP + PLOT + GAP + BARS + 4
RADIUS, CAP = 5.0, 5.0


@dataclass(frozen=True)
class Point:
    """Calls from `low` to `high` (0..1): how many, their mean chance, the share that could be done with its 95 % interval.

    `share` is None where the calls are too few to draw one; their number is drawn all the same.
    """

    low: float
    high: float
    calls: int
    chance: float | None
    share: float | None
    low_bound: float | None
    high_bound: float | None


def reliability_diagram(name: str, heading: str, points: Sequence[Point]) -> str:
    """The diagram as SVG text, 344 wide. On the dashed line what was called 80 % could be done in 80 of 100 cases."""
    return drawing(
        name,
        WIDTH,
        HEIGHT,
        heading,
        describe(points),
        *_axes(),
        line(_x(0), _y(0), _x(1), _y(1), "curve mean"),
        text(_x(0.03), _y(0.93), "done more often than called", "tiny"),
        text(_x(0.97), _y(0.04), "done less often than called", "tiny", "end"),
        *(part for point in points for part in _point(point)),
        *_bars(points),
    )


def describe(points: Sequence[Point]) -> str:
    """The points in words."""
    told = [point for point in points if point.calls]
    return " ".join(_said(point) for point in told) if told else "No call has an outcome yet."


def _said(point: Point) -> str:
    head = f"Called {_percent(point.low)} to {_percent(point.high)}: {point.calls} calls"
    if point.share is None or point.chance is None:
        return f"{head}, too few for a share."
    return f"{head}, {_percent(point.share)} could be done, mean call {_percent(point.chance)}."


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _x(share: float) -> float:
    return LEFT + PLOT * share


def _y(share: float) -> float:
    return TOP + PLOT * (1 - share)


def _axes() -> Iterator[str]:
    yield text(0, 12, "could be done", "small")
    for fifth in range(6):
        share = fifth / 5
        yield line(_x(0), _y(share), _x(1), _y(share), "grid")
        yield line(_x(share), _y(0), _x(share), _y(1), "grid")
        yield text(LEFT - 6, _y(share) + 4, _percent(share), "small", "end")
        yield text(_x(share), _y(0) + 16, _percent(share), "small", "middle")
    yield text(_x(1), _y(0) + 32, "called", "small", "end")


def _point(point: Point) -> Iterator[str]:
    """The share as a disc, its interval as a line with caps."""
    if point.share is None or point.chance is None:
        return
    x, said = _x(point.chance), title(_said(point))
    if point.low_bound is not None and point.high_bound is not None:
        low, high = _y(point.low_bound), _y(point.high_bound)
        yield line(x, low, x, high, "curve")
        yield line(x - CAP, low, x + CAP, low, "curve")
        yield line(x - CAP, high, x + CAP, high, "curve")
    yield tag("circle", said, cx=x, cy=_y(point.share), r=RADIUS, class_="stay")


def _bars(points: Sequence[Point]) -> Iterator[str]:
    """How many calls each point rests on."""
    floor, most = TOP + PLOT + GAP + BARS, max([point.calls for point in points], default=0) or 1
    yield text(0, floor - BARS - 16, "calls", "small")
    for point in points:
        x, width, height = _x(point.low), _x(point.high) - _x(point.low), BARS * point.calls / most
        if point.calls:
            yield box(x + 1.5, floor - height, width - 3, height, "load", title(_said(point)))
            yield text(x + width / 2, floor - height - 4, str(point.calls), "tiny", "middle")
    yield line(_x(0), floor, _x(1), floor, "rule")
