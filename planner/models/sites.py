"""Sites, bases and the rule sets of the countries they stand in."""

from __future__ import annotations

import zoneinfo

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from planner.models.base import Record, above, at_least
from planner.models.money import MONEY, PlanMoney
from planner.validators import hourly_prices, known_zone, money_table


class RuleSet(Record):
    """Working-time and climbing rules of a country or company. Defaults: directive 2003/88/EC (rest 11 h, week 48 h, break
    after 6 h); climbs a day are common practice, no source."""

    name = models.CharField(max_length=80, unique=True)
    daily_rest_h = models.FloatField(default=11)
    week_max_h = models.FloatField(default=48)
    break_after_h = models.FloatField(default=6)
    break_min = models.PositiveSmallIntegerField(default=30)
    climbs_a_day = models.PositiveSmallIntegerField(default=4)
    ladder_climbs_a_day = models.PositiveSmallIntegerField(default=2)
    team_least = models.PositiveSmallIntegerField(default=2, help_text="Never fewer than two up a turbine.")
    rescue_least = models.PositiveSmallIntegerField(default=2, help_text="Rescue-capable people in every team.")
    cover_min = models.PositiveSmallIntegerField(
        default=0, help_text="Minutes within which another team or rescuers must reach a team that is up; 0: not asked."
    )
    nights_in_row = models.PositiveSmallIntegerField(
        default=4, help_text="Most nights in a row that a team sleeps away from its base (usual: agree it with the people)."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            at_least("team_least", 2, "ruleset_team_of_two"),
            at_least("rescue_least", 2, "ruleset_rescue_pair"),
            at_least("daily_rest_h", 0, "ruleset_rest"),
            above("week_max_h", 0, "ruleset_week"),
            at_least("climbs_a_day", 1, "ruleset_climbs"),
        ]

    def __str__(self) -> str:
        return self.name


def _share(name: str) -> models.CheckConstraint:
    return models.CheckConstraint(
        condition=models.Q(**{f"{name}__gte": 0}) & models.Q(**{f"{name}__lte": 1}),
        name=f"base_{name}",
        violation_error_message=f"{name} is a share: give a number from 0 to 1.",
    )


class Base(PlanMoney, Record):
    """Where people and vehicles start in the morning. Sites that share a base are planned together."""

    name = models.CharField(max_length=80, unique=True)
    latitude = models.FloatField(validators=[MinValueValidator(-90), MaxValueValidator(90)])
    longitude = models.FloatField(validators=[MinValueValidator(-180), MaxValueValidator(180)])
    time_zone = models.CharField(max_length=64, validators=[known_zone])
    speed_kmh = models.FloatField(default=40, help_text="Mean speed on the way, for travel times.")
    hop_fixed_min = models.PositiveSmallIntegerField(default=10, help_text="Loading, gates and parking for each hop.")
    rescue_standby = models.BooleanField(
        default=False, help_text="A rescue group stands by at the base whenever teams are up; it counts as rescue cover."
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            above("speed_kmh", 0, "base_speed"),
            *(at_least(name, 0, f"base_{name}") for name in MONEY),
            at_least("told_factor", 1, "base_told_factor"),
            at_least("fade_days", 1, "base_fade_days"),
            *(_share(name) for name in ("far_day_share", "fade_least_share")),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The base's time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)


class Site(Record):
    """A wind farm: its zone, money, wind profile and planning numbers."""

    code = models.SlugField(max_length=12, unique=True)
    name = models.CharField(max_length=80, unique=True)
    base = models.ForeignKey(Base, on_delete=models.PROTECT, related_name="sites")
    rule_set = models.ForeignKey(RuleSet, on_delete=models.PROTECT, related_name="sites")
    time_zone = models.CharField(max_length=64, validators=[known_zone])
    country = models.CharField(max_length=2, help_text="ISO 3166 code.")
    currency = models.CharField(max_length=3, help_text="ISO 4217 code.")
    price_per_mwh = models.FloatField(help_text="Energy price, flat.")
    price_by_hour = models.JSONField(default=list, blank=True, validators=[hourly_prices])
    grid_limit_mw = models.FloatField(null=True, blank=True)
    latitude = models.FloatField(validators=[MinValueValidator(-90), MaxValueValidator(90)])
    longitude = models.FloatField(validators=[MinValueValidator(-180), MaxValueValidator(180)])
    altitude_m = models.FloatField(default=0)
    shear_exponent = models.FloatField(default=0.2, help_text="0.2 is the IEC 61400-1 normal wind profile.")
    confidence = models.FloatField(default=0.8, help_text="Least share of forecast members in which a whole stay must fit.")
    stale_after_h = models.FloatField(default=12, help_text="A forecast older than this is never go.")
    most_stopped = models.PositiveSmallIntegerField(null=True, blank=True, help_text="Most turbines stopped at once.")
    left_out_costs = models.JSONField(
        default=dict, blank=True, validators=[money_table], help_text="Cost by class of leaving an order out; empty: defaults."
    )
    late_costs = models.JSONField(
        default=dict, blank=True, validators=[money_table], help_text="Cost by class and day of lateness; empty: defaults."
    )
    emergency = models.TextField(blank=True, help_text="Emergency numbers, meeting point, rescue plan reference.")

    class Meta:
        ordering = ["code"]
        constraints = [
            at_least("price_per_mwh", 0, "site_price"),
            above("stale_after_h", 0, "site_stale"),
            models.CheckConstraint(
                condition=models.Q(confidence__gt=0) & models.Q(confidence__lte=1),
                name="site_confidence",
                violation_error_message="confidence is a share: give a number above 0 and at most 1.",
            ),
            models.CheckConstraint(
                condition=models.Q(shear_exponent__gte=-0.2) & models.Q(shear_exponent__lte=1),
                name="site_shear",
                violation_error_message="shear_exponent must lie between -0.2 and 1 (0.2 if you do not know it).",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> zoneinfo.ZoneInfo:
        """The site's time zone."""
        return zoneinfo.ZoneInfo(self.time_zone)
