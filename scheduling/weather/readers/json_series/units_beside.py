"""Where a JSON file says in which unit a value is: beside the value, at its list, or in a table of units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from scheduling.weather.readers.json_series.paths import ListPath, dig

#: Keys that hold the unit of the value beside them.
UNIT_KEYS = ("unitCode", "unit_code", "uom", "unit", "units")


def beside(item: Any, path: ListPath) -> str | None:
    """The unit stated inside an item: `unitCode` beside `value`, or `temperatureUnit` beside `temperature`."""
    if not path.after:
        return None
    holder, key = dig(item, path.after[:-1]), path.after[-1]
    if not isinstance(holder, dict):
        return None
    names = UNIT_KEYS if key == "value" else tuple(f"{key}{end}" for end in ("Unit", "Units", "_unit", "_units"))
    return next((holder[name] for name in names if isinstance(holder.get(name), str)), None)


def for_series(document: Any, path: ListPath) -> tuple[str, ...]:
    """The units stated for a whole series, each once: at the object of its list, or in tables of units."""
    holder = dig(document, path.before[:-1])
    if path.before and path.before[-1] == "values" and isinstance(holder, dict):
        at_list = next((holder[name] for name in UNIT_KEYS if isinstance(holder.get(name), str)), None)
        if at_list is not None:
            return (at_list,)
    return tuple(dict.fromkeys(_in_tables(document, path)))


def _in_tables(document: Any, path: ListPath) -> Iterator[str]:
    for key, node in objects(document):
        table = node.get(path.name)
        if key == "units" or _table_of(key) in path.before:
            if isinstance(table, str):
                yield table
        elif key == path.name:
            yield from (node[name] for name in UNIT_KEYS if isinstance(node.get(name), str))


def _table_of(key: str) -> str | None:
    """`hourly_units` is the table of the lists under `hourly`."""
    return next((key.removesuffix(end) for end in ("_units", "Units") if key.endswith(end)), None)


def objects(node: Any, key: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every object with the key it stands under; lists are not entered, for the units and stamps of a file stand
    outside them.
    """
    if isinstance(node, dict):
        yield key, node
        for name, child in node.items():
            yield from objects(child, name)
