"""What-ifs: asked, changed, solved, compared, published or thrown away."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from planner.rest.etag import if_match_check
from planner.rest.fields import OwnBase, StrictDate, StrictInteger, StrictJson, UsernameOf
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.serializers import Cautioned, StrictSerializer
from planner.rest.views import ReadViewSet
from scheduling.api.plans import PlanDetail
from scheduling.api.runs import RunDetail
from scheduling.fortnight.changes import kinds_said
from scheduling.models import WhatIf
from scheduling.selectors.what_ifs import what_if_list, what_if_run
from scheduling.services.what_ifs import what_if_change, what_if_create, what_if_publish, what_if_throw_away
from scheduling.tasks import what_if_ask

EXAMPLE = '[{"kind": "person away", "person": "Ada", "days": ["2026-06-10"]}]'
CHANGES_HELP = f"A list such as {EXAMPLE}. Days are local dates, money is in the currency. Kinds and fields: {kinds_said()}."


class WhatIfRow(serializers.ModelSerializer):
    """One question. `value` is that of the plan for the changes as they stand; null until they are solved."""

    by = UsernameOf("by")
    value = serializers.FloatField(source="result.value", default=None, allow_null=True, read_only=True)
    plan = serializers.IntegerField(source="result.plan.pk", default=None, allow_null=True, read_only=True)

    class Meta:
        model = WhatIf
        fields = [
            "id", "base", "name", "note", "state", "first_day", "days", "changes", "result", "value", "plan", "by", "created_at",
        ]  # fmt: skip
        read_only_fields = fields


class Told(serializers.Serializer):
    """A change in a sentence, which row of the register would make it true ("" for none), and what to mind where it asks less of
    the weather than the register."""

    said = serializers.CharField()
    do = serializers.CharField(allow_blank=True)
    caution = serializers.CharField(allow_blank=True, default="")


class WhatIfDetail(Cautioned, WhatIfRow):
    """With each change in words, and its newest run."""

    told = Told(many=True, read_only=True)
    run = serializers.SerializerMethodField()

    class Meta(WhatIfRow.Meta):
        fields = [*WhatIfRow.Meta.fields, "told", "run", "caution"]
        read_only_fields = fields

    def get_run(self, row: WhatIf) -> int | None:
        """The run to watch; null before the first."""
        run = what_if_run(row)
        return run.pk if run else None


class WhatIfAsked(StrictSerializer):
    """A named copy of a base's fortnight, frozen now."""

    base = OwnBase()
    name = serializers.CharField(max_length=60)
    first_day = StrictDate()
    days = StrictInteger(min_value=1, max_value=1000)
    note = serializers.CharField(required=False, allow_blank=True, max_length=2000)
    changes = StrictJson(required=False, help_text=CHANGES_HELP)

    def validate_changes(self, value: Any) -> Any:
        """A list."""
        return listed(value)


class ChangesAsked(StrictSerializer):
    """Changes to add, and numbers of changes to take off (from 0, as they stand in the list)."""

    add = StrictJson(required=False, help_text=CHANGES_HELP)
    remove = serializers.ListField(child=StrictInteger(min_value=0, max_value=1000), required=False, max_length=200)

    def validate_add(self, value: Any) -> Any:
        """A list."""
        return listed(value)


class SolveAsked(StrictSerializer):
    """How to solve it; all of it may be left out."""

    seed = StrictInteger(required=False, min_value=0, max_value=2**31 - 1)
    params = StrictJson(
        required=False, help_text='{"time_limit_s": seconds, "gap": share, "start": "published" to mend that plan}, all optional.'
    )

    def validate_params(self, value: Any) -> dict[str, Any]:
        """A table of names."""
        if not isinstance(value, dict):
            raise serializers.ValidationError('Give an object such as {"time_limit_s": 60}.')
        return value


def listed(value: Any) -> list[Any]:
    """Changes come as a list."""
    if not isinstance(value, list):
        raise serializers.ValidationError(f"Give a list such as {EXAMPLE}.")
    return value


class WhatIfViewSet(ReadViewSet):
    """What-ifs of the caller's bases."""

    queryset = WhatIf.objects.all()
    serializer_class = WhatIfRow
    filterset_class = filters_of(WhatIf, "base", "state", "name", first_day=["exact", "gte", "lte"])
    ordering_fields = ("created_at", "name", "first_day")
    if_match_actions = ("change", "solve", "throw_away", "publish")

    def get_queryset(self) -> Any:
        """Without what fills megabytes."""
        return what_if_list(sites=self.caller.sites)

    def get_serializer_class(self) -> Any:
        """Words and run go with one what-if only."""
        return WhatIfRow if self.action == "list" else WhatIfDetail

    def matched(self) -> WhatIf:
        """The row, checked against If-Match."""
        row: WhatIf = self.get_object()
        if_match_check(self.request, self.get_serializer(row).data)
        return row

    @extend_schema(request=WhatIfAsked, responses={201: WhatIfDetail})
    @idempotent
    def create(self, request: Any) -> Response:
        """Freeze the base's fortnight under a name, with changes if there are any yet."""
        row = what_if_create(by=request.user, **self.valid(WhatIfAsked, request.data))
        return self.answer(self.fresh(row), status.HTTP_201_CREATED, Location=f"{request.path}{row.pk}/")

    @extend_schema(request=ChangesAsked, responses=WhatIfDetail)
    @action(detail=True, methods=["post"])
    @idempotent
    def change(self, request: Any, pk: str) -> Response:
        """Add changes and take some off, all or nothing; an answer to the list before is let go."""
        row = self.matched()
        what_if_change(what_if=row, by=request.user, **self.valid(ChangesAsked, request.data))
        return self.answer(self.fresh(row))

    @extend_schema(request=SolveAsked, responses={202: RunDetail})
    @action(detail=True, methods=["post"])
    @idempotent
    def solve(self, request: Any, pk: str) -> Response:
        """Ask for a solve. 202 with the address of the run to watch; a worker takes it up."""
        row = self.matched()
        run = what_if_ask(what_if=row, by=request.user, **self.valid(SolveAsked, request.data))
        data = RunDetail(run, context=self.get_serializer_context()).data
        where = f"{request.path.split('what-ifs/')[0]}runs/{run.pk}/"
        return Response(data, status=status.HTTP_202_ACCEPTED, headers={"Location": where})

    @extend_schema(request=None, responses=WhatIfDetail)
    @action(detail=True, methods=["post"], url_path="throw-away")
    @idempotent
    def throw_away(self, request: Any, pk: str) -> Response:
        """End it without publishing."""
        row = self.matched()
        what_if_throw_away(what_if=row, by=request.user)
        return self.answer(self.fresh(row))

    @extend_schema(request=None, responses=PlanDetail)
    @action(detail=True, methods=["post"])
    @idempotent
    def publish(self, request: Any, pk: str) -> Response:
        """Make its plan the one people go by, if it holds against the register as it is now; 409 says what to change first."""
        row = self.matched()
        plan = what_if_publish(what_if=row, by=request.user)
        return Response(PlanDetail(plan, context=self.get_serializer_context()).data)
