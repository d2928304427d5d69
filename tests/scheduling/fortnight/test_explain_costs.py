"""What a visit of the tiny farm costs where it stands, and what changed between two plans."""

from __future__ import annotations

from dataclasses import replace

from scheduling.fortnight.explain import compare, why_here
from tests.scheduling.fortnight.farms import hand_plan, tiny, with_visit


def clock(day: int, slot: int) -> str:
    return f"{7 + slot // 2:02}:{30 * (slot % 2):02}"


def test_a_visit_is_priced_by_itself() -> None:
    cost = why_here(tiny(), hand_plan().visits[2], clock)
    assert cost.parts == {
        "lost energy": 8 * 3_000,
        "lateness": 0,
        "likely aborts": 3 * 15_000 // 4,
        "travel": 60 * 3 * 60,
        "teams": 4_000,
        "overtime": 0,
        "equipment": 80_000,
        "hired people": 0,
        "nights away": 0,
    }
    assert (cost.lost_mwh, cost.chance) == (4.0, 0.75)
    assert cost.text == "Tue 3 Mar, 09:30: 75 % chance, 4.0 MWh lost, 1,300 EUR in all."


def test_a_start_that_loses_less_is_named() -> None:
    windy_morning = tuple(2.0 if column % 20 < 10 else 0.5 for column in range(60))
    problem = replace(tiny(), stop_mwh={"std": windy_morning})
    cost = why_here(problem, hand_plan().visits[0], clock)  # slots 1 to 8, T1 and T2
    assert (cost.lost_mwh, cost.best_start, cost.best_lost_mwh) == (28.0, 10, 7.0)
    assert "the start with the least loss that day is 12:00 with 7.0 MWh" in cost.text


def test_the_same_plan_has_not_changed() -> None:
    same = compare(tiny(), hand_plan(), hand_plan())
    assert same.changes == ()
    assert set(same.parts.values()) == {0}
    assert same.text == "nothing changed; 0 EUR less than before."


def test_moved_dropped_new_and_other_people() -> None:
    plan = with_visit(tiny(), hand_plan(), 3, start=6)
    plan = with_visit(tiny(), plan, 1, people=("dia", "cem"))
    plan = with_visit(tiny(), plan, 2, people=("ann", "ben", "dia"))
    plan = replace(plan, visits=plan.visits[1:], left_out=("repair", "feeder"))
    there = compare(tiny(), hand_plan(), plan, clock)
    assert [(change.kind, change.order, change.visit) for change in there.changes] == [
        ("other people", "crane work", 0),
        ("dropped", "feeder", 0),
        ("moved", "inspection", 0),
        ("dropped", "repair", 0),
        ("moved", "service", 1),
    ]
    assert there.changes[0].text == "crane work: still Tue 3 Mar, 09:30, now Ann, Ben, Dia"
    assert there.changes[2].text == "inspection: from Wed 4 Mar, 09:30 to Wed 4 Mar, 10:00"
    assert there.parts["left out"] == 1_000_000
    back = compare(tiny(), plan, hand_plan(), clock)
    assert [change.kind for change in back.changes if change.order == "repair"] == ["new"]
    assert back.parts == {name: -cents for name, cents in there.parts.items()}
    assert there.text.startswith("2 moved, 1 other people, 2 dropped; ")
