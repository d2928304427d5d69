"""Repairs: the published plan mended after a sick call, or after whatever else changed."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from planner.models import Technician
from planner.rest.fields import OwnBase, StrictDate, StrictInteger, StrictJson, VisibleKey
from planner.rest.idempotency import idempotent
from planner.rest.serializers import StrictSerializer
from planner.rest.views import Api
from scheduling.api.runs import RunDetail
from scheduling.selectors.plans import run_list
from scheduling.services.repairs import Ill
from scheduling.tasks import repair_ask


class RepairAsked(StrictSerializer):
    """The base whose published plan is to be mended; with `technician`, who is away from `first_day` through `last_day`."""

    base = OwnBase()
    technician = VisibleKey(queryset=Technician.objects.all(), required=False)
    first_day = StrictDate(required=False, help_text="First day away; needed with technician.")
    last_day = StrictDate(required=False, help_text="Last day away; first_day without it.")
    reason = serializers.CharField(required=False, max_length=80, allow_blank=True)
    seed = StrictInteger(required=False, min_value=0, max_value=2**31 - 1)
    params = StrictJson(required=False, help_text='{"time_limit_s": seconds, "gap": share}, both optional.')

    def validate_params(self, value: Any) -> dict[str, Any]:
        """A table of names."""
        if not isinstance(value, dict):
            raise serializers.ValidationError('Give an object such as {"time_limit_s": 12}.')
        return value

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Somebody with their days, or nobody."""
        if ("technician" in attrs) != ("first_day" in attrs):
            missing = "first_day" if "technician" in attrs else "technician"
            raise serializers.ValidationError({missing: "Give technician and first_day together, or neither."})
        return attrs


class RepairView(Api):
    """Mend the published plan."""

    serializer_class = RunDetail

    @extend_schema(request=RepairAsked, responses={202: RunDetail})
    @idempotent
    def post(self, request: Any) -> Response:
        """Record who is away, and ask for a repair. 202 with the run to watch, as any other."""
        asked = self.valid(RepairAsked, request.data)
        ill = None
        if "technician" in asked:
            who, first = asked.pop("technician"), asked.pop("first_day")
            ill = Ill(who, first, asked.pop("last_day", first), asked.pop("reason", ""))
        more = {name: asked[name] for name in ("seed", "params") if name in asked}
        run = repair_ask(base=asked["base"], by=request.user, ill=ill, **more)
        fresh = run_list(sites=self.caller.sites).defer(None).defer("problem", "best", "error").get(pk=run.pk)
        where = f"{request.path.removesuffix('repairs/')}runs/{run.pk}/"
        return self.answer(fresh, status.HTTP_202_ACCEPTED, Location=where)
