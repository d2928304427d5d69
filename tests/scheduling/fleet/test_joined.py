"""The plans of all parts as one: nothing between bases is used twice."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from scheduling.fleet.joined import Joined, PartNeed, Plans, Stay, Stock, joined

MONDAY = date(2026, 6, 8)
EIGHT = datetime(2026, 6, 8, 8, tzinfo=UTC)


def stay(base: str, start_h: float = 0, hours: float = 4, **more: Any) -> Stay:
    """A stay of Monday at a turbine of its base."""
    starts = EIGHT + timedelta(hours=start_h)
    facts: dict[str, Any] = {"people": (f"{base} 1", f"{base} 2"), **more}
    return Stay(base, f"turbine {start_h:g} of {base}", MONDAY, starts, starts + timedelta(hours=hours), **facts)


def test_plans_that_share_nobody_and_nothing() -> None:
    assert joined(Plans([stay("A", vehicle="van 1"), stay("A", 4, vehicle="van 1"), stay("B")])) == Joined()


def test_a_person_and_a_vehicle_go_out_with_one_base_a_day() -> None:
    found = joined(
        Plans([stay("A", people=("Ada", "Ben"), vehicle="van 1"), stay("B", 8, people=("Ada", "Cleo"), vehicle="van 1")])
    )
    assert found.shared == ("Ada", "van 1")
    assert found.clashes == (
        "Ada is planned twice on 2026-06-08: by A and B.",
        "van 1 is planned twice on 2026-06-08: by A and B.",
    )


def test_equipment_at_one_moment_up_to_its_capacity() -> None:
    one, other = stay("A", equipment=("crane",)), stay("B", 3, equipment=("crane",))
    found = joined(Plans([one, other], capacity={"crane": 1}))
    assert found.clashes == (
        "crane is planned for 2 turbines at once on 2026-06-08, from the start at turbine 3 of B: by A and B; it serves 1.",
    )
    assert joined(Plans([one, other], capacity={"crane": 2})) == Joined(shared=("crane",))
    after = stay("B", 4, equipment=("crane",))
    assert joined(Plans([one, after], capacity={"crane": 1})) == Joined(shared=("crane",))


def test_what_one_base_does_alone_is_its_own_checks_business() -> None:
    both = [stay("A", equipment=("crane",)), stay("A", 1, equipment=("crane",))]
    assert joined(Plans(both, capacity={"crane": 1})) == Joined()


def test_parts_by_the_day_they_are_taken() -> None:
    needs = [PartNeed("A", "motor", MONDAY, 1), PartNeed("B", "motor", MONDAY + timedelta(days=3), 1)]
    late, early = ((MONDAY + timedelta(days=n), 1) for n in (4, 3))
    found = joined(Plans(needs=needs, stock={"motor": Stock(1, (late,))}))
    assert found.clashes == ("2 of motor are planned by 2026-06-11, of which 1 are there by then: by A and B.",)
    assert joined(Plans(needs=needs, stock={"motor": Stock(1, (early,))})).clashes == ()
    assert joined(Plans(needs=needs[:1], stock={"motor": Stock(0)})).clashes == ()


@given(st.lists(st.tuples(st.sampled_from("ABC"), st.integers(0, 8), st.integers(1, 5)), max_size=8), st.integers(1, 3))
def test_equipment_against_counting_every_hour(made: list[tuple[str, int, int]], capacity: int) -> None:
    plans = Plans([stay(base, start, hours, equipment=("crane",)) for base, start, hours in made], capacity={"crane": capacity})
    hours = [[base for base, start, length in made if start <= hour < start + length] for hour in range(14)]
    over = any(len(there) > capacity and len(set(there)) > 1 for there in hours)
    assert bool(joined(plans).clashes) == over
