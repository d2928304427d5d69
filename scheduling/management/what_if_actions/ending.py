"""manage.py whatif publish, throw-away."""

from __future__ import annotations

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import CommandError

from planner.errors import ConflictError
from scheduling.management.what_if_actions.rows import DONE, NO_PLAN, common, open_named, tell
from scheduling.models import Plan
from scheduling.services.what_ifs import what_if_publish, what_if_throw_away
from scheduling.telling import plan_json


class Publish:
    """Make its plan the one people go by."""

    HELP = "publish its plan if it holds against the register as it is now."

    @staticmethod
    def add_arguments(parser: ArgumentParser) -> None:
        """Which."""
        common(parser)

    @staticmethod
    def handle(out: Any, options: dict[str, Any]) -> int:
        """Publish, or say what to change first."""
        try:
            plan = what_if_publish(what_if=open_named(options), by=None)
        except ConflictError as error:
            if options["json"]:
                out.write(json.dumps({"published": False, "reason": error.message, **error.extra}, ensure_ascii=False))
            raise CommandError(error.message, returncode=NO_PLAN) from error
        plan = Plan.objects.select_related("base", "run").get(pk=plan.pk)
        told = json.dumps(plan_json(plan), indent=1, ensure_ascii=False)
        out.write(told if options["json"] else f"What-if {options['name']} is published as plan {plan.pk}.\n")
        return DONE


class ThrowAway:
    """End it."""

    HELP = "end one without publishing."

    @staticmethod
    def add_arguments(parser: ArgumentParser) -> None:
        """Which."""
        common(parser)

    @staticmethod
    def handle(out: Any, options: dict[str, Any]) -> int:
        """End it and tell it."""
        return tell(out, what_if_throw_away(what_if=open_named(options), by=None), options)
