"""The wind strip: forecast wind over a day against a limit, with the stays planned into it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from math import isfinite

from scheduling.drawings.svg import box, drawing, line, tag, text, title

LEFT, RIGHT, TOP = 46.0, 12.0, 18.0
WIDTH, PLOT, STAY = 760.0, 130.0, 22.0


@dataclass(frozen=True)
class Slot:
    """Wind of one slot, m/s at the hub, 10-min mean: the middle member and the range that holds most; None where unknown."""

    low_mps: float | None
    mid_mps: float | None
    high_mps: float | None

    @property
    def known(self) -> bool:
        """All three values are there, and numbers."""
        return all(value is not None and isfinite(value) for value in (self.low_mps, self.mid_mps, self.high_mps))


@dataclass(frozen=True)
class Stay:
    """A planned stay in slots [start, end) with what stands in its box."""

    start: int
    end: int
    label: str


@dataclass(frozen=True)
class WindStrip:
    """A strip. `ticks`: (slot, clock text) along the bottom; `zone` names the clock, for example CEST; `note`
    says beside the drawing how the wind came about."""

    name: str
    heading: str
    slots: tuple[Slot, ...]
    limit_mps: float | None
    stays: tuple[Stay, ...]
    ticks: tuple[tuple[int, str], ...]
    zone: str
    note: str = ""


def wind_strip(strip: WindStrip, top_mps: float | None = None) -> str:
    """The strip as SVG text, 760 wide. Unknown wind is hatched and said, never drawn as calm.

    `top_mps` is where the scale ends, for strips that are to be compared; without it, above the strip's own highest wind.
    """
    top = top_mps or scale_top(strip)
    height = TOP + PLOT + STAY * len(strip.stays) + 34
    return drawing(
        strip.name,
        WIDTH,
        height,
        strip.heading,
        describe(strip),
        *_axis(strip, top),
        *_unknown(strip),
        *_ranges(strip, top),
        *_limit(strip, top),
        *_stays(strip),
        *_ticks(strip, height),
    )


def describe(strip: WindStrip) -> str:
    """The strip in words."""
    known = [slot.mid_mps for slot in strip.slots if slot.known and slot.mid_mps is not None]
    wind = f"Wind from {min(known):.1f} to {max(known):.1f} m/s at hub height, 10-min mean." if known else "Wind unknown."
    missing = len(strip.slots) - len(known)
    gaps = f" {missing} of {len(strip.slots)} slots unknown." if missing and known else ""
    limit = f" Limit {strip.limit_mps:g} m/s." if strip.limit_mps is not None else ""
    return wind + gaps + limit + "".join(f" {stay.label}." for stay in strip.stays)


def scale_top(strip: WindStrip) -> float:
    """Where a strip's own scale ends, m/s."""
    highest = [slot.high_mps for slot in strip.slots if slot.known and slot.high_mps is not None]
    return max(10.0, 1.1 * max([*highest, strip.limit_mps or 0.0]))


def _x(strip: WindStrip, slot: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * slot / max(1, len(strip.slots))


def _y(mps: float, top: float) -> float:
    return TOP + PLOT * (1 - mps / top)


def _axis(strip: WindStrip, top: float) -> Iterator[str]:
    yield text(0, 11, "m/s", "small")
    for mps in range(0, int(top) + 1, 5):
        yield line(LEFT, _y(mps, top), WIDTH - RIGHT, _y(mps, top), "grid")
        yield text(LEFT - 6, _y(mps, top) + 4, str(mps), "small", "end")


def _runs(slots: Sequence[Slot]) -> Iterator[tuple[bool, int, int]]:
    """(known, first, end) of each run of slots that are known or not."""
    for known, group in groupby(enumerate(slots), key=lambda pair: pair[1].known):
        indexes = [index for index, _ in group]
        yield known, indexes[0], indexes[-1] + 1


def _unknown(strip: WindStrip) -> Iterator[str]:
    for known, first, end in _runs(strip.slots):
        if not known:
            x, width = _x(strip, first), _x(strip, end) - _x(strip, first)
            yield box(x, TOP, width, PLOT, "unknown", title("wind unknown"), fill=f"url(#{strip.name}-hatch)")
            if width > 60:
                yield text(x + width / 2, TOP + PLOT / 2, "unknown", "small halo", "middle")


def _ranges(strip: WindStrip, top: float) -> Iterator[str]:
    for known, first, end in _runs(strip.slots):
        if known:
            run = range(first, end)
            upper = [_point(strip, n, strip.slots[n].high_mps, top) for n in run]
            lower = [_point(strip, n, strip.slots[n].low_mps, top) for n in run]
            middle = [_point(strip, n, strip.slots[n].mid_mps, top) for n in run]
            yield tag("polygon", points=" ".join([*upper, *reversed(lower)]), class_="range")
            yield tag("polyline", points=" ".join(middle), class_="middle")


def _point(strip: WindStrip, slot: int, mps: float | None, top: float) -> str:
    return f"{_x(strip, slot + 0.5):.1f},{_y(mps or 0.0, top):.1f}"


def _limit(strip: WindStrip, top: float) -> Iterator[str]:
    if strip.limit_mps is not None:
        y = _y(strip.limit_mps, top)
        yield line(LEFT, y, WIDTH - RIGHT, y, "limit")
        yield text(WIDTH - RIGHT, y - 4, f"limit {strip.limit_mps:g} m/s", "small halo", "end")


def _stays(strip: WindStrip) -> Iterator[str]:
    for row, stay in enumerate(strip.stays):
        y, x, end = TOP + PLOT + STAY * row + 4, _x(strip, stay.start), _x(strip, stay.end)
        yield box(x, y, end - x, STAY - 4, "stay", title(stay.label))
        label_x, anchor = _label_place(x, end, len(stay.label))
        yield text(label_x, y + 13, stay.label, "small", anchor)


def _label_place(x: float, end: float, length: int) -> tuple[float, str]:
    """Where a stay's label starts or ends: inside its box, else right of it, else left of it."""
    width = 6.8 * length + 10
    if width <= end - x:
        return x + 5, "start"
    return (end + 5, "start") if end + width < WIDTH else (x - 5, "end")


def _ticks(strip: WindStrip, height: float) -> Iterator[str]:
    for slot, clock in strip.ticks:
        x = _x(strip, slot)
        yield line(x, TOP, x, height - 30, "grid")
        yield text(x, height - 16, clock, "small", "middle")
    yield text(WIDTH - RIGHT, height - 2, strip.zone, "small", "end")
