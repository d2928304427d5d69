"""The README holds: its settings table is the settings file's, its commands exist, its two commands are single lines."""

from __future__ import annotations

import re
from argparse import ArgumentParser, _SubParsersAction
from pathlib import Path

from django.core.management import get_commands, load_command_class

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
SETTINGS = (ROOT / "planner" / "project" / "settings.py").read_text(encoding="utf-8")


def test_every_setting_stands_in_the_table_and_no_other() -> None:
    read = set(re.findall(r'env_(?:text|bool|int|list)\("(\w+)"', SETTINGS)) | {"DATABASE_URL"}
    told = set(re.findall(r"^\| `([A-Z_]+)` \|", README, flags=re.MULTILINE))
    assert told == read


def test_every_command_of_the_table_exists_with_its_options() -> None:
    rows = re.findall(r"^\| `manage\.py (\w+)([^`]*)`", README, flags=re.MULTILINE)
    assert {name for name, _ in rows} == {"demo", "serve", "due", "plan", "go", "solve", "bench", "fleet", "weather", "whatif"}
    for name, usage in rows:
        command = load_command_class(get_commands()[name], name)
        options = options_of(command.create_parser("manage.py", name), usage.split())
        assert set(re.findall(r"--[a-z-]+", usage)) <= options, name + usage


def options_of(parser: ArgumentParser, words: list[str]) -> set[str]:
    """The options of a command, and those of the action that the first word names."""
    actions = [one.choices for one in parser._actions if isinstance(one, _SubParsersAction)]
    inner = [choices[words[0]] for choices in actions if words and words[0] in choices]
    return set(parser._option_string_actions).union(*(one._option_string_actions for one in inner))


def test_the_two_commands_are_single_lines() -> None:
    blocks = re.findall(r"```\n(.*?)```", README, flags=re.DOTALL)
    assert blocks[0].count("\n") == 1
    assert "manage.py demo" in blocks[0]
    assert "bash tests/run.sh\n" in blocks
    assert "bash tests/run.sh" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
