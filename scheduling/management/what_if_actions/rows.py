"""What the actions have in common: finding a what-if by name, and telling it."""

from __future__ import annotations

import json
from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from planner.errors import PlannerError
from planner.models import Base
from scheduling.choices import WhatIfState
from scheduling.management.options import base_named
from scheduling.models import WhatIf

DONE, NO_PLAN, BAD_INPUT = 0, 3, 2


def common(parser: ArgumentParser, *, name: bool = True) -> None:
    """The options of every action."""
    if name:
        parser.add_argument("name", help="name of the what-if")
    parser.add_argument("--base", help="name of the base; not needed where there is one")
    parser.add_argument("--json", action="store_true")


def open_named(options: dict[str, Any]) -> WhatIf:
    """The open what-if of that name."""
    base = base_named(options["base"])
    rows = WhatIf.objects.filter(base=base, state=WhatIfState.OPEN).select_related("base", "result")
    found = rows.filter(name=options["name"]).first()
    if found is None:
        names = ", ".join(rows.values_list("name", flat=True)[:20]) or "none"
        raise PlannerError(f"{base} has no open what-if {options['name']!r}; open are: {names}.", field="name")
    return found


def json_value(text: str) -> Any:
    """A JSON text on the command line."""
    try:
        return json.loads(text)
    except ValueError as error:
        raise ArgumentTypeError(f"{text[:60]!r} is no JSON ({error}): give a change such as "
                                '\'{"kind": "confidence", "share": 0.7}\'') from None  # fmt: skip


def row_json(row: WhatIf) -> dict[str, Any]:
    """A what-if as data."""
    return {
        "what_if": row.pk,
        "name": row.name,
        "base": row.base.name,
        "state": row.state,
        "first_day": row.first_day.isoformat(),
        "days": row.days,
        "note": row.note,
        "changes": row.changes,
        "told": row.told,
        "value": row.result.value if row.result else None,
        "run": row.result_id,
    }


def row_text(row: WhatIf) -> str:
    """A what-if as lines; changes are numbered as --remove takes them."""
    cost = f"cost {row.result.value:,.0f}" if row.result and row.result.value is not None else "not solved"
    lines = [f"{row.name} ({row.state}), {row.first_day}, {row.days} days, {cost}"]
    for number, one in enumerate(row.told, 1):
        lines += [f"  {number}. {one['said']}", *([f"     {one['caution']}"] if one.get("caution") else [])]
    return "\n".join(lines) + "\n"


def tell(out: Any, row: WhatIf, options: dict[str, Any]) -> int:
    """Write it, as data or as lines."""
    out.write(json.dumps(row_json(row), indent=1, ensure_ascii=False) if options["json"] else row_text(row))
    return DONE


def base_of(options: dict[str, Any]) -> Base:
    """The base that is meant."""
    return base_named(options["base"])
