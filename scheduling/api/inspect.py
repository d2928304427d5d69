"""Looking at a weather file: what is understood, and what must be told. Nothing is stored."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.response import Response

from planner.rest.fields import StrictJson
from planner.rest.serializers import StrictSerializer
from planner.rest.views import Api
from scheduling.weather.inspect import Answers, inspect_file


class InspectAsked(StrictSerializer):
    """A file, and the answers so far as a recipe, complete or in part."""

    file = serializers.FileField(allow_empty_file=False)
    recipe = StrictJson(required=False, help_text="JSON: what is known of the file already.")


class InspectAnswer(serializers.Serializer):
    """What was understood of a file. `ask` lists what must be told; `recipe` is what it would be read by, open where asked."""

    accepted = serializers.BooleanField()
    reason = serializers.CharField(allow_blank=True)
    variables = serializers.ListField(child=serializers.DictField())
    zone = serializers.CharField(allow_null=True)
    stamp = serializers.CharField(allow_null=True)
    rows_read = serializers.IntegerField(allow_null=True)
    rows_skipped = serializers.IntegerField(allow_null=True)
    first = serializers.CharField(allow_null=True)
    last = serializers.CharField(allow_null=True)
    step_min = serializers.IntegerField(allow_null=True)
    gaps = serializers.JSONField(allow_null=True)
    duplicates = serializers.IntegerField(allow_null=True)
    flags = serializers.ListField(child=serializers.DictField(), allow_null=True)
    ask = serializers.ListField(child=serializers.DictField())
    recipe = serializers.DictField()


class InspectView(Api):
    """A file before it is taken in."""

    serializer_class = InspectAnswer
    parser_classes = [MultiPartParser]

    @extend_schema(operation_id="weather_inspect", request={"multipart/form-data": InspectAsked}, responses={200: InspectAnswer})
    def post(self, request: Any) -> Response:
        """Look at a file. With the answers so far as a recipe, complete or in part, it tells what is still open."""
        asked = self.valid(InspectAsked, request.data)
        found = inspect_file(asked["file"].read(), asked["file"].name, Answers(recipe=asked.get("recipe") or {}))
        recipe = found.recipe.to_json() if found.recipe else found.draft
        return Response(InspectAnswer({**found.to_json(), "recipe": recipe}).data)
