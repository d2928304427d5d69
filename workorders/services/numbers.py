"""Order numbers: site code, year and a running number, each given once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from itertools import count

from django.db import transaction
from django.db.models.functions import Length

from planner.models import Site
from workorders.models import Order


def free_numbers(site: Site, day: date) -> Iterator[str]:
    """Free numbers such as HILL-26-0042, for use until the transaction ends; meanwhile nobody else gets one of this site.

    Raises RuntimeError outside a transaction, where the lock on the site's row would hold nothing.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("free_numbers() locks nothing outside a transaction: open one first.")
    Site.objects.select_for_update(no_key=True, of=("self",)).get(pk=site.pk)
    prefix = f"{site.code}-{day:%y}-"
    first = _highest(prefix) + 1
    return (f"{prefix}{number:04}" for number in count(first))


def _highest(prefix: str) -> int:
    used = Order.objects.filter(number__startswith=prefix, number__regex=f"^{re.escape(prefix)}[0-9]+$")
    last = used.order_by(Length("number").desc(), "-number").values_list("number", flat=True).first()
    return int(last.removeprefix(prefix)) if last else 0
