"""Options that actions about weather share: files, recipes, pairs of a name and a value."""

from __future__ import annotations

import json
from argparse import ArgumentTypeError
from datetime import datetime
from pathlib import Path
from typing import Any

from planner.errors import PlannerError
from planner.models import Site

BAD_INPUT, NEEDS_ANSWER = 2, 3


def pair(text: str) -> tuple[str, str]:
    """NAME=VALUE; the name may hold "=" itself."""
    name, sign, value = text.rpartition("=")
    if not sign or not name.strip() or not value.strip():
        raise ArgumentTypeError(f"{text!r} is no pair: write it as COLUMN=VALUE.")
    return name.strip(), value.strip()


def number_pair(text: str) -> tuple[str, float]:
    """NAME=NUMBER, or a number alone, which is for every column ("*")."""
    name, value = pair(text) if "=" in text else ("*", text.strip())
    try:
        return name, float(value)
    except ValueError:
        raise ArgumentTypeError(f"{value!r} in {text!r} is no number: write it as COLUMN=10.") from None


def moment(text: str) -> datetime:
    """A time with its offset from UTC."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is no time: give one like 2026-03-01T06:00Z.") from None
    if found.tzinfo is None:
        raise ArgumentTypeError(f"{text!r} has no offset from UTC: give one like 2026-03-01T06:00Z.")
    return found


def site_of(code: str) -> Site:
    """The site of that code."""
    site = Site.objects.filter(code=code).first()
    if site is None:
        known = ", ".join(Site.objects.values_list("code", flat=True)) or "none yet"
        raise PlannerError(f"There is no site {code!r}; known are {known}.", field="site")
    return site


def recipe_of(path: Path) -> dict[str, Any]:
    """The recipe in a file of JSON."""
    if not path.is_file():
        raise PlannerError(f"{path}: there is no such file; check the path.", field="recipe")
    try:
        data = json.loads(path.read_bytes())
    except ValueError as error:
        raise PlannerError(f"{path} is no JSON ({error}).", field="recipe") from error
    if not isinstance(data, dict):
        raise PlannerError(f"{path} holds no JSON object; a recipe is one.", field="recipe")
    return data


def written(path: Path, text: str) -> None:
    """Write a text file; whatever stood there is replaced whole."""
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise PlannerError(f"{path} cannot be written ({error.strerror}); give another path.", field="file") from error
