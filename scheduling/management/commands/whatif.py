"""manage.py whatif ACTION ...: try changes to the fortnight in a named copy."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandError

from planner.errors import PlannerError
from scheduling.management.actions import ActionsCommand, help_of
from scheduling.management.what_if_actions import ACTIONS
from scheduling.management.what_if_actions.rows import BAD_INPUT


class Command(ActionsCommand):
    help = help_of("What if", ACTIONS)
    actions = ACTIONS

    def handle(self, *args: Any, **options: Any) -> None:
        """Do it; a refusal is one sentence and an exit code."""
        try:
            self.act(options)
        except PlannerError as error:
            raise CommandError(error.message, returncode=BAD_INPUT) from error
