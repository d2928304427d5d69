"""Sites, bases, rule sets and who may see which site."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import RowAdmin, ScopedFilter
from planner.admin.forms import RowForm, UsernameField
from planner.choices import Role
from planner.models import Base, Membership, RuleSet, Site
from planner.models.money import PlanMoney
from planner.worth import LATE_A_DAY, LEFT_OUT, effective

MONEY_FIELDS = tuple(field.name for field in PlanMoney._meta.get_fields())


@admin.register(RuleSet)
class RuleSetAdmin(RowAdmin):
    """Working-time and climbing rules."""

    list_display = ("name", "daily_rest_h", "week_max_h", "climbs_a_day", "rescue_least", "cover_min", "nights_in_row")
    search_fields = ("name",)


@admin.register(Base)
class BaseAdmin(RowAdmin):
    """Where people and vehicles start."""

    list_display = ("name", "time_zone", "speed_kmh", "hop_fixed_min")
    list_filter = ("time_zone",)
    search_fields = ("name",)
    fieldsets = (
        (None, {"fields": ("name", "latitude", "longitude", "time_zone", "speed_kmh", "hop_fixed_min", "rescue_standby")}),
        (
            "The plan's money",
            {
                "fields": MONEY_FIELDS,
                "description": "What the fortnight's plan weighs against each other. The first values are a planner's judgement.",
            },
        ),
    )


@admin.register(Site)
class SiteAdmin(RowAdmin):
    """The caller's sites."""

    joins = ("base", "rule_set")
    list_display = ("code", "name", "base", "country", "time_zone", "confidence", "stale_after_h")
    list_filter = (("base", ScopedFilter), "country")
    search_fields = ("code", "name")
    readonly_fields = ("value_of_leaving_out", "value_of_a_day_late")

    @admin.display(description="what leaving out costs, by class")
    def value_of_leaving_out(self, row: Site) -> str:
        """Own values, else the usual ones."""
        return _values(row.left_out_costs, LEFT_OUT, row.currency)

    @admin.display(description="what a day late costs, by class")
    def value_of_a_day_late(self, row: Site) -> str:
        """Own values, else the usual ones."""
        return _values(row.late_costs, LATE_A_DAY, row.currency)

    def save_model(self, request: Any, obj: Any, form: Any, change: bool) -> None:
        """Who opens a site becomes its planner; without a role nobody would see it."""
        super().save_model(request, obj, form, change)
        if not change:
            Membership.objects.get_or_create(user=request.user, site=obj, defaults={"role": Role.PLANNER})


def _values(own: dict[str, float], usual: dict[str, float], currency: str) -> str:
    """Each class with its value, and whether it is the site's own."""
    values = effective(own, usual)
    return "; ".join(f"{name} {values[name]:g} {currency}{' (own)' if name in own else ''}" for name in usual)


class MembershipForm(RowForm):
    """The account is named by its username."""

    user = UsernameField(help_text="The username, in full.")


@admin.register(Membership)
class MembershipAdmin(RowAdmin):
    """Roles at the sites where the caller plans, and the caller's own."""

    form = MembershipForm
    joins = ("user", "site")
    list_display = ("user", "site", "role")
    list_filter = (("site", ScopedFilter), "role")
    search_fields = ("user__username", "site__code", "site__name")
