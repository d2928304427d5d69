"""Changes as JSON values and back: {"kind": "person away", "person": "Ada", "days": ["2026-06-10"]}."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any

from scheduling import codec
from scheduling.fortnight.changes import numbers, orders, people, things
from scheduling.fortnight.changes.base import Change, Refused

MOST = 200

KINDS: dict[str, type[Change]] = {
    record.kind: record
    for record in (
        people.PersonAdded,
        people.ShiftLonger,
        people.PersonAway,
        things.VehicleAdded,
        things.VehicleGone,
        things.EquipmentDays,
        things.TurbineClosed,
        things.MostStopped,
        numbers.LimitChanged,
        numbers.Confidence,
        numbers.Weight,
        numbers.ChangeWeight,
        orders.PinLifted,
        orders.OrderMode,
        orders.DueDate,
        orders.LeftOutCost,
        orders.PartsEarlier,
        orders.AllowedDays,
        orders.LeftOutByHand,
    )
}
"""kind -> record, in the order in which they are laid (somebody is added, then their shift grows, then they are away)."""


def kinds_said() -> str:
    """Every kind with its fields, those that may be left out in brackets."""
    return "; ".join(f"{kind}: {', '.join(_fields(record))}" for kind, record in KINDS.items())


def _fields(record: type[Change]) -> list[str]:
    return [
        one.name if one.default is dataclasses.MISSING else f"[{one.name}]"
        for one in dataclasses.fields(record)  # type: ignore[arg-type]
    ]


def change_to_json(change: Change) -> dict[str, Any]:
    """The change as JSON values."""
    data: dict[str, Any] = codec.to_json(change)
    return {"kind": change.kind, **data}


def changes_to_json(changes: Iterable[Change]) -> list[dict[str, Any]]:
    """The list as JSON values; `changes_from_json` gives the same back."""
    return [change_to_json(one) for one in changes]


def changes_from_json(data: Any, path: str = "changes") -> tuple[Change, ...]:
    """Read a list of changes; ValueError names the path and the cure."""
    if not isinstance(data, (list, tuple)):
        raise Refused(path, 'expected a list such as [{"kind": "person away", "person": "Ada", "days": ["2026-06-10"]}]')
    if len(data) > MOST:
        raise Refused(path, f"{len(data)} changes are too many: give at most {MOST}")
    return tuple(change_from_json(item, f"{path}[{number}]") for number, item in enumerate(data))


def change_from_json(data: Any, path: str = "change") -> Change:
    """Read one change."""
    if not isinstance(data, dict):
        raise Refused(path, 'expected an object such as {"kind": "confidence", "share": 0.7}')
    kind = data.get("kind")
    if kind in things.LAW_AND_LIFE:
        raise Refused(f"{path}.kind", f"{kind!r} cannot be changed, not even to try: {things.LAW_AND_LIFE[kind]}")
    if not isinstance(kind, str) or kind not in KINDS:
        raise Refused(f"{path}.kind", f"{kind!r} is no kind of change; there are {', '.join(KINDS)}")
    fields = {name: value for name, value in data.items() if name != "kind"}
    return codec.from_json(KINDS[kind], fields, path)
