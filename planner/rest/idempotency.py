"""`Idempotency-Key` on creating calls: the same key with the same body gives the first answer again and does nothing twice.

Kept for a day in the cache, by user, address and key. Without REDIS_URL the cache is each process's own, so several web
processes need Redis for this; the register's unique constraints hold all the same. Only answers that did something are
kept: after a refusal the same key may be used again with a corrected body.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.cache import cache
from django.core.files.uploadedfile import UploadedFile
from rest_framework.response import Response

from planner.errors import ConflictError, PlannerError

HEADER = "Idempotency-Key"
KEPT_S = 24 * 3600
CLAIMED_S = 600
LONGEST = 200


def idempotent(handler: Callable[..., Response]) -> Callable[..., Response]:
    """Wrap a creating handler of a view."""

    @wraps(handler)
    def wrapped(view: Any, request: Any, *args: Any, **kwargs: Any) -> Response:
        key = request.headers.get(HEADER)
        if key is None:
            return handler(view, request, *args, **kwargs)
        slot = _slot(request, key)
        body = body_digest(request.data)
        if not cache.add(slot, {"body": body}, CLAIMED_S):
            return _again(cache.get(slot), body)
        return _first(slot, body, lambda: handler(view, request, *args, **kwargs))

    wrapped.idempotent = True  # type: ignore[attr-defined]
    return wrapped


def body_digest(data: Any) -> str:
    """A digest of what was sent: the JSON, or the fields and files of a form."""
    digest = hashlib.sha256()
    if hasattr(data, "lists"):
        for name, values in sorted(data.lists()):
            for value in values:
                digest.update(name.encode() + b"\0")
                for chunk in value.chunks() if isinstance(value, UploadedFile) else [str(value).encode()]:
                    digest.update(chunk)
                if isinstance(value, UploadedFile):
                    value.seek(0)
    else:
        digest.update(json.dumps(data, sort_keys=True, default=str).encode())
    return digest.hexdigest()


def _slot(request: Any, key: str) -> str:
    if not 1 <= len(key) <= LONGEST or not key.isprintable():
        raise PlannerError(f"Give 1 to {LONGEST} printable characters.", field=HEADER)
    where = f"{request.user.pk} {request.method} {request.path} {key}"
    return "idempotency:" + hashlib.sha256(where.encode()).hexdigest()


def _again(kept: dict[str, Any] | None, body: str) -> Response:
    if kept is not None and kept["body"] != body:
        raise ConflictError("This key was used with another body: send a new key for a new request.", field=HEADER)
    if kept is None or "status" not in kept:
        raise ConflictError("A request with this key is still being worked on: ask again in a moment.", field=HEADER)
    return Response(kept["data"], status=kept["status"], headers={**kept["headers"], "Idempotency-Replayed": "true"})


def _first(slot: str, body: str, work: Callable[[], Response]) -> Response:
    try:
        response = work()
    except BaseException:
        cache.delete(slot)
        raise
    if response.status_code < 400:
        headers = {name: response[name] for name in ("Location", "ETag") if name in response}
        cache.set(slot, {"body": body, "status": response.status_code, "data": response.data, "headers": headers}, KEPT_S)
    else:
        cache.delete(slot)
    return response
