"""manage.py whatif new, change: a named copy of the fortnight, and its changes."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from datetime import timedelta
from pathlib import Path
from typing import Any

from planner.clock import today_at
from planner.errors import PlannerError
from scheduling.fortnight.changes import kinds_said
from scheduling.management.options import local_day
from scheduling.management.what_if_actions.rows import base_of, common, json_value, open_named, tell
from scheduling.services.what_ifs import what_if_change, what_if_create


def _changes_options(parser: ArgumentParser) -> None:
    parser.epilog = f"Kinds of change and their fields: {kinds_said()}."
    parser.add_argument(
        "--add", type=json_value, action="append", default=[], help="a change as JSON; may be given several times"
    )
    parser.add_argument("--file", type=Path, help="a file with a list of changes as JSON")


def _changes(options: dict[str, Any]) -> list[Any]:
    if options["file"] is None:
        return list(options["add"])
    try:
        data = json.loads(options["file"].read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise PlannerError(f"{options['file']} cannot be read: {error}.", field="file") from error
    if not isinstance(data, list):
        raise PlannerError(f"{options['file']} holds no list: give one of changes.", field="file")
    return data + list(options["add"])


class New:
    """Freeze the fortnight under a name."""

    HELP = "copy the fortnight as it is now under a name."

    @staticmethod
    def add_arguments(parser: ArgumentParser) -> None:
        """Name, days, first changes."""
        common(parser)
        parser.add_argument("--first", type=local_day, help="first day, YYYY-MM-DD; otherwise tomorrow")
        parser.add_argument("--days", type=int, default=14)
        parser.add_argument("--note", default="")
        parser.add_argument("--like", help="name of an open what-if whose changes to start with")
        _changes_options(parser)

    @staticmethod
    def handle(out: Any, options: dict[str, Any]) -> int:
        """Make it and tell it."""
        base = base_of(options)
        first = options["first"] or today_at(base.zone) + timedelta(days=1)
        asked = {"base": base, "name": options["name"], "first_day": first, "days": options["days"], "note": options["note"]}
        begin = open_named({**options, "name": options["like"]}).changes if options["like"] else []
        return tell(out, what_if_create(**asked, changes=[*begin, *_changes(options)], by=None), options)


class Change:
    """Add changes and take some off."""

    HELP = "add changes (--add, --file) and take some off (--remove)."

    @staticmethod
    def add_arguments(parser: ArgumentParser) -> None:
        """What to add and what to take off."""
        common(parser)
        _changes_options(parser)
        parser.add_argument("--remove", type=int, action="append", default=[], help="number of a change as listed, from 1")

    @staticmethod
    def handle(out: Any, options: dict[str, Any]) -> int:
        """Change it and tell it."""
        remove = [number - 1 for number in options["remove"]]
        return tell(out, what_if_change(what_if=open_named(options), by=None, add=_changes(options), remove=remove), options)
