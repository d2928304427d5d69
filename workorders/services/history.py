"""Who did it: history of new rows, and of updates that go past save()."""

from __future__ import annotations

from typing import Any

from planner.models.base import Record


def save_by(row: Record, by: Any) -> None:
    """Save the row; its history names `by` (None: the system)."""
    named: Any = row
    named._history_user = by
    try:
        row.save()
    finally:
        del named._history_user  # or whoever saves the same object next would be named too


def history_write(row: Record, by: Any, reason: str) -> None:
    """One history row of the row as it now is, for an update that went past save()."""
    type(row).history.bulk_history_create([row], update=True, default_user=by, default_change_reason=reason)
