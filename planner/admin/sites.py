"""Sites, bases, rule sets and who may see which site."""

from __future__ import annotations

from typing import Any

from django.contrib import admin

from planner.admin.base import RowAdmin, ScopedFilter
from planner.admin.forms import RowForm, UsernameField
from planner.choices import Role
from planner.models import Base, Membership, RuleSet, Site


@admin.register(RuleSet)
class RuleSetAdmin(RowAdmin):
    """Working-time and climbing rules."""

    list_display = ("name", "daily_rest_h", "week_max_h", "climbs_a_day", "team_least", "rescue_least")
    search_fields = ("name",)


@admin.register(Base)
class BaseAdmin(RowAdmin):
    """Where people and vehicles start."""

    list_display = ("name", "time_zone", "speed_kmh", "hop_fixed_min")
    list_filter = ("time_zone",)
    search_fields = ("name",)


@admin.register(Site)
class SiteAdmin(RowAdmin):
    """The caller's sites."""

    joins = ("base", "rule_set")
    list_display = ("code", "name", "base", "country", "time_zone", "confidence", "stale_after_h")
    list_filter = (("base", ScopedFilter), "country")
    search_fields = ("code", "name")

    def save_model(self, request: Any, obj: Any, form: Any, change: bool) -> None:
        """Who opens a site becomes its planner; without a role nobody would see it."""
        super().save_model(request, obj, form, change)
        if not change:
            Membership.objects.get_or_create(user=request.user, site=obj, defaults={"role": Role.PLANNER})


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
