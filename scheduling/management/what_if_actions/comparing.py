"""manage.py whatif compare: two or three plans side by side."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from planner.cautions import CAUTION
from planner.models import Base, Site
from scheduling.choices import WhatIfState
from scheduling.management.what_if_actions.rows import DONE, base_of, common
from scheduling.models import WhatIf
from scheduling.selectors.side_by_side import KINDS, compare_named
from scheduling.telling_compared import compared_json

HELP = "hold plans side by side."
FIGURES = (
    ("at_first_prices", "cost at the first one's prices"),
    ("lost_mwh", "energy not produced, MWh"),
    ("visits", "visits"),
    ("orders_planned", "orders planned"),
    ("people_h", "people's hours away"),
    ("travel_h", "of these on the way"),
    ("overtime_h", "of these overtime"),
    ("team_days", "teams sent out, by day"),
)


def add_arguments(parser: ArgumentParser) -> None:
    """Which plans."""
    parser.add_argument(
        "plans", nargs="+", metavar="PLAN", help=f"{KINDS}, or the name of an open what-if; one alone: with published"
    )
    common(parser, name=False)


def handle(out: Any, options: dict[str, Any]) -> int:
    """Compare and tell."""
    base = base_of(options)
    keys = [_key(base, word) for word in options["plans"]]
    keys = ["published", *keys] if len(keys) == 1 else keys
    found = compared_json(compare_named(base=base, keys=keys, sites=list(Site.objects.filter(base=base))))
    if options["json"]:
        out.write(json.dumps({**found, "caution": CAUTION}, indent=1, ensure_ascii=False))
    else:
        out.write("\n".join(_lines(found)) + "\n")
    return DONE


def _key(base: Base, word: str) -> str:
    """The word itself, or the key of the open what-if of that name."""
    pk = WhatIf.objects.filter(base=base, name=word, state=WhatIfState.OPEN).values_list("pk", flat=True).first()
    return word if pk is None else f"what-if-{pk}"


def _lines(found: dict[str, Any]) -> Iterator[str]:
    sides = found["sides"]
    yield CAUTION
    yield f"{'':<34}" + "".join(f"{side['title'][:20]:>22}" for side in sides)
    if not found["same_days"]:
        yield "These plans do not cover the same days: their sums are not of the same work."
    yield _line(f"cost, {sides[0]['currency']}", [side["value"] for side in sides])
    yield _line("proven least", [side["bound"] or 0.0 for side in sides])
    for name in dict.fromkeys(part for side in sides for part, amount in side["parts"].items() if amount):
        yield _line(f"  {name}", [side["parts"].get(name, 0.0) for side in sides])
    for name, label in FIGURES:
        yield _line(label, [side[name] for side in sides])
    for side in sides:
        yield from (
            f"{side['title']}: left out {row['order']} {row['label']}: {row.get('reason', '')}" for row in side["left_out"]
        )
        yield from (f"{side['title']}: {row['order']} is late by {row['days']} days" for row in side["late"])
    for side in sides:
        if side["unsure"]:
            yield f"{side['title']}: its difference in cost proves nothing yet, a longer search could bring {side['unsure']:,.0f}"
    titles = {side["side"]: side["title"] for side in sides}
    for change in found["changes"]:
        yield f"{titles[change['side']]}: {change['kind']}: {change['text']}"


def _line(label: str, values: list[float]) -> str:
    return f"{label:<34}" + "".join(f"{value:>22,.1f}" for value in values)
