"""The tiny farm is what its docstring says, and no row of it breaks a rule of the register."""

from __future__ import annotations

from datetime import datetime

import pytest
from django.apps import apps
from django.db import transaction

from planner.clock import now_utc
from planner.models import Turbine
from tests.farm import NOW, TODAY, Farm, build_turbine
from tests.laid import Kept, rows_of


def test_every_row_is_clean(farm: Farm) -> None:
    models = [model for model in apps.get_app_config("planner").get_models() if not model.__name__.startswith("Historical")]
    for model in models:
        for row in model._default_manager.all():
            row.full_clean()


def test_the_clock_stands_at_the_farms_morning(farm: Farm) -> None:
    assert now_utc() == NOW
    assert TODAY.isoweekday() == 3
    assert [turbine.code for turbine in farm.hill.turbines.all()] == ["H1", "H2", "H3"]


@pytest.mark.django_db
def test_a_farm_laid_again_is_the_farm_that_was_built(now: datetime) -> None:
    with transaction.atomic():
        kept = Kept()
        assert {table: rows_of(table) for table in kept.rows} == kept.rows
        transaction.set_rollback(True)
    assert not Turbine.objects.exists()
    farm = kept.lay()
    assert {table: rows_of(table) for table in kept.rows} == kept.rows
    assert sum(len(rows) for _, rows in kept.rows.values()) > 180
    for record in (farm.hill, farm.p1, *farm.blades, *farm.procedures.values(), *farm.intervals.values(), *farm.people.values()):
        assert type(record).objects.get(pk=record.pk) == record
    assert build_turbine(farm.hill, "H4", farm.h1.type, 3, 100).pk not in {farm.h1.pk, farm.h2.pk, farm.h3.pk, farm.p1.pk}
