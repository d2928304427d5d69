"""Weather in: feeds with their recipes, and files."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.response import Response

from planner.errors import PlannerError
from planner.models import Site
from planner.rest.caller import PLANNERS
from planner.rest.fields import OffsetTime, StrictJson, VisibleKey
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.serializers import RowSerializer, StrictSerializer
from planner.rest.views import ReadViewSet, RegisterViewSet
from planner.services.access import require_role
from scheduling.choices import SeriesKind
from scheduling.models import WeatherFeed, WeatherSet
from scheduling.tasks import weather_bring
from scheduling.weather.readers.rejected import rejected_csv
from scheduling.weather.recipe import recipe_from_json


class FeedSerializer(RowSerializer):
    """Where weather of a site comes from, how its files are read, and how often they should come."""

    class Meta:
        model = WeatherFeed
        fields = ["id", "site", "name", "kind", "recipe", "every_h"]

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """A recipe that leaves something open is refused now, not with the first file."""
        try:
            recipe_from_json(row.recipe if isinstance(row.recipe, dict) else {})
        except ValueError as error:
            raise ValidationError({"recipe": str(error)}) from error


class FeedViewSet(RegisterViewSet):
    """Weather feeds of the caller's sites."""

    queryset = WeatherFeed.objects.all()
    serializer_class = FeedSerializer
    filterset_class = filters_of(WeatherFeed, "site", "name", "kind")


class WeatherRow(serializers.ModelSerializer):
    """A stored set of series: what, when, on which grid."""

    series = serializers.JSONField(source="about.series", default=list, read_only=True)

    class Meta:
        model = WeatherSet
        fields = [
            "id", "site", "feed", "kind", "issued_at", "received_at", "starts_at", "ends_at", "step_min", "members", "series",
        ]  # fmt: skip
        read_only_fields = fields


class WeatherAsked(StrictSerializer):
    """A file with what it does not say about itself. Without a recipe or a kind, the feed's."""

    site = VisibleKey(queryset=Site.objects.all())
    kind = serializers.ChoiceField(choices=SeriesKind.choices, required=False)
    file = serializers.FileField(allow_empty_file=False)
    recipe = StrictJson(required=False, help_text="JSON: unit, height, averaging, stamp and zone of every column used.")
    feed = VisibleKey(queryset=WeatherFeed.objects.all(), required=False)
    issued_at = OffsetTime(required=False, help_text="Issue time of a forecast, with its offset; left out: as the file says.")
    accept_good_rows = serializers.BooleanField(default=False, help_text="Leave rows out that do not fit; they come back.")


class WeatherAnswer(serializers.Serializer):
    """What was read. `created` is false when the same content was there already; `rejected` is CSV of the rows left out."""

    weather = WeatherRow()
    report = serializers.DictField()
    created = serializers.BooleanField()
    rejected = serializers.CharField(allow_blank=True)


class WeatherViewSet(ReadViewSet):
    """Weather of the caller's sites."""

    queryset = WeatherSet.objects.defer("data")
    serializer_class = WeatherRow
    filterset_class = filters_of(WeatherSet, "site", "feed", "kind", issued_at=["gte", "lte"])
    ordering_fields = ("issued_at", "starts_at", "received_at")
    parser_classes = [MultiPartParser]

    @extend_schema(request={"multipart/form-data": WeatherAsked}, responses={201: WeatherAnswer, 200: WeatherAnswer})
    @idempotent
    def create(self, request: Any) -> Response:
        """Read a file by its recipe and store its series; all of it or nothing, unless the good rows are accepted alone."""
        asked = self.valid(WeatherAsked, request.data)
        require_role(user=request.user, site=asked["site"], roles=PLANNERS)
        done = weather_bring(
            site=asked["site"],
            kind=_kind(asked),
            content=asked["file"].read(),
            recipe=_recipe(asked),
            issued_at=asked.get("issued_at"),
            feed=asked.get("feed"),
            accept_good_rows=asked["accept_good_rows"],
        )
        rejected = rejected_csv(done.rejected) if done.rejected else ""
        answer = {"weather": done.weather_set, "report": done.report, "created": done.created, "rejected": rejected}
        code = status.HTTP_201_CREATED if done.created else status.HTTP_200_OK
        headers = {"Location": f"{request.path}{done.weather_set.pk}/"}
        return Response(WeatherAnswer(answer).data, status=code, headers=headers)


def _kind(asked: dict[str, Any]) -> str:
    feed = asked.get("feed")
    kind = asked.get("kind") or (feed.kind if feed else "")
    if not kind:
        raise PlannerError(f"Say what it is: give one of {', '.join(SeriesKind.values)}, or a feed.", field="kind")
    return str(kind)


def _recipe(asked: dict[str, Any]) -> dict[str, Any]:
    feed = asked.get("feed")
    if feed is not None and feed.site_id != asked["site"].pk:
        raise PlannerError("The feed belongs to another site: choose one of this site.", field="feed")
    recipe = asked.get("recipe", feed.recipe if feed else None)
    if not isinstance(recipe, dict):
        raise PlannerError("Give the recipe as a JSON object, or a feed that has one.", field="recipe")
    return recipe
