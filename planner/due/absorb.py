"""One visit for services that coincide: the larger does the work of the smaller ones it contains."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from planner.due.model import Due, Interval, Key


def absorb(dues: Sequence[Due], intervals: Iterable[Interval]) -> list[Due]:
    """Return one turbine's dues, in order, with absorbed_by set where a larger service does them too.

    A smaller due is absorbed if the larger one's due date lies within the smaller one's own tolerance
    (opens..closes); a statutory one has no late tolerance, so only if the larger is due by its due date.
    Containment passes through (five-year contains annual contains six-month), and what absorbs is never
    itself absorbed. Depends on dates only, so it is the same on any day and done twice changes nothing.
    Read visit_closes() for the last day of the joint visit. Raises ValueError if intervals contain each
    other in a ring.
    """
    contains = _contains_all({interval.key: interval.absorbs for interval in intervals})
    largest_first = sorted(range(len(dues)), key=lambda at: -len(contains.get(dues[at].key, ())))
    found: dict[int, Due] = {}
    for at in largest_first:
        larger = [d for d in found.values() if d.absorbed_by is None and _may_absorb(d, dues[at], contains)]
        best = min(larger, key=lambda d: _days_between(d, dues[at]), default=None)
        found[at] = replace(dues[at], absorbed_by=None if best is None else best.key)
    return [found[at] for at in range(len(dues))]


def visit_closes(larger: Due, dues: Iterable[Due]) -> date | None:
    """Return the last day for the visit that does the larger due and all it absorbs; None if undated."""
    parts = [larger, *(due for due in dues if due.absorbed_by == larger.key)]
    return min((due.closes for due in parts if due.closes is not None), default=None)


def _may_absorb(larger: Due, smaller: Due, contains: Mapping[Key, frozenset[Key]]) -> bool:
    if smaller.key not in contains.get(larger.key, ()):
        return False
    if larger.due is None or smaller.opens is None or smaller.closes is None:
        return False
    return smaller.opens <= larger.due <= smaller.closes


def _days_between(larger: Due, smaller: Due) -> int:
    if larger.due is None or smaller.due is None:
        raise ValueError(f"due of {larger.key} or {smaller.key} is missing: only dated work is absorbed.")
    return abs((larger.due - smaller.due).days)


def _contains_all(direct: Mapping[Key, frozenset[Key]]) -> dict[Key, frozenset[Key]]:
    """All keys contained in each key, directly or through others."""
    closed: dict[Key, frozenset[Key]] = {}

    def close(key: Key, path: tuple[Key, ...]) -> frozenset[Key]:
        if key in path:
            raise ValueError(f"absorbs of {key} leads back to itself: remove one link of the ring.")
        if key not in closed:
            parts = direct.get(key, frozenset())
            closed[key] = parts.union(*(close(part, (*path, key)) for part in parts))
        return closed[key]

    for key in direct:
        close(key, ())
    return closed
