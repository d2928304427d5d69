"""The tiny farm is what its docstring says, and no row of it breaks a rule of the register."""

from __future__ import annotations

from django.apps import apps

from planner.clock import now_utc
from tests.farm import NOW, TODAY, Farm


def test_every_row_is_clean(farm: Farm) -> None:
    models = [model for model in apps.get_app_config("planner").get_models() if not model.__name__.startswith("Historical")]
    for model in models:
        for row in model._default_manager.all():
            row.full_clean()


def test_the_clock_stands_at_the_farms_morning(farm: Farm) -> None:
    assert now_utc() == NOW
    assert TODAY.isoweekday() == 3
    assert [turbine.code for turbine in farm.hill.turbines.all()] == ["H1", "H2", "H3"]
