"""Rules of the order of orders, in one place for every door (admin, API) to ask."""

from __future__ import annotations

from collections import defaultdict

from django.core.exceptions import ValidationError

from workorders.choices import CLOSED
from workorders.models import OrderLink


def link_check(link: OrderLink) -> None:
    """Both orders belong to one base, the later one is open, and no order comes after itself by a detour.

    Raises ValidationError with the field and a sentence that says what to give instead.
    """
    earlier, later = link.earlier, link.later
    if earlier.turbine.site.base_id != later.turbine.site.base_id:
        raise ValidationError({"earlier": f"{earlier} belongs to another base than {later}: choose an order of the same base."})
    if later.state in CLOSED:
        raise ValidationError({"later": f"{later} is {later.get_state_display()}: choose an order that is still open."})
    if _comes_after(earlier.pk, later.pk, link.pk):
        told = f"{earlier} comes after {later} already, so {later} cannot come after it: remove the other link first."
        raise ValidationError({"earlier": told})


def _comes_after(order: int, other: int, but: int | None) -> bool:
    """Whether `order` comes after `other` by the links there are, save one."""
    before: dict[int, set[int]] = defaultdict(set)
    for pk, earlier, later in OrderLink.objects.exclude(later__state__in=CLOSED).values_list("pk", "earlier", "later"):
        if pk != but:
            before[later].add(earlier)
    waiting, seen = [order], {order}
    while waiting:
        fresh = before[waiting.pop()] - seen
        seen |= fresh
        waiting += fresh
    return other in seen
