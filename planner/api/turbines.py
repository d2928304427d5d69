"""Turbine types, turbines, components and their counters."""

from __future__ import annotations

from typing import Any

from planner.models import Component, ComponentKind, CounterReading, Turbine, TurbineType
from planner.rest.caller import CREW
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet
from planner.services.register_rules import component_check, turbine_type_check


class TurbineTypeSerializer(RowSerializer):
    """Rotor, power curve and the way up."""

    class Meta:
        model = TurbineType
        fields = [
            "id", "name", "rotor_diameter_m", "rated_kw", "cut_in_mps", "cut_out_mps", "power_curve", "lift_to_m",
            "lift_m_per_min", "climb_m_per_min",
        ]  # fmt: skip

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """The lift stays below the hub of every turbine that has the type already."""
        turbine_type_check(row)


class TurbineTypeViewSet(RegisterViewSet):
    """Turbine types, shared by all sites."""

    queryset = TurbineType.objects.all()
    serializer_class = TurbineTypeSerializer
    search_fields = ("name",)


class TurbineSerializer(RowSerializer):
    """One turbine."""

    class Meta:
        model = Turbine
        fields = [
            "id", "site", "code", "type", "latitude", "longitude", "hub_height_m", "feeder", "road", "commissioned_on",
            "designation",
        ]  # fmt: skip


class TurbineViewSet(RegisterViewSet):
    """Turbines of the caller's sites."""

    queryset = Turbine.objects.all()
    serializer_class = TurbineSerializer
    filterset_class = filters_of(Turbine, "site", "type", "code", "feeder", "road")
    search_fields = ("code", "designation")
    ordering_fields = ("code", "commissioned_on", "hub_height_m")


class ComponentKindSerializer(RowSerializer):
    """A kind of component."""

    class Meta:
        model = ComponentKind
        fields = ["id", "code", "name"]


class ComponentKindViewSet(RegisterViewSet):
    """Component kinds, shared by all sites."""

    queryset = ComponentKind.objects.all()
    serializer_class = ComponentKindSerializer
    search_fields = ("code", "name")


class ComponentSerializer(RowSerializer):
    """One of `of` alike at `position`."""

    class Meta:
        model = Component
        fields = ["id", "turbine", "parent", "kind", "position", "of", "designation", "serial", "installed_on"]

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """A tree has no rings."""
        component_check(row)


class ComponentViewSet(RegisterViewSet):
    """Components of the caller's turbines."""

    queryset = Component.objects.all()
    serializer_class = ComponentSerializer
    filterset_class = filters_of(Component, "turbine", "kind", "parent", "serial")
    search_fields = ("designation", "serial")


class CounterReadingSerializer(RowSerializer):
    """A counter read on a day of the site."""

    class Meta:
        model = CounterReading
        fields = ["id", "turbine", "counter", "read_on", "value"]


class CounterReadingViewSet(RegisterViewSet):
    """Counter readings; the crew writes them too."""

    queryset = CounterReading.objects.all()
    serializer_class = CounterReadingSerializer
    filterset_class = filters_of(CounterReading, "turbine", "counter", read_on=["exact", "gte", "lte"])
    ordering_fields = ("read_on", "value")
    write_roles = CREW
