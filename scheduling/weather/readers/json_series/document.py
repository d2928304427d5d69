"""Bytes to plain JSON values: bombs, doubled keys and broken text are refused early."""

from __future__ import annotations

import json
from typing import Any

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.table import decode

#: JSON takes about ten times its size in memory.
MAX_JSON_BYTES = 50_000_000
#: Forecasts are nested about eight deep.
MAX_DEPTH = 40


def parse_document(data: bytes, encoding: str) -> Any:
    """The values of a JSON text; NaN and Infinity, which JSON does not know but some write, become None.

    Raises ReadRefused for anything too large, too deep, cut off, or with one key twice in an object.
    """
    if len(data) > MAX_JSON_BYTES:
        raise ReadRefused(f"The file has {len(data):,} bytes; of JSON at most {MAX_JSON_BYTES:,} are read. Split it by time.")
    text = decode(data, encoding)
    try:
        document = json.loads(text, object_pairs_hook=_object, parse_constant=lambda _: None, parse_int=_whole)
    except json.JSONDecodeError as error:
        raise ReadRefused(
            f"line {error.lineno}, character {error.colno}: this is no JSON ({error.msg}); fetch or export the file again."
        ) from None
    except RecursionError:
        raise ReadRefused(_too_deep()) from None
    _check_depth(document)
    return document


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ReadRefused(
            f"The key {twice!r} stands twice in one object, and which value counts cannot be told; correct the file."
        )
    return found


def _whole(text: str) -> int | float:
    """Python refuses to read whole numbers of thousands of digits, and no weather has them."""
    return int(text) if len(text) < 20 else float(text)


def _check_depth(document: Any) -> None:
    level = [document]
    for _ in range(MAX_DEPTH):
        level = [child for node in level for child in _children(node)]
        if not level:
            return
    raise ReadRefused(_too_deep())


def _children(node: Any) -> list[Any]:
    values = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    return [child for child in values if isinstance(child, (dict, list))]


def _too_deep() -> str:
    return f"The file nests objects more than {MAX_DEPTH} deep: this is no forecast. Check what was fetched."
