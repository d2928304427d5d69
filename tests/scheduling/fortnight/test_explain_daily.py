"""Day by day: the limit that binds with its share of members, people who are missing with why, days joined."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from scheduling.bits import pack_members
from scheduling.fortnight.explain import Background, LimitTable, Shut, by_day, left_out_by_day
from scheduling.fortnight.plan import Plan
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_orders, with_people

NOTHING = Plan((), ())


def test_wind_on_every_day_but_one_and_people_on_that_one() -> None:
    wind = np.ones((4, 60), dtype=bool)
    wind[:2, :40] = False  # Monday and Tuesday: two of four members are windy
    problem = replace(tiny(), workable={"calm": pack_members(wind)})
    shifts = {p.id: p.shifts[:2] for p in problem.people}
    problem = with_people(problem, ann={"shifts": shifts["ann"]}, ben={"shifts": shifts["ben"]})
    limit = LimitTable("10 min wind at hub", "<=", 12.0, "m/s", wind)
    known = Background(limits={"calm": (limit,)}, absent={name: {2: "away until 2026-03-08"} for name in ("ann", "ben")})
    assert by_day(problem, NOTHING, "feeder", known) == (
        "No start on Mon 2 Mar to Tue 3 Mar: 10 min wind at hub above 12 m/s in 50 % of members at every start; "
        "Wed 4 Mar: 0 of 2 people with high voltage level 1 are there: Ann (away until 2026-03-08), Ben (away until 2026-03-08)."
    )
    assert by_day(problem, NOTHING, "feeder") == (
        "No start on Mon 2 Mar to Tue 3 Mar: the best chance is 50 %, 75 % is asked for; "
        "Wed 4 Mar: 0 of 2 people with high voltage level 1 are there: Ann (off), Ben (off)."
    )


def test_days_that_are_shut_and_nothing_in_the_way() -> None:
    problem = with_orders(tiny(), repair={"days": (2,)})
    shut = {day: Shut("part", "parts not before 2026-03-04") for day in (0, 1)}
    known = Background(shut={"repair": shut})
    assert by_day(problem, NOTHING, "repair", known) == "No start on Mon 2 Mar to Tue 3 Mar: parts not before 2026-03-04."
    assert by_day(problem, NOTHING, "repair") == ""
    with pytest.raises(ValueError, match="is not in the problem"):
        by_day(problem, NOTHING, "nothing")


def test_every_left_out_order_is_told() -> None:
    assert left_out_by_day(tiny(), hand_plan()) == {}
    assert set(left_out_by_day(tiny(), NOTHING)) == {order.id for order in tiny().orders}
