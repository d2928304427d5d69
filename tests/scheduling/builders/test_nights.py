"""What the morning makes of a team that sleeps near the turbines."""

from __future__ import annotations

import pytest

from planner.models import Lodging
from scheduling.builders.day import day_problem
from scheduling.builders.places import hop_min
from scheduling.models import Visit
from tests import farm as rows
from tests.scheduling.api import scenes


@pytest.mark.django_db
def test_the_way_to_a_lodging_counts_where_the_team_starts_or_sleeps_there(farm: rows.Farm) -> None:
    visit = scenes.visit(farm)
    turbine, base = visit.turbine, farm.north
    inn = Lodging.objects.create(name="inn", base=base, latitude=turbine.latitude, longitude=turbine.longitude)
    far = hop_min(base, turbine)
    assert hop_min(base, turbine, inn) == base.hop_fixed_min < far  # beds at the tower's foot

    def stay(**ends: Lodging):  # type: ignore[no-untyped-def]
        Visit.objects.filter(pk=visit.pk).update(**ends)
        visits = list(Visit.objects.filter(pk=visit.pk))
        return day_problem(site=farm.hill, day=visit.day, now=rows.NOW, visits=visits).stays[0]

    home, evening, both = stay(), stay(sleeps_at=inn), stay(sets_out_from=inn)
    saved = far - base.hop_fixed_min
    assert (evening.shift_start_min, evening.shift_end_min) == (home.shift_start_min, home.shift_end_min + saved)
    assert (both.shift_start_min, both.shift_end_min) == (home.shift_start_min - saved, home.shift_end_min + saved)
    assert both.work_min == home.work_min  # how long a stay is does not depend on where people sleep
