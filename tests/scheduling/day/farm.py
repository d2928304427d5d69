"""One tiny morning, held in the head: one team, one turbine, one wind limit of 12 m/s, hours as slots, five members.

Origin is local midnight (UTC+1). The stay takes three hours (half an hour up, 105 min work, 15 packing, 30 down), planned
for 08:00, inside a shift of 07:00 to 17:00. The wind of member k is 8 + k * 0.1 m/s all day.
"""

from __future__ import annotations

from dataclasses import replace

from scheduling.day.problem import Limit, Person, Problem, Stay

HOUR = 60
WIND = Limit("wind at hub", "wind", "<=", 12.0)
ANNA, BELA = Person("Anna", True, True), Person("Bela", True, True)

STAY = Stay(
    id="V1",
    team="Team 1",
    turbine="T1",
    label="service",
    by="lift",
    up_min=30,
    work_min=105,
    pack_min=15,
    down_min=30,
    planned_start_min=8 * HOUR,
    shift_start_min=7 * HOUR,
    shift_end_min=17 * HOUR,
    limits="nacelle",
    people=(ANNA, BELA),
)


def winds(hours: dict[int, float | None], members: int = 5) -> tuple[tuple[float | None, ...], ...]:
    """Calm wind of 24 hours for each member, with the given hours changed for all of them."""
    return tuple(tuple(hours.get(h, 8.0 + k * 0.1) for h in range(24)) for k in range(members))


MORNING = Problem(
    date="2026-03-10",
    zone="Europe/Berlin",
    origin="2026-03-09T23:00:00+00:00",
    slot_min=HOUR,
    slots=24,
    now_min=6 * HOUR,
    issue_min=3 * HOUR,
    series={"wind": winds({})},
    limit_sets={"nacelle": (WIND,)},
    stays=(STAY,),
)


def with_wind(hours: dict[int, float | None]) -> Problem:
    """The morning with other winds at some hours, in every member."""
    return replace(MORNING, series={"wind": winds(hours)})


def with_stay(**changes: object) -> Problem:
    """The morning with a changed stay."""
    return replace(MORNING, stays=(replace(STAY, **changes),))
