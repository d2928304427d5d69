"""The issue time a forecast file states of itself."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

from scheduling.weather.readers.json_series.units_beside import objects

#: Keys that hold when the forecast was made; when the answer was put together ("generatedAt") is another matter.
ISSUE_KEYS = frozenset(
    {"updatetime", "updatedat", "updated", "issued", "issuedat", "issuetime"}
    | {"referencetime", "forecastreferencetime", "analysistime"}
)


def issue_time(document: Any) -> datetime | None:
    """The issue time, UTC; None when the file states none with an offset, or several that differ."""
    found = {moment for _, node in objects(document) for key, raw in node.items() if _is_issue(key) and (moment := _moment(raw))}
    return found.pop() if len(found) == 1 else None


def _is_issue(key: str) -> bool:
    return re.sub(r"[_-]", "", key).lower() in ISSUE_KEYS


def _moment(raw: Any) -> datetime | None:
    try:
        moment = datetime.fromisoformat(raw) if isinstance(raw, str) else None
    except ValueError:
        return None
    return moment.astimezone(UTC) if moment is not None and moment.tzinfo is not None else None
