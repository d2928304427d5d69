"""What stays were called, what became of them, and how good the calls were."""

from __future__ import annotations

from math import isfinite
from typing import Any

import django_filters
from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from planner.clock import now_utc
from planner.models import Site
from planner.rest.fields import StrictInteger, VisibleKey
from planner.rest.filters import YesNoFilter, filters_of
from planner.rest.serializers import Cautioned, StrictSerializer
from planner.rest.views import QueryView, ReadViewSet
from scheduling.models import StayCall
from scheduling.selectors.stay_calls import MOST_LEAD_DAY, Score, lead_day_of, skill_of
from scheduling.skill_words import skill_sentences
from scheduling.weather.scores import Bin

LEAD_DAYS = tuple((str(n), str(n)) for n in range(1, MOST_LEAD_DAY + 1))


class StayCallRow(Cautioned, serializers.ModelSerializer):
    """The chance a stay was given from one forecast, and what the measured wind said; `fitted` is null while it is not known."""

    turbine = serializers.IntegerField(source="visit.turbine_id", read_only=True)
    turbine_code = serializers.CharField(source="visit.turbine.code", read_only=True)
    lead_day = serializers.SerializerMethodField(help_text="1 is the last 24 hours before the start.")

    class Meta:
        model = StayCall
        fields = [
            "id", "visit", "site", "turbine", "turbine_code", "forecast", "issued_at", "starts_at", "ends_at", "lead_h",
            "lead_day", "chance", "go", "limits", "fitted", "scored_at", "about", "caution",
        ]  # fmt: skip
        read_only_fields = fields

    def get_lead_day(self, call: StayCall) -> int:
        """Of its lead."""
        return lead_day_of(call.lead_h)


def _of_lead_day(calls: QuerySet[StayCall], name: str, day: int) -> QuerySet[StayCall]:
    return calls.filter(lead_h__gte=24 * (day - 1), lead_h__lt=24 * day)


def _scored(calls: QuerySet[StayCall], name: str, scored: bool) -> QuerySet[StayCall]:
    return calls.filter(fitted__isnull=not scored)


class StayCallViewSet(ReadViewSet):
    """Calls of stays at the caller's sites, the newest stays first."""

    queryset = StayCall.objects.select_related("visit__turbine")
    serializer_class = StayCallRow
    filterset_class = filters_of(
        StayCall, "site", "visit", "forecast", "go", "fitted", starts_at=["gte", "lte"], issued_at=["gte", "lte"],
        more={
            "lead_day": django_filters.TypedChoiceFilter("lead_h", choices=LEAD_DAYS, coerce=int, method=_of_lead_day),
            "scored": YesNoFilter("fitted", method=_scored),
        },
    )  # fmt: skip
    ordering_fields = ("starts_at", "issued_at", "lead_h", "chance")


class SkillQuery(StrictSerializer):
    """Of which site, and for which lead day (1 is the last 24 hours before the start); without it, of all."""

    site = VisibleKey(queryset=Site.objects.all())
    lead_day = StrictInteger(required=False, min_value=1, max_value=MOST_LEAD_DAY)


class BinRow(serializers.Serializer):
    """Calls with a chance in [low, high) and the share of them that could be done, with its 95 % interval; null without calls."""

    low = serializers.FloatField()
    high = serializers.FloatField()
    calls = serializers.IntegerField()
    mean_chance = serializers.FloatField(allow_null=True)
    share_fitted = serializers.FloatField(allow_null=True)
    low_bound = serializers.FloatField(allow_null=True)
    high_bound = serializers.FloatField(allow_null=True)


class ScoreRow(serializers.Serializer):
    """Scores of one lead day (null: of all). Null scores: too few calls, or nothing to be better than."""

    lead_day = serializers.IntegerField(allow_null=True)
    calls = serializers.IntegerField()
    stays = serializers.IntegerField()
    enough = serializers.BooleanField(help_text="Whether the calls are enough for scores.")
    brier = serializers.FloatField(allow_null=True)
    reliability = serializers.FloatField(allow_null=True, help_text="Part of the Brier score; 0 is best.")
    skill = serializers.FloatField(allow_null=True, help_text="Against the share of all scored stays: 1 is perfect, 0 no better.")
    climate = serializers.FloatField(allow_null=True, help_text="That share.")
    hits = serializers.IntegerField()
    false_go = serializers.IntegerField()
    missed = serializers.IntegerField()
    right_no = serializers.IntegerField()


class SkillAnswer(serializers.Serializer):
    """How often the calls of a site were right."""

    site = serializers.IntegerField()
    since = serializers.DateTimeField()
    sentences = serializers.ListField(child=serializers.CharField(), help_text="The same in words.")
    score = ScoreRow()
    bins = BinRow(many=True)
    by_lead = ScoreRow(many=True)


class SkillView(QueryView):
    """Scores of a site's calls."""

    query_serializer_class = SkillQuery
    serializer_class = SkillAnswer
    pagination_class = None

    @extend_schema(operation_id="stay_scores", parameters=[SkillQuery], responses=SkillAnswer)
    def get(self, request: Any) -> Response:
        """Over the last year; one call counts for each stay and lead day, the one said last."""
        asked = self.asked()
        site, lead_day = asked["site"], asked.get("lead_day")
        found = skill_of(site=site, now=now_utc(), lead_day=lead_day)
        answer = {
            "site": site.pk,
            "since": found.since,
            "sentences": skill_sentences(found),
            "score": _score(found.score),
            "bins": [_bin(one) for one in found.bins],
            "by_lead": [_score(one) for one in found.by_lead],
        }
        return Response(SkillAnswer(answer).data)


def _score(score: Score) -> dict[str, Any]:
    said, brier = score.calls, score.brier
    counts = {"hits": said.hits, "false_go": said.false_go, "missed": said.missed, "right_no": said.right_no}
    numbers = {"brier": brier.score, "reliability": brier.reliability, "skill": score.skill, "climate": score.climate}
    told = {name: _or_none(value) for name, value in numbers.items()}
    return {"lead_day": score.lead_day, "calls": said.n, "stays": score.stays, "enough": score.enough, **counts, **told}


def _bin(one: Bin) -> dict[str, Any]:
    numbers = ("mean_chance", "share_fitted", "low_bound", "high_bound")
    told = {name: _or_none(getattr(one, name)) for name in numbers}
    return {"low": one.low, "high": one.high, "calls": one.n, **told}


def _or_none(value: float) -> float | None:
    return round(value, 4) if isfinite(value) else None
