from __future__ import annotations

from dataclasses import replace

import pytest

from scheduling.year.explain import reasons, result_text, warnings_of
from scheduling.year.plan import Plan
from scheduling.year.problem import Equipment, Item, Together
from tests.scheduling.year.farm import TINY, laid, service, with_items

CRANE = (Equipment("crane", (2,)),)


@pytest.mark.parametrize(
    ("item", "week", "sentence"),
    [
        (service("T1"), 3, "2026-W05 costs it least of 6 open weeks: 2.0 MWh lost on average, 6.0 MWh over all of them."),
        (service("T1", pinned=2), 2, "Pinned to 2026-W04."),
        (service("T1", weeks=(2,)), 2, "2026-W04 is the only week in which it may be done."),
        (service("T1", statutory=True, due=0, opens=-5, closes=4, weeks=(0, 2)), 0, "2026-W02 costs it least of 2 open weeks"),
        (service("T1", statutory=True, opens=-5, due=-2, closes=-1), 0, "Its statutory close has passed: as early as possible"),
        (service("T1"), 4, "2026-W05 would cost this item less, but"),
    ],
)
def test_why_an_item_stands_where_it_stands(item: Item, week: int, sentence: str) -> None:
    problem = with_items(item)
    assert sentence in reasons(problem, laid(problem, {"T1 service": week}))["T1 service"]


def test_full_weeks_are_named() -> None:
    items = (service("T1", effort_person_h=60.0), service("T2", effort_person_h=60.0))
    problem = with_items(*items)
    text = reasons(problem, laid(problem, {"T1 service": 3, "T2 service": 4}))["T2 service"]
    assert text == "Every week that would cost it less is full (2026-W05)."


def test_companions_are_named() -> None:
    small = service("T1", id="small", label="oil")
    problem = with_items(service("T1", absorbs=("small",)), small)
    plan = laid(problem, {"T1 service": 3, "small": 3}, {"small": "T1 service"})
    assert reasons(problem, plan)["small"] == "Done with service of T1, which covers it, in 2026-W05."
    paired = replace(with_items(service("T1"), small), together=(Together("T1 service", "small", 2.0),))
    why = reasons(paired, laid(paired, {"T1 service": 4, "small": 4}))
    assert why["T1 service"] == "In one stop with oil in 2026-W06."


@pytest.mark.parametrize(
    ("item", "sentence"),
    [
        (service("T1", weeks=()), "No week is open for it:"),
        (service("T1", weeks=(5,), statutory=True), "No week is open for it by its statutory close:"),
        (service("T1", weeks=(3,), equipment=("crane",)), "Its equipment is not there in any of its weeks"),
        (service("T1", effort_person_h=101.0), "do not fit even into an empty week; its best week takes them in 0 of 2"),
        (service("T1", left_out_cost=100), "Every open week costs more than leaving it out (1 EUR)."),
    ],
)
def test_why_an_item_is_left_out(item: Item, sentence: str) -> None:
    problem = with_items(item, equipment=CRANE)
    assert sentence in reasons(problem, laid(problem, {}))["T1 service"]


def test_left_out_because_the_weeks_are_full() -> None:
    items = (service("T1", effort_person_h=90.0, weeks=(3,)), service("T2", weeks=(3,)))
    problem = with_items(*items)
    assert "Every week open to it is full" in reasons(problem, laid(problem, {"T1 service": 3}))["T2 service"]


def test_every_item_has_a_reason() -> None:
    plan = laid(TINY, {"T1 service": 3})
    assert set(reasons(TINY, plan)) == {"T1 service", "T2 service"}


@pytest.mark.parametrize(
    ("status", "bound", "sentence"),
    [
        ("optimal", 24_000.0, "No round costs less."),
        ("gap reached", 23_760.0, "at most 1.0% above the least possible cost"),
        ("out of time", 12_000.0, "Time ran out after 3 s; the round is at most 50.0% above"),
        ("out of time", float("-inf"), "how far it is from the best is not known"),
        ("stopped", 24_000.0, "Stopped by hand after 3 s"),
    ],
)
def test_each_status_has_its_own_text(status: str, bound: float, sentence: str) -> None:
    plan = laid(TINY, {"T1 service": 3, "T2 service": 3})
    text = result_text(TINY, plan, status, bound, 3.0)
    assert sentence in text
    assert text.startswith("2 items laid into weeks, 0 left out.")


def test_no_round_in_time_is_not_called_impossible() -> None:
    text = result_text(TINY, Plan((), ("T1 service", "T2 service")), "out of time", float("-inf"), 0.5)
    assert text.startswith("No round found in time")
    assert "the last one stays" in text


def test_three_years_are_enough_for_no_warning() -> None:
    three = ("2020", "2021", "2022")
    rows = {"climb": ((1.0,) * 6,) * 3}
    problem = replace(TINY, scenarios=three, workable_share=rows, lost_mwh_per_stop_h={"type A": ((0.2,) * 6,) * 3})
    assert warnings_of(problem) == ()
