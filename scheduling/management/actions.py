"""A command with actions: `manage.py NAME ACTION ...`, one module an action with HELP, add_arguments and handle."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any, ClassVar

from django.core.management.base import BaseCommand


class ActionsCommand(BaseCommand):
    """Gives each action its own set of options. `act` does the one that was asked for."""

    actions: ClassVar[dict[str, Any]]

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One set of options for each action."""
        choice = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
        for name, action in self.actions.items():
            action.add_arguments(choice.add_parser(name, help=action.HELP, description=action.HELP))

    def act(self, options: dict[str, Any]) -> Any:
        """Do the action; what it gives back is its own business."""
        return self.actions[options["action"]].handle(self.stdout, options)


def help_of(start: str, actions: dict[str, Any]) -> str:
    """The command's help: what each action does."""
    return f"{start}: " + " ".join(f"{name}: {action.HELP}" for name, action in actions.items())
