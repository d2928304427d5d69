"""JSON that every reader can read: a NaN or infinity from an old row leaves as null, never as a broken answer."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.renderers import JSONRenderer


class PlainNegotiation(DefaultContentNegotiation):
    """By the Accept header only; `?format=` is an unknown parameter like any other."""

    settings = SimpleNamespace(URL_FORMAT_OVERRIDE=None)


class SafeJson(JSONRenderer):
    """DRF's JSON; where it refuses a number, that number becomes null."""

    def render(self, data: Any, accepted_media_type: Any = None, renderer_context: Any = None) -> Any:
        """Render; on a number that is no JSON, clean and render again."""
        try:
            return super().render(data, accepted_media_type, renderer_context)
        except ValueError:
            return super().render(finite(data), accepted_media_type, renderer_context)


def finite(value: Any) -> Any:
    """The value with None for every NaN and infinity."""
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: finite(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [finite(item) for item in value]
    return value
