"""Sites, bases, rule sets and who may see which site."""

from __future__ import annotations

from typing import Any

from django.contrib.auth import get_user_model
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from planner.choices import Role
from planner.models import Base, Membership, RuleSet, Site
from planner.models.money import PlanMoney
from planner.rest.filters import filters_of
from planner.rest.serializers import RowSerializer
from planner.rest.views import RegisterViewSet
from planner.worth import LATE_A_DAY, LEFT_OUT, effective

MONEY_FIELDS = [field.name for field in PlanMoney._meta.get_fields()]


class RuleSetSerializer(RowSerializer):
    """Working-time and climbing rules."""

    class Meta:
        model = RuleSet
        fields = [
            "id", "name", "daily_rest_h", "week_max_h", "break_after_h", "break_min", "climbs_a_day", "ladder_climbs_a_day",
            "team_least", "rescue_least", "cover_min", "nights_in_row",
        ]  # fmt: skip


class RuleSetViewSet(RegisterViewSet):
    """Rule sets, shared by all sites."""

    queryset = RuleSet.objects.all()
    serializer_class = RuleSetSerializer
    search_fields = ("name",)


class BaseSerializer(RowSerializer):
    """Where people and vehicles start."""

    class Meta:
        model = Base
        fields = [
            "id", "name", "latitude", "longitude", "time_zone", "speed_kmh", "hop_fixed_min", "rescue_standby", *MONEY_FIELDS,
        ]  # fmt: skip


class BaseViewSet(RegisterViewSet):
    """Bases: every member sees them, planners of their sites change them."""

    queryset = Base.objects.all()
    serializer_class = BaseSerializer
    search_fields = ("name",)


class SiteSerializer(RowSerializer):
    """A wind farm. `effective_costs` has the value of every class: the site's own, else the usual one."""

    effective_costs = serializers.SerializerMethodField()

    class Meta:
        model = Site
        fields = [
            "id", "code", "name", "base", "rule_set", "time_zone", "country", "currency", "price_per_mwh", "price_by_hour",
            "grid_limit_mw", "latitude", "longitude", "altitude_m", "shear_exponent", "confidence", "stale_after_h",
            "most_stopped", "left_out_costs", "late_costs", "effective_costs",
            "emergency",
        ]  # fmt: skip

    def get_effective_costs(self, row: Site) -> dict[str, dict[str, float]]:
        """What leaving an order out costs, and a day late, by class."""
        return {"left_out": effective(row.left_out_costs, LEFT_OUT), "late_a_day": effective(row.late_costs, LATE_A_DAY)}


class SiteViewSet(RegisterViewSet):
    """The caller's sites. Who opens a site becomes its planner."""

    queryset = Site.objects.all()
    serializer_class = SiteSerializer
    filterset_class = filters_of(Site, "base", "code", "country")
    search_fields = ("code", "name")
    ordering_fields = ("code", "name")

    def added(self, serializer: Any) -> Any:
        """Without a role nobody would see the new site."""
        site = serializer.save()
        Membership.objects.create(user=self.request.user, site=site, role=Role.PLANNER)
        return site


class Username(serializers.CharField):
    """The username of any active account; only planners get to ask."""

    def to_internal_value(self, data: Any) -> Any:
        """The account."""
        user = get_user_model().objects.filter(username=super().to_internal_value(data), is_active=True).first()
        if user is None:
            raise ValidationError("No active account has this username: make one in the admin site first.")
        return user

    def to_representation(self, value: Any) -> str:
        """Its username."""
        return str(value.username)


class MembershipSerializer(RowSerializer):
    """A user's role at a site."""

    user = Username()

    class Meta:
        model = Membership
        fields = ["id", "user", "site", "role"]


class MembershipViewSet(RegisterViewSet):
    """Roles at the sites where the caller plans, and the caller's own."""

    queryset = Membership.objects.select_related("user")
    serializer_class = MembershipSerializer
    filterset_class = filters_of(Membership, "site", "role")
