"""Weather in: feeds with their recipes, files, and the windows that open from the newest forecast."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.parsers import MultiPartParser
from rest_framework.response import Response

from planner.cautions import CAUTION
from planner.clock import now_utc
from planner.errors import PlannerError
from planner.models import LimitSet, Site, Turbine
from planner.rest.caller import PLANNERS
from planner.rest.fields import OffsetTime, StrictFloat, StrictInteger, StrictJson, VisibleKey
from planner.rest.filters import filters_of
from planner.rest.idempotency import idempotent
from planner.rest.serializers import RowSerializer, StrictSerializer
from planner.rest.views import QueryView, ReadViewSet, RegisterViewSet
from planner.services.access import require_role
from scheduling.choices import SeriesKind
from scheduling.models import WeatherFeed, WeatherSet
from scheduling.selectors.windows import access_windows, window_starts
from scheduling.services.weather import weather_import
from scheduling.weather.recipe import recipe_from_json


class FeedSerializer(RowSerializer):
    """Where weather of a site comes from, and how its files are read."""

    class Meta:
        model = WeatherFeed
        fields = ["id", "site", "name", "recipe"]

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
    filterset_class = filters_of(WeatherFeed, "site", "name")


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
    """A file with what it does not say about itself. Without a recipe, the feed's."""

    site = VisibleKey(queryset=Site.objects.all())
    kind = serializers.ChoiceField(choices=SeriesKind.choices)
    file = serializers.FileField(allow_empty_file=False)
    recipe = StrictJson(required=False, help_text="JSON: unit, height, averaging, stamp and zone of every column used.")
    feed = VisibleKey(queryset=WeatherFeed.objects.all(), required=False)
    issued_at = OffsetTime(required=False, help_text="Issue time of a forecast, with its offset.")


class WeatherAnswer(serializers.Serializer):
    """What was read. `created` is false when the same content was there already."""

    weather = WeatherRow()
    report = serializers.DictField()
    created = serializers.BooleanField()


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
        """Read a file by its recipe and store its series; all of it or nothing."""
        asked = self.valid(WeatherAsked, request.data)
        require_role(user=request.user, site=asked["site"], roles=PLANNERS)
        done = weather_import(
            site=asked["site"],
            kind=asked["kind"],
            content=asked["file"].read(),
            recipe=_recipe(asked),
            issued_at=asked.get("issued_at"),
            feed=asked.get("feed"),
        )
        answer = {"weather": done.weather_set, "report": done.report, "created": done.created}
        code = status.HTTP_201_CREATED if done.created else status.HTTP_200_OK
        headers = {"Location": f"{request.path}{done.weather_set.pk}/"}
        return Response(WeatherAnswer(answer).data, status=code, headers=headers)


class WindowQuery(StrictSerializer):
    """Which stay, where, inside which limits."""

    turbine = VisibleKey(queryset=Turbine.objects.select_related("site", "type"))
    limit_set = VisibleKey(queryset=LimitSet.objects.prefetch_related("limits"))
    stay_min = StrictFloat(help_text="Way up, work, packing and way down, in minutes.")
    days = StrictInteger(required=False, min_value=1, max_value=16)


class WindowStart(serializers.Serializer):
    """One start, the chance that the whole stay fits, and what binds where it is too small."""

    start = serializers.DateTimeField()
    chance = serializers.FloatField()
    limit = serializers.CharField()


class WindowAnswer(serializers.Serializer):
    """Chances by start. Empty where the forecast is missing or stale; `note` says so."""

    issued_at = serializers.DateTimeField(allow_null=True)
    age_h = serializers.FloatField(allow_null=True)
    confidence = serializers.FloatField()
    shear = serializers.CharField()
    longest_h = serializers.FloatField()
    note = serializers.CharField()
    caution = serializers.CharField()
    starts = WindowStart(many=True)


class WindowsView(QueryView):
    """When a stay fits at a turbine."""

    query_serializer_class = WindowQuery
    serializer_class = WindowAnswer
    pagination_class = None

    @extend_schema(operation_id="windows", parameters=[WindowQuery], responses=WindowAnswer)
    def get(self, request: Any) -> Response:
        """Chances of the stay from the newest forecast."""
        found = access_windows(now=now_utc(), **self.asked())
        starts = [{"start": start, "chance": share, "limit": limit} for start, share, limit in window_starts(found)]
        facts = {name: getattr(found, name) for name in ("issued_at", "age_h", "confidence", "shear", "longest_h", "note")}
        return Response(WindowAnswer({**facts, "caution": CAUTION, "starts": starts}).data)


def _recipe(asked: dict[str, Any]) -> dict[str, Any]:
    feed = asked.get("feed")
    if feed is not None and feed.site_id != asked["site"].pk:
        raise PlannerError("The feed belongs to another site: choose one of this site.", field="feed")
    recipe = asked.get("recipe", feed.recipe if feed else None)
    if not isinstance(recipe, dict):
        raise PlannerError("Give the recipe as a JSON object, or a feed that has one.", field="recipe")
    return recipe
