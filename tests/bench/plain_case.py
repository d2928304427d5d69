"""The same questions as explain/case.py, asked of the room start by start: what reasons are measured and tested against."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cached_property
from importlib import import_module
from unittest.mock import patch

import numpy as np

from scheduling.fortnight.explain.case import Case, Columns
from scheduling.fortnight.explain.hours import Group
from scheduling.fortnight.plan import Visit
from scheduling.fortnight.room import Room


class PlainCase(Case):
    """Every start by itself, no group, nothing worked out for several orders at once."""

    @cached_property
    def starts(self) -> Columns:
        """As the room drafts them."""
        days = self.problem.days
        drafts = (draft for day in self.days for draft in self.room.drafts(self.order, self.job, day))
        return np.array([days[draft.day].first_slot + draft.start for draft in drafts], np.int64)

    @cached_property
    def staff(self) -> list[tuple[int, Group]]:
        """Of every start."""
        return self._staff(self.empty, self.starts)

    @cached_property
    def staff_beside(self) -> list[tuple[int, Group]]:
        """Of every free start."""
        return self._staff(self.room, self.placed)

    def _staff(self, room: Room, columns: Columns) -> list[tuple[int, Group]]:
        drafts = [self.draft(column) for column in columns]
        return [(int(c), Group(draft.day, room.free_people(draft))) for c, draft in zip(columns, drafts, strict=True)]

    @cached_property
    def crewed_alone(self) -> Columns:
        """Start by start."""
        return self._those(self.starts, [self.empty.with_new_team(self.order, self.mode, self.draft(c)) for c in self.starts])

    def free(self, columns: Columns) -> Columns:
        """Start by start."""
        drafts = [self.draft(column) for column in columns]
        free = [self.room.is_place_free(self.order, d) and self.room.is_after_others(self.order, d) for d in drafts]
        return self._those(columns, free)

    def _those(self, columns: Columns, answers: list[Visit | None] | list[bool]) -> Columns:
        return columns[np.array([bool(answer) for answer in answers], bool)]

    def crewed(self, columns: Columns) -> Iterator[Visit]:
        """Start by start."""
        found = (self.room.crewed(self.order, self.mode, self.draft(column)) for column in columns)
        return (visit for visit in found if visit is not None)


@contextmanager
def plainly() -> Iterator[None]:
    """Reasons found this way."""
    package = "scheduling.fortnight.explain"
    reasons, daily = import_module(f"{package}.reasons"), import_module(f"{package}.daily")
    with patch.object(reasons, "Case", PlainCase), patch.object(daily, "Case", PlainCase):
        yield


__all__ = ["PlainCase", "plainly"]
