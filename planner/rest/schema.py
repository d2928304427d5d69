"""What every operation of the OpenAPI schema says: the headers it takes and the one shape of errors."""

from __future__ import annotations

from typing import Any, Literal

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers

IDEMPOTENCY_KEY = OpenApiParameter(
    "Idempotency-Key",
    OpenApiTypes.STR,
    OpenApiParameter.HEADER,
    description="Any text of up to 200 characters. Sent again within 24 hours with the same body, the first answer comes back.",
)
IF_MATCH = OpenApiParameter(
    "If-Match", OpenApiTypes.STR, OpenApiParameter.HEADER, description="The ETag you read; 412 if the row changed since."
)


class FieldProblem(serializers.Serializer):
    """One field and what is wrong with it."""

    field = serializers.CharField()
    message = serializers.CharField()


class Problem(serializers.Serializer):
    """What is wrong and what to do."""

    code = serializers.CharField()
    message = serializers.CharField()
    fields = FieldProblem(many=True)
    extra = serializers.DictField(required=False)


class ErrorAnswer(serializers.Serializer):
    """Every refusal has this shape."""

    error = Problem()


class LullSchema(AutoSchema):
    """Adds Idempotency-Key to creating calls, If-Match to changing ones, and the error shape to all."""

    def get_override_parameters(self) -> list[Any]:
        """The headers."""
        handler = getattr(self.view, getattr(self.view, "action", None) or self.method.lower(), None)
        creating = self.method == "POST" and getattr(handler, "idempotent", False)
        changing = self.method in ("PUT", "PATCH", "DELETE") and hasattr(self.view, "locked")
        changing = changing or getattr(self.view, "action", None) in getattr(self.view, "if_match_actions", ())
        return [*([IDEMPOTENCY_KEY] if creating else []), *([IF_MATCH] if changing else [])]

    def _get_response_bodies(self, direction: Literal["request", "response"] = "response") -> Any:
        bodies = super()._get_response_bodies(direction)
        bodies["4XX"] = self._get_response_for_code(ErrorAnswer, "4XX", direction=direction)  # type: ignore[no-untyped-call]
        return bodies
