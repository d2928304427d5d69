"""Whether weather still comes."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.clock import now_utc
from planner.models import Site
from planner.rest.fields import VisibleKey
from planner.rest.filters import YES_NO
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from scheduling.choices import SeriesKind
from scheduling.selectors.feeds import STATES, feed_states


class FeedStateQuery(StrictSerializer):
    """Which feeds: of one site or of all the caller's; `alarm=true` for those that are an alarm."""

    site = VisibleKey(queryset=Site.objects.all(), required=False)
    alarm = serializers.ChoiceField(choices=YES_NO, required=False)


class FeedStateRow(serializers.Serializer):
    """A feed: when something came last, until when it tells anything, and whether that is an alarm."""

    feed = serializers.IntegerField(source="feed.pk")
    site = serializers.IntegerField(source="site.pk")
    name = serializers.CharField(source="feed.name")
    kind = serializers.ChoiceField(source="feed.kind", choices=SeriesKind.choices)
    every_h = serializers.FloatField(source="feed.every_h", allow_null=True)
    state = serializers.ChoiceField(choices=STATES)
    alarm = serializers.BooleanField()
    text = serializers.CharField()
    received_at = serializers.DateTimeField(allow_null=True)
    issued_at = serializers.DateTimeField(allow_null=True)
    ends_at = serializers.DateTimeField(allow_null=True)
    age_h = serializers.FloatField(allow_null=True, help_text="Of the newest forecast, or of the last measured value.")


class FeedStateView(QueryView):
    """The state of weather feeds."""

    query_serializer_class = FeedStateQuery
    serializer_class = FeedStateRow
    pages = True

    @extend_schema(operation_id="feed_states_list", parameters=[FeedStateQuery], responses=FeedStateRow(many=True))
    def get(self, request: Any) -> Response:
        """Feeds of the caller's sites, by site and name."""
        asked = self.asked()
        sites = [asked["site"]] if "site" in asked else list(self.caller.sites)
        states = feed_states(sites=sites, now=now_utc())
        return self.paged([one for one in states if "alarm" not in asked or one.alarm == (asked["alarm"] == "true")])
