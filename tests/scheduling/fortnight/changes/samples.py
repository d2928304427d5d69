"""The tiny farm of farms.py with what a register says beside it, one change of each kind, and draws of many."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from scheduling.bits import pack_members
from scheduling.fortnight.changes import Change, Register, limits_asked
from scheduling.fortnight.changes.numbers import WEIGHTS, ChangeWeight, Confidence, LimitChanged, Weight
from scheduling.fortnight.changes.orders import (
    AllowedDays,
    DueDate,
    LeftOutByHand,
    LeftOutCost,
    OrderMode,
    PartsEarlier,
    PinLifted,
)
from scheduling.fortnight.changes.people import PersonAdded, PersonAway, ShiftLonger
from scheduling.fortnight.changes.things import EquipmentDays, MostStopped, TurbineClosed, VehicleAdded, VehicleGone
from scheduling.fortnight.problem import Problem, PublishedVisit
from tests.scheduling.fortnight import farms

DATES = tuple(day.date for day in farms.days())
MON, TUE, WED = DATES


def farm() -> Problem:
    """The tiny farm whose weather key has a limit set, whose inspection waits for parts on Monday, with one published visit."""
    made = farms.tiny()
    told = PublishedVisit("repair", 0, 0, 1, ("ann", "ben"), 10_000, 500)
    orders = tuple(replace(order, window="hill/100 m/calm") for order in made.orders)
    return replace(
        made, orders=orders, workable={"hill/100 m/calm": made.workable["calm"]}, published=(told,),
        rules=replace(made.rules, max_stopped={"hill": 2}),
    )  # fmt: skip


def register() -> Register:
    """Inspection waits for parts on Monday, crane work for the crane on Monday and for crane and a closure on Wednesday."""
    return Register(
        statutory=("inspection",),
        closed={
            "inspection": {"0": ("parts",)},
            "crane work": {"0": ("equipment crane",), "2": ("equipment crane", "closure")},
        },
        waits_for={"inspection": ("filter",)},
        limits={"calm": {"wind": 12.0}},
    )


def register_for(changes: tuple[Change, ...]) -> Register:
    """With tables for the limits these changes ask for: always calm."""
    asked = limits_asked(changes)
    calm = pack_members(farms.calm() | True)
    return replace(register(), made_for=asked, workable={"hill/100 m/calm": calm} if asked else {})


ONE_OF_EACH: tuple[Change, ...] = (
    PersonAway("ann", (MON,)),
    PersonAdded("Eve", "ben", 650.0),
    ShiftLonger("ben", -60, (TUE,)),
    LimitChanged("calm", 14.0),
    Confidence(0.9),
    DueDate("repair", TUE),
    AllowedDays("service", (MON, WED)),
    LeftOutCost("feeder", 123.45),
    OrderMode("crane work", 3),
    LeftOutByHand("feeder"),
    PinLifted("service"),
    PartsEarlier("inspection", MON),
    EquipmentDays("crane", (MON, TUE)),
    VehicleAdded("bus", 9),
    VehicleGone("car"),
    TurbineClosed("T3", (WED,)),
    Weight("overtime", 2.5),
    ChangeWeight(0.5),
    MostStopped("most stopped", 1, "hill"),
)

people = st.sampled_from(("ann", "ben", "cem", "dia"))
order_ids = st.sampled_from(("service", "repair", "crane work", "inspection", "feeder"))
some_days = st.lists(st.sampled_from(DATES), min_size=1, max_size=3, unique=True).map(tuple)
one_change: st.SearchStrategy[Change] = st.one_of(
    st.builds(PersonAway, people, some_days),
    st.builds(PersonAdded, st.sampled_from(("Eve", "Fay")), people, st.integers(0, 900).map(float)),
    st.builds(ShiftLonger, st.sampled_from(("ann", "ben")), st.sampled_from((-90, -30)), some_days),
    st.builds(LimitChanged, st.just("calm"), st.floats(5, 20)),
    st.builds(Confidence, st.floats(0.5, 1)),
    st.builds(DueDate, st.sampled_from(("service", "repair", "feeder")), st.sampled_from(("2026-02-20", MON, "2026-04-01"))),
    st.builds(AllowedDays, order_ids, some_days),
    st.builds(LeftOutCost, order_ids, st.integers(0, 20_000).map(float)),
    st.builds(OrderMode, order_ids, st.integers(2, 4), st.lists(st.integers(30, 300), min_size=1, max_size=2).map(tuple)),
    st.builds(LeftOutByHand, order_ids),
    st.builds(PinLifted, order_ids),
    st.builds(PartsEarlier, st.just("inspection"), st.sampled_from(DATES)),
    st.builds(EquipmentDays, st.just("crane"), some_days),
    st.builds(VehicleAdded, st.sampled_from(("bus", "pick-up")), st.integers(2, 9)),
    st.builds(VehicleGone, st.sampled_from(("van", "car"))),
    st.builds(TurbineClosed, st.sampled_from(("T1", "T2", "T3")), some_days),
    st.builds(Weight, st.sampled_from(tuple(WEIGHTS)), st.integers(0, 100).map(float)),
    st.builds(ChangeWeight, st.floats(0, 5)),
    st.builds(MostStopped, st.just("most stopped"), st.integers(1, 9), st.just("hill")),
)


def deciding_different_things(changes: list[Change]) -> tuple[Change, ...]:
    """Those that decide nothing an earlier one decided already."""
    kept: list[Change] = []
    taken: set[str] = set()
    for one in changes:
        targets = set(one.targets(farm()))
        if not targets & taken:
            kept.append(one)
            taken |= targets
    return tuple(kept)


many: st.SearchStrategy[tuple[Change, ...]] = st.lists(one_change, max_size=8).map(deciding_different_things)
