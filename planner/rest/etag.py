"""`ETag` on one row's answer, `If-Match` on changing it: a change on an older reading is refused with 412.

The tag is a digest of the answer itself, so it moves with everything the reader saw, nested lists included.
"""

from __future__ import annotations

import hashlib
import re
from typing import Any

from rest_framework.utils.encoders import JSONEncoder

from planner.errors import StaleError

_TAG = re.compile(r'(?:W/)?("[^"]*")')


def etag_of(data: Any) -> str:
    """The tag of a row's representation."""
    text = JSONEncoder(sort_keys=True, separators=(",", ":")).encode(data)
    return f'"{hashlib.sha256(text.encode()).hexdigest()[:32]}"'


def if_match_check(request: Any, data: Any) -> None:
    """Raise StaleError where If-Match names another state than `data`. Without the header everything goes."""
    asked = request.headers.get("If-Match")
    if asked is None or asked.strip() == "*":
        return
    if etag_of(data) not in _TAG.findall(asked):
        raise StaleError("Somebody changed this since you read it: read it again, then send your change.", field="If-Match")


def not_modified(request: Any, tag: str) -> bool:
    """The reader already has this state (If-None-Match)."""
    return tag in _TAG.findall(request.headers.get("If-None-Match", ""))
