"""The plan's money at a base: what travel, overtime, aborted visits, teams and changes weigh. In the currency of its sites."""

from __future__ import annotations

from typing import Any

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from planner.validators import money_list

MONEY: dict[str, str] = {
    "travel_per_person_h": "One person on the way for an hour.",
    "overtime_per_person_h": "One person for an hour after the regular end.",
    "abort_per_person": "A visit that has to be broken off, for each person of it; weighed with its chance.",
    "team_day": "Sending one team more on a day.",
    "pair_apart": "A pair that works together gladly, out on the same day in two teams.",
    "change_later": "Moving a published visit on any later day.",
    "crew_change": "Each person taken out of a published visit that stands still.",
}
"""Field -> what it buys. Defaults are a planner's judgement, no source."""


def _money(name: str, usual: float) -> models.FloatField[Any, Any]:
    return models.FloatField(default=usual, validators=[MinValueValidator(0)], help_text=MONEY[name])


def _share(usual: float, text: str) -> models.FloatField[Any, Any]:
    limits = [MinValueValidator(0), MaxValueValidator(1)]
    return models.FloatField(default=usual, validators=limits, help_text=text)


def change_by_day() -> list[float]:
    """What moving a published visit costs on the first days: people know, vehicles and keys are laid out."""
    return [400.0, 300.0, 150.0, 100.0]


class PlanMoney(models.Model):
    """Fields of a base: every weight of the fortnight that no order and no equipment carries."""

    travel_per_person_h = _money("travel_per_person_h", 36)
    overtime_per_person_h = _money("overtime_per_person_h", 54)
    abort_per_person = _money("abort_per_person", 150)
    team_day = _money("team_day", 40)
    pair_apart = _money("pair_apart", 20)
    change_by_day = models.JSONField(
        default=change_by_day, blank=True, validators=[money_list],
        help_text="Moving a published visit that lies 0, 1, 2 ... days ahead, for example [400, 300, 150, 100].",
    )  # fmt: skip
    change_later = _money("change_later", 40)
    crew_change = _money("crew_change", 20)
    told_factor = models.FloatField(
        default=2, validators=[MinValueValidator(1)], help_text="Changes of a day whose teams were told cost so many times more."
    )
    far_day_share = _share(0.5, "Likely aborts on the last day weigh this share of those on the first: far forecasts change.")
    fade_days = models.PositiveSmallIntegerField(
        default=60, validators=[MinValueValidator(1)],
        help_text="Leaving work out that closes after the fortnight costs less, down to the least share so many days later.",
    )  # fmt: skip
    fade_least_share = _share(0.15, "The least share of its value that work inside its tolerance keeps.")

    class Meta:
        abstract = True
