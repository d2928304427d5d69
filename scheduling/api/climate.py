"""The wind climate of a site: past years, week by week."""

from __future__ import annotations

from dataclasses import asdict
from math import isfinite
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.models import LimitSet, Site
from planner.rest.fields import StrictFloat, VisibleKey
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from scheduling.selectors.climate import Figures, SiteClimate, site_climate


class ClimateQuery(StrictSerializer):
    """Which site, limits and stay."""

    site = VisibleKey(queryset=Site.objects.select_related("base"))
    limit_set = VisibleKey(queryset=LimitSet.objects.prefetch_related("limits"))
    stay_min = StrictFloat(help_text="Way up, work, packing and way down, in minutes.")
    hours = serializers.ChoiceField(
        choices=["working", "all"], default="working", help_text="working: in the base's shifts; all: day and night."
    )


class OverYearsAnswer(serializers.Serializer):
    """One figure over the years that know it; quantiles are null with fewer than three years."""

    years = serializers.IntegerField()
    mean = serializers.FloatField(allow_null=True)
    least = serializers.FloatField(allow_null=True)
    most = serializers.FloatField(allow_null=True)
    p10 = serializers.FloatField(allow_null=True)
    p50 = serializers.FloatField(allow_null=True)
    p90 = serializers.FloatField(allow_null=True)


class ClimateWeek(serializers.Serializer):
    """An ISO week. Waits run from a random moment of the week; lost energy is MWh per hour of standstill."""

    week = serializers.IntegerField()
    workable_h = OverYearsAnswer()
    counted_h = OverYearsAnswer()
    workable_days = OverYearsAnswer(help_text="Share of days on which the stay fits.")
    wait_h = OverYearsAnswer()
    lost_mwh_h = OverYearsAnswer(help_text="In the workable hours.")
    lost_any_mwh_h = OverYearsAnswer(help_text="In any hour.")


class ClimateMonth(serializers.Serializer):
    """A month. Waits run from a random moment of the month to the next start of the stay."""

    month = serializers.IntegerField()
    wait_h = OverYearsAnswer()
    wait_p90_h = OverYearsAnswer(help_text="Nine of ten moments wait no longer.")
    wait_always_good_h = OverYearsAnswer(help_text="The wait if every limit always held.")
    fits = OverYearsAnswer(help_text="Share of days on which the stay fits.")


class ClimateEstimate(serializers.Serializer):
    """Round the clock on the longest record: counted, and two closed forms beside the count, by name."""

    known_h = serializers.FloatField()
    share = serializers.FloatField()
    mean_calm_h = serializers.FloatField()
    mean_storm_h = serializers.FloatField()
    wait_counted_h = serializers.FloatField(allow_null=True)
    wait_exponential_h = serializers.FloatField(allow_null=True)
    wait_markov_h = serializers.FloatField(allow_null=True)


class ClimateAnswer(serializers.Serializer):
    """What past years say. Without history `years` is empty and `notes` says why."""

    years = serializers.ListField(child=serializers.IntegerField())
    hub_m = serializers.FloatField(allow_null=True)
    shear = serializers.CharField()
    opens_h = serializers.FloatField()
    closes_h = serializers.FloatField()
    notes = serializers.ListField(child=serializers.CharField())
    weeks = ClimateWeek(many=True)
    months = ClimateMonth(many=True)
    workable_h = serializers.DictField(
        child=serializers.ListField(child=serializers.FloatField(allow_null=True)),
        help_text="Year to the workable hours of its 53 weeks.",
    )
    estimate = ClimateEstimate(allow_null=True)


class ClimateView(QueryView):
    """What past years say about the weeks of a year."""

    query_serializer_class = ClimateQuery
    serializer_class = ClimateAnswer
    pagination_class = None

    @extend_schema(operation_id="climate", parameters=[ClimateQuery], responses=ClimateAnswer)
    def get(self, request: Any) -> Response:
        """Workable hours, waits and lost energy by week and month."""
        asked = self.asked()
        all_hours = asked.pop("hours") == "all"
        return Response(answer_of(site_climate(**asked, all_hours=all_hours)))


def answer_of(found: SiteClimate) -> dict[str, Any]:
    """The climate as plain data; what is not finite is null."""
    return {
        "years": found.years,
        "hub_m": found.hub_m,
        "shear": found.shear,
        "opens_h": found.hours.opens_h,
        "closes_h": found.hours.closes_h,
        "notes": found.notes,
        "weeks": [_figures("week", one) for one in found.weeks],
        "months": [_figures("month", one) for one in found.months],
        "workable_h": {str(year): row for year, row in found.workable_h.items()},
        "estimate": {name: _finite(value) for name, value in asdict(found.estimate).items()} if found.estimate else None,
    }


def _figures(kind: str, one: Figures) -> dict[str, Any]:
    return {kind: one.number, **{name: asdict(value) for name, value in one.over_years.items()}}


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None
