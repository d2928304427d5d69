"""The morning: go, wait or no-go for every team of a day."""

from __future__ import annotations

from datetime import date
from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from planner.cautions import CAUTION, LIMIT_PASSED
from planner.clock import today_at
from planner.errors import NotAllowedError
from planner.models import Base, Site
from planner.rest.caller import LEADS
from planner.rest.fields import OwnBase, StrictDate
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import QueryView
from scheduling.api.plans import PersonRow
from scheduling.choices import Verdict
from scheduling.services.dispatch import TeamCall, morning


class MorningQuery(StrictSerializer):
    """Where and when. Without `day`, the base's own local day."""

    base = OwnBase()
    day = StrictDate(required=False)


class ReasonRow(serializers.Serializer):
    """Why: a code for programs, a sentence for people."""

    code = serializers.CharField()
    text = serializers.CharField()


class BindingRow(serializers.Serializer):
    """The limit with the least room over the stay; a value of null is unknown, which never passes."""

    name = serializers.CharField()
    value = serializers.FloatField(allow_null=True)
    op = serializers.CharField()
    limit = serializers.FloatField()
    unit = serializers.CharField()


class TeamCallRow(serializers.Serializer):
    """What the morning says about one visit."""

    visit = serializers.IntegerField(source="visit.pk")
    site = serializers.IntegerField(source="visit.turbine.site_id")
    turbine = serializers.IntegerField(source="visit.turbine_id")
    turbine_code = serializers.CharField(source="visit.turbine.code")
    people = PersonRow(source="visit.people", many=True)
    planned_start = serializers.DateTimeField(source="visit.starts_at")
    verdict = serializers.ChoiceField(source="verdict.verdict", choices=Verdict.choices)
    start = serializers.DateTimeField(allow_null=True, help_text="The start meant by go or wait.")
    first_start = serializers.DateTimeField(allow_null=True)
    last_start = serializers.DateTimeField(allow_null=True)
    start_down_by = serializers.DateTimeField(allow_null=True)
    down_by = serializers.DateTimeField(allow_null=True, help_text="Everybody is at the tower's foot by then.")
    chance = serializers.FloatField(source="verdict.chance")
    chance_best = serializers.FloatField(source="verdict.chance_best")
    forecast_age_h = serializers.FloatField(source="verdict.forecast_age_h", allow_null=True)
    binding = BindingRow(source="verdict.binding", allow_null=True)
    binding_at = serializers.DateTimeField(allow_null=True)
    reasons = ReasonRow(source="verdict.reasons", many=True)
    caution = serializers.CharField(source="verdict.caution")


class MorningAnswer(serializers.Serializer):
    """The calls of a day, by start."""

    base = serializers.IntegerField()
    day = serializers.DateField()
    caution = serializers.CharField()
    limit_passed = serializers.CharField(help_text="What to do when a limit is passed.")
    calls = TeamCallRow(many=True)


class MorningView(QueryView):
    """The morning's calls at the caller's sites."""

    query_serializer_class = MorningQuery
    serializer_class = MorningAnswer
    pagination_class = None
    write_roles = LEADS

    @extend_schema(operation_id="morning", parameters=[MorningQuery], responses=MorningAnswer)
    def get(self, request: Any) -> Response:
        """What would be said now. Nothing is kept."""
        base, day = _where(self.asked())
        sites = list(self.caller.sites.filter(base=base))
        return _answer(base, day, morning(base=base, day=day, record=False, sites=sites))

    @extend_schema(operation_id="morning_record", request=MorningQuery, responses={201: MorningAnswer})
    @idempotent
    def post(self, request: Any) -> Response:
        """Say it, and keep what was said, at the sites where the caller is lead or planner."""
        base, day = _where(self.valid(MorningQuery, request.data))
        sites = self.caller.sites.filter(base=base)
        own = list(sites.filter(pk__in=self.caller.sites_with(LEADS)))
        _must_lead(base, own)
        calls = morning(base=base, day=day, by=request.user, record=True, sites=own)
        return _answer(base, day, calls, status.HTTP_201_CREATED)


def _where(asked: dict[str, Any]) -> tuple[Base, date]:
    return asked["base"], asked.get("day") or today_at(asked["base"].zone)


def _must_lead(base: Base, sites: list[Site]) -> None:
    if not sites:
        raise NotAllowedError(f"You are neither lead nor planner of a site of {base}: ask one of them.")


def _answer(base: Base, day: date, calls: list[TeamCall], code: int = status.HTTP_200_OK) -> Response:
    facts = {"base": base.pk, "day": day, "caution": CAUTION, "limit_passed": LIMIT_PASSED, "calls": calls}
    return Response(MorningAnswer(facts).data, status=code)
