"""JSON bodies read strictly: each name once, real numbers, whole characters, bounded depth."""

from __future__ import annotations

import json
from typing import Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class StrictJsonParser(JSONParser):
    """Refuses what json.loads lets pass and a database or a reader stumbles over later."""

    def parse(self, stream: Any, media_type: str | None = None, parser_context: Any = None) -> Any:
        """The value, or 400 with a sentence."""
        try:
            text = stream.read().decode("utf-8-sig")
            value = json.loads(text, parse_constant=_no_number, object_pairs_hook=_each_once)
            if "\\ud" in text.lower():  # an escaped half of a pair is no character and cannot be stored
                json.dumps(value, ensure_ascii=False).encode("utf-8")
        except RecursionError as error:
            raise ParseError("The body is nested too deeply: flatten it.") from error
        except UnicodeError as error:
            raise ParseError("The body holds what is no character: send UTF-8, with whole surrogate pairs.") from error
        except ValueError as error:
            raise ParseError(f"The body is no JSON: {error}.") from error
        return value


def _no_number(text: str) -> Any:
    raise ValueError(f"{text} is no number: leave it out or send null")


def _each_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the name {twice!r} stands twice in one object")
    return found
