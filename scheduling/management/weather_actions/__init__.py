"""What `manage.py weather` can do: one module an action, one line here.

A module has HELP, `add_arguments(parser)` and `handle(out, options)`, which gives the exit code.
"""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any, Protocol

from django.core.management.base import OutputWrapper

from scheduling.management.weather_actions import fit, import_file, inspect_file


class Action(Protocol):
    """An action of the command."""

    HELP: str

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The options of this action alone."""

    def handle(self, out: OutputWrapper, options: dict[str, Any]) -> int:
        """Do it and write the outcome; the exit code. Raises PlannerError with one sentence."""


#: name on the command line -> its module
ACTIONS: dict[str, Action] = {
    "import": import_file,
    "inspect": inspect_file,
    "fit": fit,
}
