"""Orders that come after others, over the API."""

from __future__ import annotations

from typing import Any

from planner.rest.caller import LEADS
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet
from workorders.models import OrderLink
from workorders.services.links import link_check


class OrderLinkSerializer(RowSerializer):
    """`later` begins `least_gap_h` hours after `earlier` is finished, or later."""

    class Meta:
        model = OrderLink
        fields = ["id", "earlier", "later", "least_gap_h"]

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """No rings, one base."""
        link_check(row)


class OrderLinkViewSet(RegisterViewSet):
    """Which order comes after which, at the caller's sites."""

    queryset = OrderLink.objects.all()
    serializer_class = OrderLinkSerializer
    filterset_class = filters_of(OrderLink, "earlier", "later")
    write_roles = LEADS
