"""The lists of a JSON file whose items have times, and the plain values inside their items."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from scheduling.weather.readers.json_series.paths import Step, write_path

#: Items looked at; what none of them has is not proposed.
LOOKED_AT = 300
_TIME_NAMES = frozenset(
    [
        "time",
        "timestamp",
        "validtime",
        "datetime",
        "date",
        "dt",
        "valid",
        "timeutc",
        "start",
        "starttime",
        "validfrom",
        "end",
        "endtime",
        "validto",
    ]
)
_ENDS = frozenset(("end", "endtime", "validto"))
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}.*")


@dataclass(frozen=True)
class FoundList:
    """A list and the leaves of its first items (`rows`): way inside the item -> the values there that are not null."""

    before: tuple[Step, ...]
    leaves: Mapping[tuple[Step, ...], list[Any]]
    rows: tuple[Any, ...]

    def path(self, after: tuple[Step, ...]) -> str:
        """The text of the path to a leaf."""
        return write_path(self.before, after)

    def times(self) -> list[tuple[Step, ...]]:
        """The leaves that look like the time of the item, a start before its end."""
        found = [after for after, values in self.leaves.items() if values and _is_time(after, values)]
        return sorted(found, key=lambda after: plain_name(after) in _ENDS)


def plain_name(way: tuple[Step, ...]) -> str:
    """The last key of a way in small letters without signs, "value" passed over."""
    keys = [step for step in way if isinstance(step, str) and step not in ("value", "values")]
    return re.sub(r"[\W_]", "", keys[-1]).lower() if keys else ""


def lists_in(document: Any) -> tuple[FoundList, ...]:
    """Every list of objects, and every group of plain lists side by side, outermost first."""
    return tuple(_lists(document, ()))


def _lists(node: Any, way: tuple[Step, ...]) -> Iterator[FoundList]:
    if isinstance(node, list):
        yield from _of_list(node, way)
    elif isinstance(node, dict):
        plain = {key: child for key, child in node.items() if _is_plain_list(child)}
        for key, child in plain.items():
            yield FoundList((*way, key), {(): [one for one in child[:LOOKED_AT] if one is not None]}, ())
        for key, child in node.items():
            if key not in plain:
                yield from _lists(child, (*way, key))


def _of_list(node: list[Any], way: tuple[Step, ...]) -> Iterator[FoundList]:
    rows = [item for item in node[:LOOKED_AT] if isinstance(item, dict)]
    if not rows:
        return
    leaves: dict[tuple[Step, ...], list[Any]] = {}
    for row in rows:
        for after, value in _leaves(row, ()):
            leaves.setdefault(after, []).extend([] if value is None else [value])
    yield FoundList(way, leaves, tuple(rows))
    if len(node) == 1:
        yield from _lists(node[0], (*way, 0))


def _leaves(node: dict[str, Any], way: tuple[Step, ...]) -> Iterator[tuple[tuple[Step, ...], Any]]:
    for key, child in node.items():
        if isinstance(child, dict):
            yield from _leaves(child, (*way, key))
        elif not isinstance(child, list):
            yield (*way, key), child


def _is_plain_list(node: Any) -> bool:
    return isinstance(node, list) and bool(node) and not any(isinstance(one, (dict, list)) for one in node[:LOOKED_AT])


def _is_time(after: tuple[Step, ...], values: list[Any]) -> bool:
    texts = all(isinstance(one, str) for one in values)
    named = plain_name(after) in _TIME_NAMES
    return named or (texts and not after and all(_ISO.fullmatch(one) for one in values))
