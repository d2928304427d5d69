"""What a forecast says about a stay that is planned."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from planner.models import Equipment, Limit, LimitSet, ProcedureEquipment, ShiftPattern
from scheduling.builders.stays import ENDS_BEFORE, StayChance, held_to, limits_of_visit, stay_chances
from scheduling.models import Visit, WeatherSet
from scheduling.selectors.stay_calls import stays_told
from tests.farm import NOW, TODAY, Farm
from tests.page_rows import build_order
from tests.scheduling.stay_scenes import forecast, told
from workorders.models import Order


def said(farm: Farm, **weather: float) -> StayChance:
    """Of the only stay, from a fresh forecast."""
    (one,) = stay_chances(farm.hill, forecast(farm, **weather), stays_told(site=farm.hill, after=NOW))  # type: ignore[arg-type]
    return one


def test_times_lie_inside_the_shift_of_everybody_on_the_team(farm: Farm) -> None:
    """The week's shift is 07:00 to 16:00 with 2 h of overtime; Ben's begins at 09:00."""
    late = ShiftPattern.objects.create(name="late", weekdays=[1, 2, 3, 4, 5], start=time(9), end=time(15), overtime_h=0)
    farm.people["Ben"].shift_pattern = late
    farm.people["Ben"].save()
    told(farm, start=time(11))
    one = said(farm, mps=3.0)
    tomorrow = TODAY + timedelta(days=1)
    assert one.first_start == datetime.combine(tomorrow, time(7), tzinfo=UTC)
    assert one.down_by == datetime.combine(tomorrow, time(13), tzinfo=UTC)


def test_a_stay_longer_than_the_shift_has_no_start(farm: Farm) -> None:
    told(farm, start=time(7), hours=12)
    one = said(farm, mps=3.0)
    assert (one.chance, one.first_start) == (1.0, None)


def test_a_stay_without_people_may_begin_as_planned_only(farm: Farm) -> None:
    visit = told(farm)
    visit.people.clear()
    one = said(farm, mps=3.0)
    assert (one.first_start, one.down_by) == (visit.starts_at, visit.ends_at)


def test_the_day_of_a_clock_change(farm: Farm) -> None:
    """Clocks go back on 25 October 2026: that day has 50 half hours, and 10:00 at HILL is 09:00 UTC."""
    sunday = date(2026, 10, 25)
    visit = told(farm, day=sunday, start=time(20))
    row = forecast(farm, mps=3.0, issued_at=datetime(2026, 10, 24, 6, tzinfo=UTC))
    (one,) = stay_chances(farm.hill, row, stays_told(site=farm.hill, after=NOW))
    assert visit.starts_at == datetime(2026, 10, 25, 19, tzinfo=UTC)
    assert one.chance == 1.0


def test_the_tightest_limits_of_all_the_work_of_a_visit(farm: Farm) -> None:
    visit = told(farm)
    other: Order = build_order(farm.h2, farm, "HILL-9", work="blade-look")
    visit.jobs.create(order=other, work_min=60)
    codes, core = limits_of_visit(Visit.objects.get(pk=visit.pk))
    assert codes == ("blade", "tower")
    assert held_to(core)[-1] == "daylight"
    assert "10 min wind at hub <= 8 m/s, 10 min" in held_to(core)


def test_what_is_not_known_is_said(farm: Farm) -> None:
    visit = told(farm)
    assert said(farm, hours=20).why == ENDS_BEFORE
    LimitSet.objects.filter(code="tower").update(gust_factor=None)
    (one,) = stay_chances(farm.hill, forecast(farm, gust=False), stays_told(site=farm.hill, after=NOW))
    assert (one.chance, one.why) == (None, "gust at hub is not known all through the stay")
    LimitSet.objects.get(code="tower").limits.all().delete()
    (one,) = stay_chances(farm.hill, forecast(farm), stays_told(site=farm.hill, after=NOW))
    assert (one.visit, one.chance) == (visit, None)
    assert "names no limit" in one.why


@pytest.mark.parametrize("mps", [4.0, 9.0, 11.5, 20.0])
def test_the_asked_chance_is_reached_exactly_where_a_start_as_planned_may_be_made(mps: float, farm: Farm) -> None:
    told(farm)
    one = said(farm, mps=mps)
    assert one.chance is not None
    reaches = one.chance >= farm.hill.confidence - 1e-9
    assert reaches is (one.binds == "")
    if reaches:
        assert one.down_by is not None
        assert one.down_by >= one.visit.ends_at


def test_equipment_adds_its_own_limits(farm: Farm) -> None:
    visit = told(farm)
    hook = LimitSet.objects.create(code="hook", name="Lifting")
    Limit.objects.create(limit_set=hook, quantity="wind", value=2)
    Equipment.objects.update(limit_set=hook)
    procedure = visit.jobs.get().order.procedure
    assert said(farm, mps=3.0).chance == 1.0
    ProcedureEquipment.objects.create(procedure=procedure, equipment=Equipment.objects.get())
    (again,) = stays_told(site=farm.hill, after=NOW)
    assert limits_of_visit(again)[0] == tuple(sorted(("hook", procedure.limit_set.code)))
    (one,) = stay_chances(farm.hill, WeatherSet.objects.get(), [again])
    assert one.chance is not None
    assert one.chance < 0.5
