"""History is written once, and only what can be true."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime
from typing import Any

import pytest
import time_machine
from django.db import connection

from planner.errors import PlannerError
from planner.models import WorkDone
from planner.selectors.due import due_list
from planner.services.work_done import work_done_record
from tests.farm import TODAY, Farm, build_farm


def record(farm: Farm, **change: Any) -> WorkDone:
    given = {"interval": farm.intervals["lift-12"], "turbine": farm.h1, "component": None, "done_on": TODAY}
    return work_done_record(**(given | change))


def test_it_moves_the_due_date(farm: Farm) -> None:
    row = record(farm, due_on=date(2026, 5, 20), note="report 7")
    assert (row.done_on, row.due_on, row.note) == (TODAY, date(2026, 5, 20), "report 7")
    found = next(item for item in due_list(sites=[farm.hill], turbine=farm.h1) if item.interval.code == "lift-12")
    assert (found.due.due, found.due.state) == (date(2027, 6, 10), "not open")


def test_twice_is_once_and_the_first_stays(farm: Farm) -> None:
    first = record(farm, note="report 7")
    again = record(farm, note="report 8")
    assert again.pk == first.pk
    assert WorkDone.objects.get(pk=first.pk).note == "report 7"


def test_each_blade_has_its_own_row(farm: Farm) -> None:
    rows = {record(farm, interval=farm.intervals["blade-24"], component=blade).pk for blade in farm.blades}
    assert len(rows) == 3


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"done_on": date(2026, 6, 11)}, "done_on", "has not come yet at the site: give 2026-06-10 or before"),
        ({"done_on": date(1826, 6, 10)}, "done_on", "out of range"),
        ({"counter": float("nan")}, "counter", "no counter reading"),
        ({"counter": -1.0}, "counter", "no counter reading"),
        ({"note": "x" * 121}, "note", "note: "),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(farm: Farm, change: dict[str, Any], field: str, words: str) -> None:
    before = WorkDone.objects.count()
    with pytest.raises(PlannerError) as refusal:
        record(farm, **change)
    assert refusal.value.field == field
    assert words in refusal.value.message
    assert WorkDone.objects.count() == before


def test_the_interval_must_apply_to_the_asset(farm: Farm) -> None:
    for change in (
        {"turbine": farm.h3},  # another type
        {"component": farm.blades[0]},  # the whole turbine is due, not a blade
        {"interval": farm.intervals["blade-24"]},  # a blade is due, not the turbine
    ):
        with pytest.raises(PlannerError, match="does not fall due on"):
            record(farm, **change)
    with pytest.raises(PlannerError, match="belongs to another turbine than H2"):
        record(farm, interval=farm.intervals["blade-24"], turbine=farm.h2, component=farm.blades[0])


def test_the_day_is_the_sites_own(farm: Farm) -> None:
    with time_machine.travel(datetime(2026, 6, 10, 16, 30, tzinfo=UTC), tick=False):
        row = record(farm, turbine=farm.p1, done_on=date(2026, 6, 11))
        assert row.done_on == date(2026, 6, 11)
        with pytest.raises(PlannerError):
            record(farm, done_on=date(2026, 6, 11))


@pytest.mark.django_db(transaction=True)
def test_six_at_once_write_one_row(now: datetime) -> None:
    farm = build_farm()

    def once(_: int) -> int:
        try:
            return record(farm).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        assert len(set(pool.map(once, range(6)))) == 1
    assert WorkDone.objects.filter(turbine=farm.h1, done_on=TODAY).count() == 1
