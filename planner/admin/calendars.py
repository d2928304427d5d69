"""Shared equipment with its bookings, vehicles, parts with their deliveries, closures."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import RowAdmin, RowInline, ScopedFilter
from planner.admin.forms import RowForm
from planner.models import Closure, Equipment, EquipmentBooking, Lodging, Part, PartDelivery, Vehicle
from planner.services.register_rules import closure_check


class BookingInline(RowInline):
    """The days on which it is there."""

    model = EquipmentBooking
    joins = ("equipment",)


@admin.register(Equipment)
class EquipmentAdmin(RowAdmin):
    """Equipment that several orders share."""

    joins = ("base", "limit_set")
    list_display = ("name", "kind", "base", "capacity", "day_cost", "mobilise_cost", "limit_set", "always_there")
    list_filter = ("kind", ("base", ScopedFilter), "always_there")
    search_fields = ("name",)
    inlines = (BookingInline,)


@admin.register(EquipmentBooking)
class EquipmentBookingAdmin(RowAdmin):
    """Every booked day."""

    joins = ("equipment__base",)
    list_display = ("equipment", "first_day", "last_day")
    list_filter = (("equipment__base", ScopedFilter), ("equipment", ScopedFilter))
    search_fields = ("equipment__name",)
    date_hierarchy = "first_day"


@admin.register(Vehicle)
class VehicleAdmin(RowAdmin):
    """Vehicles of the caller's bases."""

    joins = ("base",)
    list_display = ("name", "base", "seats")
    list_filter = (("base", ScopedFilter),)
    search_fields = ("name",)


@admin.register(Lodging)
class LodgingAdmin(RowAdmin):
    """Lodgings of the caller's bases."""

    joins = ("base",)
    list_display = ("name", "base", "beds", "night_cost")
    list_filter = (("base", ScopedFilter),)
    search_fields = ("name",)


class DeliveryInline(RowInline):
    """What is on order."""

    model = PartDelivery
    joins = ("part",)


@admin.register(Part)
class PartAdmin(RowAdmin):
    """Parts, shared by all sites."""

    list_display = ("code", "name", "stock", "lead_time_days")
    search_fields = ("code", "name")
    inlines = (DeliveryInline,)


@admin.register(PartDelivery)
class PartDeliveryAdmin(RowAdmin):
    """Every delivery, come or to come."""

    joins = ("part",)
    list_display = ("part", "quantity", "expected_on", "received_on")
    list_filter = (("received_on", admin.EmptyFieldListFilter),)
    search_fields = ("part__code", "part__name")
    date_hierarchy = "expected_on"
    autocomplete_fields = ("part",)


class ClosureForm(RowForm):
    """Asks the turbine too."""

    def judge(self, row: Any) -> None:
        """It is one of the site."""
        closure_check(row)


@admin.register(Closure)
class ClosureAdmin(RowAdmin):
    """When nobody may work at a turbine, along a road or on a site."""

    form = ClosureForm
    joins = ("site", "turbine")
    list_display = ("site", "where", "kind", "reason", "first_day", "last_day")
    list_filter = (("site", ScopedFilter), "kind")
    search_fields = ("reason", "road", "site__code", "site__name", "turbine__code")
    date_hierarchy = "first_day"
    autocomplete_fields = ("turbine",)

    @admin.display(description="what")
    def where(self, row: Closure) -> Any:
        """The turbine, the road, or the whole site."""
        return row.turbine or row.road or "the whole site"
