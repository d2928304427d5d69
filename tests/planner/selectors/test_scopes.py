"""Every table says whose its rows are, whichever part of Lull is loaded."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.contrib.auth.models import User
from django.db.models import Model

from planner import models as register
from planner.selectors.caller import Caller
from planner.selectors.ownership import may_write, scope_of, visible
from scheduling import models as planning
from tests.admin_rows import grow
from tests.farm import Farm

TABLES = [m for app in ("planner", "workorders", "scheduling") for m in apps.get_app_config(app).get_models()]
STATED = [model for model in TABLES if not hasattr(model, "history_id")]
SHARED = (register.Limit, register.Step, register.ProcedureSkill, register.ProcedurePart, register.ProcedureEquipment)

ALONE = """
import sys, django
django.setup()
from planner.models import ProcedurePart
from planner.selectors.ownership import scope_of
from scheduling.models import VisitJob
from workorders.models import Hold
print([type(scope_of(model)).__name__ for model in (ProcedurePart, Hold, VisitJob)])
print([name for name in sys.modules if name.split(".")[1:2] == ["api"] and name.split(".")[0] in ("planner", "scheduling")])
"""


@pytest.mark.parametrize("model", STATED, ids=lambda one: one.__name__)
def test_every_table_has_its_scope(model: type[Model]) -> None:
    assert scope_of(model)


def test_the_scopes_are_there_without_any_address_loaded() -> None:
    told = subprocess.run([sys.executable, "-c", ALONE], cwd=settings.BASE_DIR, capture_output=True, text=True, check=True)
    assert told.stdout.splitlines() == ["['Shared', 'OfSite', 'OfSite']", "[]"]


@pytest.mark.parametrize("model", SHARED, ids=lambda one: one.__name__)
def test_what_a_limit_set_or_procedure_consists_of_is_shared(
    model: type[Model], farm: Farm, viewer_user: User, stranger: User
) -> None:
    row: Any = grow(farm, model, 1, 1)[0]
    rows = model._default_manager.filter(pk=row.pk)
    nobody = User.objects.create(username="nobody")
    for user, sees in ((viewer_user, True), (stranger, True), (nobody, False)):
        assert visible(rows, Caller(user)).exists() == sees
    assert may_write(row, Caller(stranger), ("planner",))
    assert not may_write(row, Caller(viewer_user), ("planner",))


def test_a_job_is_of_the_site_of_its_visit(farm: Farm, viewer_user: User, stranger: User) -> None:
    job = grow(farm, planning.VisitJob, 1, 1)[0]
    rows = planning.VisitJob.objects.filter(pk=job.pk)
    assert visible(rows, Caller(viewer_user)).exists()
    assert not visible(rows, Caller(stranger)).exists()
