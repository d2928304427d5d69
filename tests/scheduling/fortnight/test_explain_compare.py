"""Two plans of one problem and of two: what changed, what it bought, and what differs between the problems."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from typing import Any

import pytest

from scheduling.bits import pack_members
from scheduling.fortnight.check import recompute_parts
from scheduling.fortnight.due_order import due_order_plan
from scheduling.fortnight.explain import compare, differences
from scheduling.fortnight.explain.fieldwords import SILENT
from scheduling.fortnight.plan import Plan
from scheduling.fortnight.problem import (
    Access,
    Day,
    Equipment,
    Lodging,
    Mode,
    Need,
    Problem,
    PublishedVisit,
    Rules,
    Shift,
    Vehicle,
    Weights,
)
from tests.bench.cases import random_small
from tests.scheduling.fortnight.farms import ALL_DAYS, calm, hand_plan, priced, tiny, with_orders, with_people, with_visit

MONDAY, TUESDAY, WEDNESDAY = (date(2026, 3, day) for day in (2, 3, 4))


def test_orders_won_and_lost_people_and_energy() -> None:
    plan = replace(hand_plan(), visits=hand_plan().visits[1:], left_out=("repair", "feeder"))
    there = compare(tiny(), hand_plan(), plan)
    assert (there.won, there.lost) == ((), ("repair", "feeder"))
    # 7 slots of T1 and T2 at 0.5 MWh; service keeps T1 stopped for two nights in both plans.
    assert there.lost_mwh_before - there.lost_mwh_after == pytest.approx(7.0)
    assert "2 orders fewer, 7.0 MWh less lost" in there.text
    assert [one.person for one in there.people] == ["Ann", "Ben"]
    assert (there.people[0].days_before, there.people[0].days_after) == ((MONDAY, TUESDAY, WEDNESDAY), (TUESDAY, WEDNESDAY))
    # 7 slots and 25 minutes there and back
    assert there.people[1].away_min_before - there.people[1].away_min_after == 7 * 30 + 50
    assert there.people[1].text == "Ben: out on 1 days, before 2 (no longer Mon 2 Mar; 5.0 h away, before 9.3 h)"
    assert set(compare(tiny(), plan, hand_plan()).won) == {"feeder", "repair"}


def test_energy_of_the_comparison_is_that_of_the_money() -> None:
    plan = hand_plan()
    there = compare(tiny(), Plan((), ()), plan)
    assert there.lost_mwh_after * 6000 == recompute_parts(tiny(), plan)["lost energy"]  # 60 EUR/MWh everywhere


@pytest.mark.parametrize("seed", range(8))
def test_there_and_back_cancel_out(seed: int) -> None:
    problem = random_small(seed)
    plan = due_order_plan(problem)
    some = priced(problem, Plan((), tuple(order.id for order in problem.orders)))
    there, back = compare(problem, some, plan), compare(problem, plan, some)
    assert there.parts == {name: -cents for name, cents in back.parts.items()}
    assert there.value == sum(recompute_parts(problem, plan).values()) - some.value
    assert (there.won, there.lost) == (back.lost, back.won)


def test_plans_of_two_problems_each_by_its_own_money() -> None:
    dearer = with_orders(tiny(), inspection={"left_out_cost": 900_000})
    plan = replace(hand_plan(), visits=hand_plan().visits[:3], left_out=("inspection",))
    there = compare(dearer, plan, plan, before=tiny())
    assert there.changes == ()
    assert there.parts["left out"] == 400_000
    assert there.parts_before["left out"] == 500_000
    assert [one.text for one in there.problem] == ["Order inspection: cost of leaving it out: 9,000 EUR, before 5,000 EUR"]


def test_a_horizon_that_moved_on_keeps_visits_where_they_are() -> None:
    later = _from_tuesday(tiny())
    moved = tuple(replace(visit, day=visit.day - 1) for visit in hand_plan().visits if visit.day > 0)
    there = compare(later, hand_plan(), Plan(moved, ()), before=tiny())
    assert {change.kind for change in there.changes} == {"dropped"}  # only what Monday held
    assert {change.order for change in there.changes} == {"repair", "feeder", "service"}
    assert [one.text for one in there.problem] == ["Days: no longer 2026-03-02"]


def _from_tuesday(p: Problem) -> Problem:
    """The tiny farm without Monday: every day index one less."""

    def on(days: Any) -> tuple[int, ...]:
        return tuple(day - 1 for day in days if day > 0)

    people = tuple(
        replace(
            one,
            shifts=tuple(replace(shift, day=shift.day - 1) for shift in one.shifts if shift.day),
            skills=tuple(replace(held, days=on(held.days)) for held in one.skills),
            fit_days=on(one.fit_days),
            rescue_days=on(one.rescue_days),
        )
        for one in p.people
    )
    days = tuple(Day(d.date, d.start_min - 1440, d.slots, d.first_slot - 20, d.week) for d in p.days[1:])
    return replace(
        p,
        origin="2026-03-03T00:00:00Z",
        days=days,
        turbines=tuple(replace(t, access=t.access[1:]) for t in p.turbines),
        people=people,
        equipment=tuple(replace(e, days=on(e.days)) for e in p.equipment),
        orders=tuple(replace(o, days=on(o.days), due_day=o.due_day - 1) for o in p.orders),
        workable={"calm": pack_members(calm()[:, 20:])},
        stop_mwh={"std": p.stop_mwh["std"][20:]},
        night_mwh={"std": p.night_mwh["std"][1:]},
        price_cents={"hill": p.price_cents["hill"][20:]},
        night_cents={"hill": p.night_cents["hill"][1:]},
    )


def test_who_is_missing_and_what_is_shut_is_told_by_date() -> None:
    changed = with_people(tiny(), ann={"shifts": (Shift(0, 0, 20, 16), Shift(1, 2, 20, 16))}, dia={"fit_days": (0,)})
    changed = with_orders(changed, repair={"days": (2,), "due_day": -3})
    windy = calm()
    windy[:, 40:] = False
    changed = replace(changed, workable={"calm": pack_members(windy)})
    assert [one.text for one in differences(tiny(), changed)] == [
        "Order repair: may be worked on: no longer Mon 2 Mar to Tue 3 Mar; due 2026-02-27, before 2026-03-01",
        "Person ann: on shift: no longer Wed 4 Mar; other hours on Tue 3 Mar",
        "Person dia: certificates valid on: no longer Tue 3 Mar to Wed 4 Mar",
        "Weather calm: workable 0 % of Wed 4 Mar, before 80 %",
    ]


OTHER: dict[str, dict[str, Any]] = {
    "orders": {
        "turbine": "T2", "modes": (Mode(3, (60,)),), "needs": (Need("rope", 1, 1),), "days": (0,), "due_day": 0, "late_cost": 1,
        "left_out_cost": 1, "stops": ("T2",), "pack_min": 5, "equipment": ("crane",), "stopped_between": False,
        "max_gap_days": 1, "after": ("repair",), "after_gap_min": 30, "hand_over_cost": 7, "opens_climbing": True,
        "access": Access("ladder", 9, 9), "ride_along": False, "pins": ((0, 1, 4),), "crew": ((0, ("ann",)),), "label": "x",
        "behind": ("repair",),
    },
    "people": {
        "name": "Anna", "shifts": (), "skills": (), "fit_days": (0,), "rescue_days": (0,), "learner": True,
        "week_left_min": {"2026-W10": 600}, "day_cost": 5,
    },
    "vehicles": {"seats": 3},
    "equipment": {"name": "hoist", "capacity": 2, "days": (0,), "day_cost": 1, "mobilise_cost": 2},
    "turbines": {"site": "dale", "x_km": 1.0, "y_km": 1.0, "access": (Access("none", 0, 0),) * 3, "feeder": "F2"},
    "lodgings": {"x_km": 3.0, "y_km": 3.0, "beds": 1, "night_cost": 1},
}  # fmt: skip


def unchecked(problem: Problem, **changes: Any) -> Problem:
    """A copy with other fields; one that breaks a rule of validate (another site, say) has differences to tell as well."""
    other = object.__new__(Problem)
    for one in fields(Problem):
        object.__setattr__(other, one.name, changes.get(one.name, getattr(problem, one.name)))
    return other


@pytest.mark.parametrize(("listed", "field"), [(kind, name) for kind, names in OTHER.items() for name in names])
def test_no_field_of_a_record_changes_unseen(listed: str, field: str) -> None:
    base = replace(tiny(), lodgings=(Lodging("inn", 5.0, 5.0, 4, 9_000),))
    first, *rest = getattr(base, listed)
    other = unchecked(base, **{listed: (replace(first, **{field: OTHER[listed][field]}), *rest)})
    found = differences(base, other)
    assert len(found) == 1, found
    assert found[0].what == first.id


def test_every_field_has_its_variant() -> None:
    base = replace(tiny(), lodgings=(Lodging("inn", 5.0, 5.0, 4, 9_000),))
    for listed, given in OTHER.items():
        named = {one.name for one in fields(getattr(base, listed)[0])} - {"id", *SILENT}
        assert named == set(given), listed


@pytest.mark.parametrize("record", [Rules(), Weights()])
def test_rules_and_weights_are_told(record: Any) -> None:
    name = "rules" if isinstance(record, Rules) else "weights"
    for one in fields(record):
        was = getattr(getattr(tiny(), name), one.name)
        other = {"hill": 1} if isinstance(was, dict) else was + 0.05 if isinstance(was, float) else was + 1
        changed = unchecked(tiny(), **{name: replace(getattr(tiny(), name), **{one.name: other})})
        assert len(differences(tiny(), changed)) == 1, one.name


def test_more_vehicles_pairs_published_and_prices() -> None:
    told = PublishedVisit("repair", 0, 0, 4, ("ann", "ben"), 1000)
    changed = replace(
        tiny(),
        vehicles=(Vehicle("van", 4), Vehicle("bus", 9)),
        apart=(("ann", "ben"),),
        published=(told,),
        stop_mwh={"std": (1.0,) * 60},
        price_cents={"hill": (7000,) * 60},
        equipment=(*tiny().equipment, Equipment("hoist", "hoist", 1, ALL_DAYS)),
    )
    assert [one.text for one in differences(tiny(), changed)] == [
        "Vehicle car: no longer there",
        "Vehicle bus: new",
        "Equipment hoist: new",
        "Energy std: a turbine that stands loses 60.0 MWh in these days, before 30.0",
        "Price at hill: 70 EUR/MWh in the mean, before 60 EUR",
        "ann and ben: now a pair who must not be in one team",
        "Published visits to keep to: 1, before 0 (0 gone or moved, 1 new or moved)",
    ]
    assert differences(tiny(), tiny()) == ()


def test_other_people_are_told_by_their_names() -> None:
    plan = with_visit(tiny(), hand_plan(), 2, people=("ann", "ben", "dia"))
    there = compare(tiny(), hand_plan(), plan)
    assert [(one.person, one.text) for one in there.people] == [
        ("Cem", "Cem: out on 2 days, before 3 (no longer Tue 3 Mar; 9.0 h away, before 14.0 h)"),
        ("Dia", "Dia: out on 2 days, before 1 (now also Tue 3 Mar; 9.5 h away, before 4.5 h)"),
    ]
