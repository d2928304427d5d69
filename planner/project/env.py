"""Typed readers of environment variables; a bad value stops start-up with a sentence that names it."""

from __future__ import annotations

import os
from pathlib import Path

TRUE, FALSE = {"1", "true", "yes", "on"}, {"0", "false", "no", "off", ""}


class BadSetting(RuntimeError):
    """An environment variable holds something its setting cannot be."""


def env_text(name: str, default: str = "") -> str:
    """The variable, or the content of the file that NAME_FILE points to (for secrets), or the default."""
    path = os.environ.get(f"{name}_FILE")
    if path:
        return Path(path).read_text(encoding="utf-8").strip()
    return os.environ.get(name, default)


def env_bool(name: str, default: bool) -> bool:
    """1/true/yes/on or 0/false/no/off."""
    text = os.environ.get(name)
    if text is None:
        return default
    if text.lower() in TRUE:
        return True
    if text.lower() in FALSE:
        return False
    raise BadSetting(f"{name} is {text!r}: give true or false")


def env_int(name: str, default: int, least: int = 0) -> int:
    """A whole number of at least `least`."""
    text = os.environ.get(name)
    if text is None:
        return default
    try:
        number = int(text)
    except ValueError:
        raise BadSetting(f"{name} is {text!r}: give a whole number") from None
    if number < least:
        raise BadSetting(f"{name} is {number}: give {least} or more")
    return number


def env_list(name: str) -> list[str]:
    """Comma-separated texts, blanks dropped."""
    return [part.strip() for part in os.environ.get(name, "").split(",") if part.strip()]
