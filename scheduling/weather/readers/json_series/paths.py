"""Where a value stands in a JSON file: `properties.periods[].windSpeed`.

Keys are joined by points, `[]` is the one list whose items are the times, `[0]` picks one item of a list by
its number. A point or bracket inside a key is written with a backslash before it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scheduling.weather.readers.report import ReadRefused

Step = str | int
_KEY = re.compile(r"((?:\\.|[^.\[\]\\])*)((?:\[\d*\])*)(?:\.|$)")


@dataclass(frozen=True)
class ListPath:
    """`before`: the way to the list; `after`: the way on inside each of its items (empty for plain values)."""

    text: str
    before: tuple[Step, ...]
    after: tuple[Step, ...]

    @property
    def name(self) -> str:
        """The variable's name: the last key that is not just "value" or "values"."""
        keys = [step for step in (*self.before, *self.after) if isinstance(step, str) and step not in ("value", "values")]
        return keys[-1] if keys else ""

    def at(self, index: int) -> str:
        """The same place with the item's number, for messages."""
        return self.text.replace("[]", f"[{index}]", 1)


def parse_path(text: str) -> ListPath:
    """Read a path. Raises ReadRefused unless it holds exactly one `[]`."""
    steps: list[Step | None] = []
    at = 0
    while at < len(text):
        found = _KEY.match(text, at)
        if found is None or not (found[1] or found[2]):
            raise ReadRefused(f"path {text!r}: write keys joined by points and [] after the list of times, as in hours[].wind")
        if found[1]:
            steps.append(re.sub(r"\\(.)", r"\1", found[1]))
        steps += [int(number) if number else None for number in re.findall(r"\[(\d*)\]", found[2])]
        at = found.end()
    if steps.count(None) != 1:
        raise ReadRefused(f"path {text!r}: mark the one list that holds the times with [], and pick from other lists by number")
    split = steps.index(None)
    return ListPath(text, _known(steps[:split]), _known(steps[split + 1 :]))


def write_path(before: Sequence[Step], after: Sequence[Step]) -> str:
    """The text of a path that `parse_path` reads back."""
    return _joined(before) + "[]" + ("." if after else "") + _joined(after)


def dig(node: Any, steps: Sequence[Step]) -> Any:
    """The value at the end of the steps; None where the way ends before."""
    for step in steps:
        if isinstance(step, str) and isinstance(node, dict):
            node = node.get(step)
        elif isinstance(step, int) and isinstance(node, list) and step < len(node):
            node = node[step]
        else:
            return None
    return node


def list_at(document: Any, path: ListPath) -> list[Any]:
    """The items of the path's list. Raises ReadRefused when there is no such list or it is empty."""
    found = dig(document, path.before)
    if not isinstance(found, list):
        raise ReadRefused(f"{path.text}: the file has no list at {_joined(path.before) or 'its top'}; {_nearest(document, path)}")
    if not found:
        raise ReadRefused(f"{path.text}: the list is empty; there is nothing to read in this file.")
    return found


def _nearest(document: Any, path: ListPath) -> str:
    """How far the way goes, and what could follow there."""
    reached = 0
    while reached < len(path.before) and dig(document, path.before[: reached + 1]) is not None:
        reached += 1
    node = dig(document, path.before[:reached])
    keys = ", ".join(list(node)[:20]) if isinstance(node, dict) else f"a {type(node).__name__}"
    return f"at {_joined(path.before[:reached]) or 'its top'} it has {keys}"


def _known(steps: Sequence[Step | None]) -> tuple[Step, ...]:
    return tuple(step for step in steps if step is not None)


def _joined(steps: Sequence[Step]) -> str:
    text = ""
    for step in steps:
        text += f"[{step}]" if isinstance(step, int) else ("." if text else "") + re.sub(r"([.\[\]\\])", r"\\\1", step)
    return text
