"""A comparison as plain data, for the API and commands. Money in the base's currency, times local to the base."""

from __future__ import annotations

from typing import Any

from scheduling.fortnight.side_by_side import Figures, Seen
from scheduling.selectors.side_by_side import Found, Named


def compared_json(found: Found) -> dict[str, Any]:
    """Each plan's figures, what differs from the first, and the visits day by day."""
    sides = zip(found.named, found.sides, found.result.figures, found.bounds, strict=True)
    compared = list(zip(found.named, found.result.compared, strict=True))
    keys = [one.key for one in found.named]
    return {
        "sides": [
            {
                **_named(one),
                "currency": side.problem.currency,
                **_figures(figures, one),
                "bound": bound,
                "unsure": round(found.unsure(number), 2),
            }
            for number, (one, side, figures, bound) in enumerate(sides)
        ],
        "changes": [
            {"side": one.key, "kind": change.kind, "order": change.order, "visit": change.visit, "text": change.text}
            for one, own in compared
            for change in own.changes
        ],
        "people": [{"side": one.key, "text": text} for one, own in compared for text in own.people],
        "problems": [
            {"side": one.key, "kind": difference.kind, "what": difference.what, "text": difference.text}
            for one, own in compared
            for difference in own.problem
        ],
        "days": [{"date": date, "visits": dict(zip(keys, map(_cell, cells), strict=True))} for date, cells in found.result.days],
        "same_days": len({(one.first_day, one.last_day) for one in found.named}) == 1,
    }


def _named(one: Named) -> dict[str, Any]:
    return {
        "side": one.key,
        "title": one.title,
        "state": one.state,
        "first_day": one.first_day.isoformat(),
        "last_day": one.last_day.isoformat(),
        "run": one.run_id,
    }


def _figures(found: Figures, one: Named) -> dict[str, Any]:
    shown = set(found.left_out)
    return {
        "value": found.value / 100,
        "at_first_prices": found.at_first_prices / 100,
        "parts": {name: cents / 100 for name, cents in found.parts.items()},
        "lost_mwh": round(found.lost_mwh, 3),
        "visits": found.visits,
        "orders_planned": len(found.planned),
        "left_out": [row for row in one.left_out if row["order"] in shown],
        "late": [{"order": order, "days": days} for order, days in found.late],
        "people_h": round(found.people_min / 60, 2),
        "overtime_h": round(found.overtime_min / 60, 2),
        "travel_h": round(found.travel_min / 60, 2),
        "team_days": found.team_days,
    }


def _cell(own: tuple[Seen, ...]) -> list[dict[str, Any]]:
    return [_seen(seen) for seen in own]


def _seen(seen: Seen) -> dict[str, Any]:
    return {
        "turbine": seen.turbine,
        "start": seen.start,
        "end": seen.end,
        "team": list(seen.people),
        "orders": list(seen.orders),
        "chance": seen.chance,
    }
