"""manage.py whatif solve: through the queue, watched."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError

from scheduling.choices import USABLE
from scheduling.embedded import WorkerDidNotStart, embedded_worker
from scheduling.management.what_if_actions.rows import BAD_INPUT, NO_PLAN, common, open_named, tell
from scheduling.tasks import what_if_ask
from scheduling.watching import watch

HELP = "solve one and watch it."


def add_arguments(parser: ArgumentParser) -> None:
    """How long and how far."""
    common(parser)
    parser.add_argument("--time", type=float, default=float(settings.SOLVE_LIMIT_S), help="seconds at most")
    parser.add_argument("--gap", type=float, default=0.01)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--mend", action="store_true", help="mend the published plan, changing little of it")


def handle(out: Any, options: dict[str, Any]) -> int:
    """Ask, watch, tell."""
    row = open_named(options)
    params = {"time_limit_s": options["time"], "gap": options["gap"]} | ({"start": "published"} if options["mend"] else {})
    try:
        with embedded_worker(beat=False):
            run = watch(what_if_ask(what_if=row, by=None, seed=options["seed"], params=params), options["time"] + 120, _say)
    except WorkerDidNotStart as error:
        raise CommandError(str(error), returncode=BAD_INPUT) from error
    if run.state not in USABLE or run.best is None:
        if options["json"]:
            out.write(json.dumps({"run": run.pk, "state": run.state, "status": run.status, "text": run.text}))
        raise CommandError(f"Run {run.pk} ended as {run.get_state_display()}: {run.text}", returncode=NO_PLAN)
    row.refresh_from_db()
    return tell(out, row, options)


def _say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)
