"""What came of looking at a file: accepted, in need of an answer, or refused."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from scheduling.weather.readers.report import FlagRun, Gap, Reading, ReadReport
from scheduling.weather.recipe import IN_TEXT, Question, Recipe

ACCEPTED, REFUSED, NEEDS_ANSWER = 0, 2, 3
#: Flags that hold whatever the unit and the height turn out to be.
_ALWAYS = {"CONFLICT", "DOUBLED"}


@dataclass(frozen=True)
class Inspection:
    """The account of one look at a file.

    draft      the recipe as far as it is known, as plain values; recipe and reading: only when accepted
    report     of the reading; with open questions of a trial one, `zone_known` saying whether its times are UTC
    left_out   column -> what would have to be said for it to be read as well
    sources    field of the recipe -> where in the file it was found
    """

    name: str
    accepted: bool
    reason: str
    draft: dict[str, Any] = field(default_factory=dict)
    recipe: Recipe | None = None
    reading: Reading | None = None
    report: ReadReport | None = None
    zone_known: bool = True
    ask: tuple[Question, ...] = ()
    left_out: dict[str, str] = field(default_factory=dict)
    sources: dict[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()

    @property
    def exit_code(self) -> int:
        """0 accepted, 3 needs an answer, 2 refused."""
        if self.accepted:
            return ACCEPTED
        return NEEDS_ANSWER if self.ask else REFUSED

    def to_json(self) -> dict[str, Any]:
        """The account as plain values; times in UTC, or as the file writes them while the zone is not known."""
        report = self.report
        return {
            "accepted": self.accepted,
            "reason": self.reason,
            "variables": [_variable(column) for column in self.draft.get("columns", [])],
            "zone": self.draft.get("zone"),
            "stamp": self.draft.get("stamp"),
            "rows_read": report.rows_read if report else None,
            "rows_skipped": report.rows_skipped if report else None,
            "first": self.time(report.first) if report else None,
            "last": self.time(report.last) if report else None,
            "step_min": report.step_min if report else None,
            "gaps": len(report.gaps) if report else None,
            "duplicates": report.duplicates if report else None,
            "flags": list(self.flags()),
            "ask": [{"field": one.field, "text": one.text, "choices": list(one.choices)} for one in self.ask],
        }

    def flags(self) -> Iterable[dict[str, Any]]:
        """Runs of quality flags, and the gaps of the record as such."""
        if self.report is None:
            return
        for gap in self.report.gaps:
            yield self._run("GAP", "", gap.start, gap.end, gap.steps)
        for run in self.report.flags:
            if self.accepted or run.rule in _ALWAYS:
                yield self._run(run.rule, run.column, run.start, run.end, run.rows)

    def time(self, when: datetime) -> str:
        """A time as text: with its offset, or without while the zone is not known."""
        return when.isoformat() if self.zone_known else when.replace(tzinfo=None).isoformat()

    def _run(self, rule: str, variable: str, start: datetime, end: datetime, rows: int) -> dict[str, Any]:
        return {"rule": rule, "variable": variable, "from": self.time(start), "to": self.time(end), "rows": rows}


def refused(name: str, reason: str) -> Inspection:
    """The outcome for a file that cannot be read."""
    return Inspection(name, False, reason)


def _variable(column: dict[str, Any]) -> dict[str, Any]:
    unit = column.get("unit")
    return {
        "name": column["column"],
        "unit": "as the file says" if unit == IN_TEXT else unit,
        "height_m": column.get("height_m"),
        "averaging_min": column.get("averaging_min"),
    }


__all__ = ["ACCEPTED", "NEEDS_ANSWER", "REFUSED", "FlagRun", "Gap", "Inspection", "refused"]
