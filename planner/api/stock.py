"""Shared equipment and its bookings, vehicles, parts and their deliveries, closures."""

from __future__ import annotations

from typing import Any

from planner.models import Closure, Equipment, EquipmentBooking, Lodging, Part, PartDelivery, Vehicle
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet
from planner.services.register_rules import closure_check


class EquipmentSerializer(RowSerializer):
    """Equipment that several orders share."""

    class Meta:
        model = Equipment
        fields = ["id", "name", "kind", "base", "capacity", "day_cost", "mobilise_cost", "limit_set", "always_there"]


class EquipmentViewSet(RegisterViewSet):
    """Shared equipment: every member sees it, planners of its base change it."""

    queryset = Equipment.objects.all()
    serializer_class = EquipmentSerializer
    filterset_class = filters_of(Equipment, "base", "kind", "always_there")
    search_fields = ("name",)


class BookingSerializer(RowSerializer):
    """Days on which equipment is there."""

    class Meta:
        model = EquipmentBooking
        fields = ["id", "equipment", "first_day", "last_day"]


class BookingViewSet(RegisterViewSet):
    """Bookings of shared equipment."""

    queryset = EquipmentBooking.objects.all()
    serializer_class = BookingSerializer
    filterset_class = filters_of(EquipmentBooking, "equipment", first_day=["gte", "lte"], last_day=["gte", "lte"])
    ordering_fields = ("first_day",)


class VehicleSerializer(RowSerializer):
    """One team a day."""

    class Meta:
        model = Vehicle
        fields = ["id", "name", "base", "seats"]


class VehicleViewSet(RegisterViewSet):
    """Vehicles of the caller's bases."""

    queryset = Vehicle.objects.all()
    serializer_class = VehicleSerializer
    filterset_class = filters_of(Vehicle, "base")
    search_fields = ("name",)


class LodgingSerializer(RowSerializer):
    """Beds near the turbines."""

    class Meta:
        model = Lodging
        fields = ["id", "name", "base", "latitude", "longitude", "beds", "night_cost"]


class LodgingViewSet(RegisterViewSet):
    """Lodgings of the caller's bases."""

    queryset = Lodging.objects.all()
    serializer_class = LodgingSerializer
    filterset_class = filters_of(Lodging, "base")
    search_fields = ("name",)


class PartSerializer(RowSerializer):
    """A part, its stock and lead time."""

    class Meta:
        model = Part
        fields = ["id", "code", "name", "stock", "lead_time_days"]


class PartViewSet(RegisterViewSet):
    """Parts, shared by all sites."""

    queryset = Part.objects.all()
    serializer_class = PartSerializer
    filterset_class = filters_of(Part, "code")
    search_fields = ("code", "name")
    ordering_fields = ("code", "stock")


class DeliverySerializer(RowSerializer):
    """Parts on order."""

    class Meta:
        model = PartDelivery
        fields = ["id", "part", "quantity", "expected_on", "received_on"]


class DeliveryViewSet(RegisterViewSet):
    """Deliveries of parts, shared by all sites."""

    queryset = PartDelivery.objects.all()
    serializer_class = DeliverySerializer
    filterset_class = filters_of(PartDelivery, "part", expected_on=["exact", "gte", "lte"])
    ordering_fields = ("expected_on",)


class ClosureSerializer(RowSerializer):
    """Nobody may work there from `first_day` through `last_day`; a grid outage makes standstill free instead."""

    class Meta:
        model = Closure
        fields = ["id", "site", "turbine", "road", "kind", "reason", "first_day", "last_day"]

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """The turbine is one of the site."""
        closure_check(row)


class ClosureViewSet(RegisterViewSet):
    """Closures of the caller's sites."""

    queryset = Closure.objects.all()
    serializer_class = ClosureSerializer
    filterset_class = filters_of(Closure, "site", "turbine", "kind", first_day=["gte", "lte"], last_day=["gte", "lte"])
    ordering_fields = ("first_day",)
