"""The finishing curve: how much of a round is done by each week's end, as planned and over the past years."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduling.drawings.svg import drawing, line, tag, text

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 760.0, 220.0, 46.0, 130.0, 14.0, 30.0


@dataclass(frozen=True)
class Curve:
    """Shares done (0..1), one per week; `kind` is plan, mean or low and gives line and marker of their own."""

    label: str
    kind: str
    shares: tuple[float, ...]


def finish_curve(name: str, heading: str, curves: Sequence[Curve], ticks: Sequence[tuple[int, str]]) -> str:
    """The curves as SVG text, each named at its end. `ticks`: (week index, text) along the bottom."""
    weeks = max([len(curve.shares) for curve in curves], default=1)
    return drawing(
        name,
        WIDTH,
        HEIGHT,
        heading,
        describe(curves),
        *_axis(),
        *_ticks(ticks, weeks),
        *(part for curve, place in zip(curves, label_places(curves), strict=True) for part in _curve(curve, weeks, place)),
    )


def describe(curves: Sequence[Curve]) -> str:
    """The ends of the curves in words."""
    return " ".join(f"{curve.label}: {curve.shares[-1]:.0%} at the end." for curve in curves if curve.shares)


def label_places(curves: Sequence[Curve]) -> list[float]:
    """Height of each curve's name, at its end but never on top of another."""
    placed: dict[int, float] = {}
    last = -14.0
    for index in sorted(range(len(curves)), key=lambda n: -(curves[n].shares[-1] if curves[n].shares else 0.0)):
        end = curves[index].shares[-1] if curves[index].shares else 0.0
        last = max(_y(end) + 4, last + 14)
        placed[index] = last
    return [placed[index] for index in range(len(curves))]


def _x(week: float, weeks: int) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * week / max(1, weeks - 1)


def _y(share: float) -> float:
    return TOP + (HEIGHT - TOP - BOTTOM) * (1 - share)


def _axis() -> Iterator[str]:
    for percent in (0, 25, 50, 75, 100):
        yield line(LEFT, _y(percent / 100), WIDTH - RIGHT, _y(percent / 100), "grid")
        yield text(LEFT - 6, _y(percent / 100) + 4, f"{percent} %", "small", "end")


def _ticks(ticks: Sequence[tuple[int, str]], weeks: int) -> Iterator[str]:
    for week, words in ticks:
        yield line(_x(week, weeks), TOP, _x(week, weeks), HEIGHT - BOTTOM, "grid")
        yield text(_x(week, weeks), HEIGHT - 10, words, "small", "middle")


def _curve(curve: Curve, weeks: int, place: float) -> Iterator[str]:
    if not curve.shares:
        return
    points = " ".join(f"{_x(week, weeks):.1f},{_y(share):.1f}" for week, share in enumerate(curve.shares))
    yield tag("polyline", points=points, class_=f"curve {curve.kind}")
    yield text(WIDTH - RIGHT + 8, place, curve.label, "small")
