"""What `manage.py whatif ACTION` can do: each action says its HELP, adds its options, and is handled."""

from __future__ import annotations

from typing import Any

from scheduling.management.what_if_actions import asking, comparing, ending, listing, solving

ACTIONS: dict[str, Any] = {
    "list": listing,
    "new": asking.New,
    "change": asking.Change,
    "solve": solving,
    "compare": comparing,
    "publish": ending.Publish,
    "throw-away": ending.ThrowAway,
}
"""action -> what has HELP, add_arguments(parser) and handle(out, options) -> exit code."""
