"""What a file of delimited text says about itself. Nothing is guessed: what it does not say is left open."""

from __future__ import annotations

from pathlib import PurePath
from typing import Any

from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.sniff.columns import Found, find_columns
from scheduling.weather.readers.sniff.epw import propose_epw
from scheduling.weather.readers.sniff.heading import Heading, read_heading
from scheduling.weather.readers.sniff.hints import legend, stamp_around, zone_around, zone_in
from scheduling.weather.readers.sniff.keys import key_column
from scheduling.weather.readers.sniff.missing import decimal_of, missing_in
from scheduling.weather.readers.sniff.sheet import Sheet, cut
from scheduling.weather.readers.table import unique_names
from scheduling.weather.recipe import IN_TEXT, Question
from scheduling.weather.units import VARIABLES

_MOST_NAMES = 40


def propose_delimited(data: bytes, name: str) -> Proposal | None:
    """The proposal for delimited text. Raises ReadRefused when the file is no table, or has no column of times."""
    known = propose_epw(data, name)
    if known is not None:
        return known
    sheet = cut(data)
    heading = read_heading(sheet.above, sheet.width)
    names = unique_names(list(heading.names))
    around = sheet.preamble() + sheet.below()
    columns = find_columns(heading, names, legend(around, heading.names), sheet.timing.columns)
    draft = _Draft(sheet, heading, names, columns)
    draft.recipe["name"] = PurePath(name).stem or "unnamed"
    draft.table()
    draft.time(around)
    draft.values()
    draft.keys()
    return Proposal(draft.recipe, draft.sources, tuple(draft.ask), tuple(draft.notes))


class _Draft:
    """A recipe in the making, with where each of its values was found."""

    def __init__(self, sheet: Sheet, heading: Heading, names: list[str], columns: list[Found]) -> None:
        self.sheet, self.heading, self.names, self.columns = sheet, heading, names, columns
        self.data = sheet.data()
        self.recipe: dict[str, Any] = {"reader": "delimited"}
        self.sources: dict[str, str] = {}
        self.ask: list[Question] = []
        self.notes: list[str] = []

    def table(self) -> None:
        """Where the table stands in the file."""
        sheet, at = self.sheet, self.heading.names_at
        row = sheet.first if at is None else sheet.first - len(sheet.above) + at
        self.recipe |= {"delimiter": sheet.delimiter, "encoding": sheet.encoding, "skip_rows": row, "header": at is not None}
        self.recipe["skip_after"] = 0 if at is None else sheet.first - row - 1
        below = next((cells for cells in sheet.rows[sheet.past :] if cells and cells[0].strip()), None)
        if below is not None:
            self.recipe["ends_at"] = below[0][:40]
            self.notes.append(f"The data end before the line that begins with {below[0][:40]!r}.")

    def time(self, around: list[str]) -> None:
        """Which columns hold the time, how it is written, in which zone, and what a stamp names."""
        timing = self.sheet.timing
        self.recipe["time_columns"] = [self.names[at] for at in timing.columns]
        if len(timing.pattern.formats) == 1:
            self.recipe["time_format"] = timing.pattern.formats[0]
            if timing.pattern.told:
                self.sources["time_format"] = timing.pattern.told
        else:
            text = "Day and month cannot be told apart in any row. How is the time written?"
            self.ask.append(Question("time_format", text, timing.pattern.formats))
        self._zone(around)
        stamp = stamp_around(around)
        if stamp is not None:
            self.recipe["stamp"], self.sources["stamp"] = stamp[0], f"the line {stamp[1].strip()[:80]!r}"

    def _zone(self, around: list[str]) -> None:
        timing = self.sheet.timing
        above = " ".join(self.heading.hints(at) for at in timing.columns)
        named, lines = zone_in(above), zone_around(around)
        if timing.pattern.offsets:
            self.recipe["zone"], self.sources["zone"] = IN_TEXT, "each stamp carries its offset from UTC"
        elif named is not None:
            self.recipe["zone"], self.sources["zone"] = named, f"the header {above.strip()[:80]!r}"
        elif lines is not None:
            self.recipe["zone"], self.sources["zone"] = lines[0], f"the line {lines[1].strip()[:80]!r}"

    def values(self) -> None:
        """The weather columns, their decimal sign and what stands for no value in them."""
        texts = {one.at: [row[one.at] for row in self.data] for one in self.columns}
        self.recipe["decimal"] = decimal_of(list(texts.values()), self.sheet.delimiter)
        words: dict[str, int] = {}
        for one in self.columns:
            own, fills = missing_in(texts[one.at], one.variable, self.recipe["decimal"])
            words |= {text: words.get(text, 0) + count for text, count in own.items()}
            if fills:
                one.said["missing"] = sorted(fills)
                told = ", ".join(f"{text} ({count} times)" for text, count in sorted(fills.items()))
                one.sources["missing"] = f"{told}: out of reach, so no value"
        self.recipe["missing"] = sorted(words)
        if words:
            self.sources["missing"] = ", ".join(f"{text!r} ({count} times)" for text, count in sorted(words.items()))
        self.recipe["columns"] = [one.plain() for one in self.columns]
        for one in self.columns:
            self.sources |= {f"columns.{one.name}.{field}": source for field, source in one.sources.items()}
        if not any(one.variable == "wind" for one in self.columns):
            self._ask_wind()

    def _ask_wind(self) -> None:
        known = {one.at for one in self.columns} | set(self.sheet.timing.columns)
        free = tuple(name for at, name in enumerate(self.names) if at not in known)[:_MOST_NAMES]
        text = "No header names a wind. Which column holds it?"
        self.ask.append(Question("columns", text, free or tuple(VARIABLES)))

    def keys(self) -> None:
        """Which mast or turbine, where the file holds several."""
        taken = {one.at for one in self.columns} | set(self.sheet.timing.columns)
        free = [at for at in range(len(self.names)) if at not in taken]
        found = key_column(self.data, self.sheet.timing.texts(self.data), free)
        if found is not None:
            name = self.names[found[0]]
            text = f"The file holds {len(found[1])} records side by side, told apart by column {name}. Which one?"
            self.ask.append(Question("only", text, tuple(f"{name}={text}" for text in found[1])))


__all__ = ["propose_delimited"]
