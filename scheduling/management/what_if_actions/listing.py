"""manage.py whatif list: the what-ifs of a base."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from scheduling.choices import WhatIfState
from scheduling.management.what_if_actions.rows import DONE, base_of, common, row_json, row_text
from scheduling.models import WhatIf
from scheduling.selectors.what_ifs import BULKY

HELP = "what is open (--all: what ended too)."


def add_arguments(parser: ArgumentParser) -> None:
    """Which base."""
    common(parser, name=False)
    parser.add_argument("--all", action="store_true", help="ended ones too")


def handle(out: Any, options: dict[str, Any]) -> int:
    """List them."""
    base = base_of(options)
    rows = WhatIf.objects.filter(base=base).select_related("base", "result").defer(*BULKY, "result__problem", "result__best")
    rows = rows if options["all"] else rows.filter(state=WhatIfState.OPEN)
    if options["json"]:
        out.write(json.dumps([row_json(row) for row in rows], indent=1, ensure_ascii=False))
    else:
        out.write("".join(row_text(row) for row in rows) or f"{base} has no what-if{'' if options['all'] else ' open'}.\n")
    return DONE
