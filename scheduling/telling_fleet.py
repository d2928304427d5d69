"""A fleet as data for scripts, and as lines for a terminal."""

from __future__ import annotations

from typing import Any

from scheduling.models import Fleet
from scheduling.selectors.fleets import PartRow, fleet_parts, sums_of


def fleet_json(fleet: Fleet) -> dict[str, Any]:
    """How it ended, its sums, and each part with its cause or its plan."""
    parts = fleet_parts(fleet)
    return {
        "fleet": fleet.pk,
        "state": fleet.state,
        "text": fleet.text,
        "first_day": fleet.first_day.isoformat(),
        "days": fleet.days,
        "joined_by": fleet.joined_by,
        "shared": fleet.shared,
        "clashes": fleet.clashes,
        "sums": sums_of(parts).to_json(),
        "parts": [_part(row) for row in parts],
    }


def _part(row: PartRow) -> dict[str, Any]:
    run = row.run
    plan = getattr(run, "plan", None)
    return {
        "base": run.base.name,
        "run": run.pk,
        "plan": plan.pk if plan else None,
        "state": run.state,
        "text": run.text,
        "currency": row.currency,
        "value": run.value,
        "bound": run.bound,
        "gap": run.gap,
        "planned": row.planned,
        "left_out": row.left_out,
    }


def fleet_text(fleet: Fleet) -> str:
    """The same, to be read."""
    data = fleet_json(fleet)
    lines = [f"Fleet {fleet.pk} from {fleet.first_day}, {fleet.days} days: {fleet.text}"]
    for one in data["sums"]["money"]:
        gap = f"gap {one['gap']:.1%}" if one["gap"] is not None else "no proven least"
        lines.append(f"  {one['parts']} plans cost {one['currency']} {one['value']:,.0f}, {gap}")
    lines += [f"  one after the other (share {', '.join(one['by'])}): {', '.join(one['bases'])}" for one in fleet.joined_by]
    lines += [f"  used twice: {one}" for one in fleet.clashes]
    for part in data["parts"]:
        came = f"{part['planned']} planned, {part['left_out']} left out" if part["plan"] else part["text"]
        lines.append(f"  {part['base']}: {part['state']}, {came}")
    return "\n".join(lines) + "\n"
