"""Two or three plans or what-ifs of a base side by side."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.cautions import CAUTION
from planner.rest.fields import OwnBase
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from scheduling.selectors.side_by_side import KINDS, compare_named
from scheduling.telling_compared import compared_json


class ComparisonAsked(StrictSerializer):
    """Which base, and which of its plans; the first is what the others are held against."""

    base = OwnBase()
    of = serializers.CharField(max_length=200, help_text=f"Two or three of {KINDS}, with commas between.")


class LateOrder(serializers.Serializer):
    """An order that is planned after its due day."""

    order = serializers.CharField()
    days = serializers.IntegerField()


class LeftOutOrder(serializers.Serializer):
    """An order that is left out, with the reason that was stored."""

    order = serializers.CharField()
    label = serializers.CharField()
    reason = serializers.CharField(required=False)
    code = serializers.CharField(required=False)


class SideAnswer(serializers.Serializer):
    """What a plan comes to. Money in `currency`, at its own prices and at the first one's; hours are people's hours."""

    side = serializers.CharField(help_text="How it was asked for.")
    title = serializers.CharField()
    state = serializers.CharField()
    first_day = serializers.DateField()
    last_day = serializers.DateField()
    run = serializers.IntegerField()
    currency = serializers.CharField()
    value = serializers.FloatField()
    at_first_prices = serializers.FloatField()
    bound = serializers.FloatField(allow_null=True, help_text="Proven: no plan of its problem costs less.")
    unsure = serializers.FloatField(
        help_text="By how much a longer search could still turn the difference from the first one's cost; 0: it could not."
    )
    parts = serializers.DictField(child=serializers.FloatField())
    lost_mwh = serializers.FloatField()
    visits = serializers.IntegerField()
    orders_planned = serializers.IntegerField()
    left_out = LeftOutOrder(many=True)
    late = LateOrder(many=True)
    people_h = serializers.FloatField()
    overtime_h = serializers.FloatField()
    travel_h = serializers.FloatField()
    team_days = serializers.IntegerField()


class VisitChange(serializers.Serializer):
    """A visit that differs from the first plan's. kind: moved, other people, new, dropped."""

    side = serializers.CharField()
    kind = serializers.CharField()
    order = serializers.CharField()
    visit = serializers.IntegerField()
    text = serializers.CharField()


class PeopleChange(serializers.Serializer):
    """Somebody whose days or hours out differ."""

    side = serializers.CharField()
    text = serializers.CharField()


class ProblemDifference(serializers.Serializer):
    """What the plans were solved from differs in."""

    side = serializers.CharField()
    kind = serializers.CharField()
    what = serializers.CharField()
    text = serializers.CharField()


class SeenVisit(serializers.Serializer):
    """A visit by the base's clock."""

    turbine = serializers.CharField()
    start = serializers.CharField()
    end = serializers.CharField()
    team = serializers.ListField(child=serializers.CharField())
    orders = serializers.ListField(child=serializers.CharField())
    chance = serializers.FloatField()


class ComparedDay(serializers.Serializer):
    """The visits of a local day, by side."""

    date = serializers.DateField()
    visits = serializers.DictField(child=SeenVisit(many=True))


class ComparisonAnswer(serializers.Serializer):
    """Plans side by side; the first is what the others are held against."""

    sides = SideAnswer(many=True)
    changes = VisitChange(many=True)
    people = PeopleChange(many=True)
    problems = ProblemDifference(many=True)
    days = ComparedDay(many=True)
    same_days = serializers.BooleanField(help_text="False: the plans cover different days, their sums are not of the same work.")
    caution = serializers.CharField()


class ComparisonView(QueryView):
    """What each plan costs and loses, what it leaves out, who is away how long, and which visits differ from the first."""

    query_serializer_class = ComparisonAsked
    serializer_class = ComparisonAnswer
    pagination_class = None

    @extend_schema(operation_id="comparison", parameters=[ComparisonAsked], responses=ComparisonAnswer)
    def get(self, request: Any) -> Response:
        """The comparison, of the caller's sites."""
        asked = self.asked()
        keys = [key.strip() for key in asked["of"].split(",") if key.strip()]
        found = compare_named(base=asked["base"], keys=keys, sites=list(self.caller.sites))
        return Response({**compared_json(found), "caution": CAUTION})
