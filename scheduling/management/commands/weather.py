"""manage.py weather ACTION ...: look at weather files, take them in, and what else is done with weather."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import CommandError

from planner.errors import PlannerError
from scheduling.management.actions import ActionsCommand, help_of
from scheduling.management.weather_actions import ACTIONS
from scheduling.management.weather_actions.options import BAD_INPUT, NEEDS_ANSWER


class Command(ActionsCommand):
    help = help_of("Weather", ACTIONS)
    actions = ACTIONS
    # Looking at a file needs no database and no settings that are right.
    requires_system_checks: list[str] = []

    def handle(self, *args: Any, **options: Any) -> None:
        """Do it; a refusal is one sentence and an exit code."""
        try:
            code = self.act(options)
        except PlannerError as error:
            if options.get("json"):
                told = {"accepted": False, "reason": error.message, "ask": error.extra.get("ask", [])}
                self.stdout.write(json.dumps(told, ensure_ascii=False))
            raise CommandError(error.message, returncode=NEEDS_ANSWER if error.extra.get("ask") else BAD_INPUT) from error
        if code:
            raise SystemExit(code)
