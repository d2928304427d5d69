"""The year's round: turbines by weeks, with each week's load against its capacity and how often the wind lets people work."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scheduling.drawings.svg import box, drawing, line, text, title

LEFT, TOP, CELL, ROW, LOAD, CALM = 70.0, 40.0, 20.0, 20.0, 60.0, 30.0


@dataclass(frozen=True)
class WeekColumn:
    """A week. `month` is set on the first week of its month. Hours are person-hours; shares run from 0 to 1, None = unknown."""

    label: str
    month: str
    load_h: float
    capacity_h: float
    workable_share: float | None
    fits_share: float | None

    @property
    def over(self) -> bool:
        """More work than people."""
        return self.load_h > self.capacity_h


@dataclass(frozen=True)
class Cell:
    """What stands at a turbine in a week: a short mark (number of items or a letter) and the sentence behind it."""

    mark: str
    detail: str
    statutory: bool = False


def round_grid(
    name: str, heading: str, turbines: tuple[str, ...], weeks: tuple[WeekColumn, ...], cells: Mapping[tuple[str, int], Cell]
) -> str:
    """The grid as SVG text. `cells` by (turbine, week index); statutory work has a thick outline, overfull weeks an "!"."""
    width = LEFT + CELL * len(weeks) + 10
    grid_end = TOP + ROW * len(turbines)
    height = grid_end + LOAD + CALM + 56
    over = sum(week.over for week in weeks)
    words = f"{len(cells)} cells with work at {len(turbines)} turbines in {len(weeks)} weeks; {over} weeks hold more than fits."
    return drawing(
        name,
        width,
        height,
        heading,
        words,
        *_heads(weeks, height),
        *_turbines(turbines, width),
        *(part for row, turbine in enumerate(turbines) for part in _cells(turbine, row, len(weeks), cells)),
        *_loads(name, weeks, grid_end + 14),
        *_calm(weeks, grid_end + LOAD + 38),
    )


def _x(week: int) -> float:
    return LEFT + CELL * week


def _heads(weeks: tuple[WeekColumn, ...], height: float) -> Iterator[str]:
    for index, week in enumerate(weeks):
        if week.month:
            yield line(_x(index), 4, _x(index), height - 4, "grid")
            yield text(_x(index) + 3, 14, week.month, "strong")
        yield text(_x(index) + CELL / 2, 32, week.label, "tiny", "middle")


def _turbines(turbines: tuple[str, ...], width: float) -> Iterator[str]:
    for row, turbine in enumerate(turbines):
        yield text(0, TOP + ROW * row + 14, turbine, "small")
        yield line(LEFT, TOP + ROW * (row + 1), width - 10, TOP + ROW * (row + 1), "grid")


def _cells(turbine: str, row: int, weeks: int, cells: Mapping[tuple[str, int], Cell]) -> Iterator[str]:
    for week in range(weeks):
        cell = cells.get((turbine, week))
        if cell is not None:
            x, y = _x(week) + 1.5, TOP + ROW * row + 1.5
            yield box(x, y, CELL - 3, ROW - 3, "cell legal" if cell.statutory else "cell", title(cell.detail), rx=2)
            yield text(x + (CELL - 3) / 2, y + 12.5, cell.mark, "tiny", "middle")


def _loads(name: str, weeks: tuple[WeekColumn, ...], top: float) -> Iterator[str]:
    """Outlined: hours on shift. Filled: work laid in; hatched where it is more."""
    yield text(0, top + 12, "load h", "small")
    yield text(0, top + 26, "of shift h", "small")
    most = max([week.load_h for week in weeks] + [week.capacity_h for week in weeks], default=0.0) or 1.0
    for index, week in enumerate(weeks):
        load, room = LOAD * week.load_h / most, LOAD * week.capacity_h / most
        said = title(f"week {week.label}: {week.load_h:.0f} h of work, {week.capacity_h:.0f} h on shift")
        fill = {"fill": f"url(#{name}-hatch)"} if week.over else {}
        yield box(_x(index) + 3, top + LOAD - load, CELL - 6, load, "load over" if week.over else "load", said, **fill)
        yield box(_x(index) + 1.5, top + LOAD - room, CELL - 3, room, "room", said)
        if week.over:
            yield text(_x(index) + CELL / 2, top + LOAD - load - 3, "!", "strong", "middle")


def _calm(weeks: tuple[WeekColumn, ...], top: float) -> Iterator[str]:
    """How much of the working time the wind lets people work, mean over the past years, in percent."""
    yield text(0, top + 12, "workable %", "small")
    for index, week in enumerate(weeks):
        if week.workable_share is None:
            yield text(_x(index) + CELL / 2, top + 12, "?", "tiny", "middle")
            continue
        said = title(f"week {week.label}: workable {week.workable_share:.0%} of the working time, mean of past years")
        yield text(_x(index) + CELL / 2, top + 12, f"{100 * week.workable_share:.0f}", "tiny", "middle")
        yield box(_x(index) + 3, top + 18 + CALM * (1 - week.workable_share), CELL - 6, CALM * week.workable_share, "calm", said)
