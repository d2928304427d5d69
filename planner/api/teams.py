"""Who works with whom, hire periods, on-call duty and call-outs."""

from __future__ import annotations

from planner.models import CallOut, HirePeriod, OnCall, Pair
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet


class PairSerializer(RowSerializer):
    """Two people who must, must not, or gladly work in one team."""

    class Meta:
        model = Pair
        fields = ["id", "first", "second", "kind", "reason", "from_day", "until_day"]


class PairViewSet(RegisterViewSet):
    """Pairs of technicians of the caller's bases."""

    queryset = Pair.objects.all()
    serializer_class = PairSerializer
    filterset_class = filters_of(Pair, "first", "second", "kind")
    search_fields = ("reason",)


class HirePeriodSerializer(RowSerializer):
    """A hired person is there from `first_day` through `last_day`."""

    class Meta:
        model = HirePeriod
        fields = ["id", "technician", "first_day", "last_day", "day_cost", "note"]


class HirePeriodViewSet(RegisterViewSet):
    """Hire periods of the technicians of the caller's bases."""

    queryset = HirePeriod.objects.all()
    serializer_class = HirePeriodSerializer
    filterset_class = filters_of(HirePeriod, "technician", first_day=["gte", "lte"], last_day=["gte", "lte"])
    ordering_fields = ("first_day",)


class OnCallSerializer(RowSerializer):
    """On call in the nights after `first_day` through `last_day`."""

    class Meta:
        model = OnCall
        fields = ["id", "technician", "first_day", "last_day"]


class OnCallViewSet(RegisterViewSet):
    """On-call duty of the technicians of the caller's bases."""

    queryset = OnCall.objects.all()
    serializer_class = OnCallSerializer
    filterset_class = filters_of(OnCall, "technician", first_day=["gte", "lte"], last_day=["gte", "lte"])
    ordering_fields = ("first_day",)


class CallOutSerializer(RowSerializer):
    """Called out, and home again at `ended_at`."""

    class Meta:
        model = CallOut
        fields = ["id", "technician", "ended_at", "note"]


class CallOutViewSet(RegisterViewSet):
    """Call-outs of the technicians of the caller's bases."""

    queryset = CallOut.objects.all()
    serializer_class = CallOutSerializer
    filterset_class = filters_of(CallOut, "technician", ended_at=["gte", "lte"])
    ordering_fields = ("ended_at",)
