"""manage.py whatif ACTION ...: try changes to the fortnight in a named copy."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from planner.errors import PlannerError
from scheduling.management.what_if_actions import ACTIONS
from scheduling.management.what_if_actions.rows import BAD_INPUT


class Command(BaseCommand):
    help = "What if: " + " ".join(f"{name}: {action.HELP}" for name, action in ACTIONS.items())

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One set of options for each action."""
        actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
        for name, action in ACTIONS.items():
            action.add_arguments(actions.add_parser(name, help=action.HELP, description=action.HELP))

    def handle(self, *args: Any, **options: Any) -> None:
        """Do it; a refusal is one sentence and an exit code."""
        try:
            ACTIONS[options["action"]].handle(self.stdout, options)
        except PlannerError as error:
            raise CommandError(error.message, returncode=BAD_INPUT) from error
