"""The page What if as a browser posts to it and reads it."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from planner.models import Site
from scheduling.models import WhatIf
from tests.farm import Farm, build_user
from tests.page_rows import client_of, words_of

PAGE = "/what-if/"


def post(user: User, row: WhatIf | None = None, **fields: Any) -> Any:
    data = {**({"base": row.base_id, "what_if": row.pk} if row else {}), **fields}
    return client_of(user).post(PAGE, data, follow=True)


def page(user: User, row: WhatIf, more: str = "") -> str:
    return words_of(client_of(user).get(f"{PAGE}?base={row.base_id}&what_if={row.pk}{more}"))


def another_site(farm: Farm) -> User:
    """A viewer of a second site of base North, where nothing stands."""
    other = Site.objects.get(code="HILL")
    other.pk, other.code, other.name = None, "VALE", "Valley"
    other.save()
    return build_user("guest", "viewer", other)
