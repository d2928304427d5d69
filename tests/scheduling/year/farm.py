"""One tiny round, held in the head, and random ones small enough to count out.

Six weeks from Monday 5 January 2026, two turbines of one site, 100 person-hours a week, two past years, one limit set
that holds half the time in weeks 0 and 1 and always from week 2 on. A stop costs 1 MWh an hour in weeks 0-2 and 0.2 MWh
from week 3 on, at 50.00 a MWh. Each turbine has a service: 40 person-hours, 10 hours stopped, due in week 1, closing in 4.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product

from hypothesis import strategies as st

from scheduling.year.check import check, recomputed_parts
from scheduling.year.plan import Placement, Plan
from scheduling.year.problem import EVERYBODY, Equipment, Item, Problem, Rules, Together, Turbine, Week, Weights
from tests.bench.year_cases import weeks_from

SHARE = (0.5, 0.5, 1.0, 1.0, 1.0, 1.0)
LOST = (1.0, 1.0, 1.0, 0.2, 0.2, 0.2)


def service(turbine: str, **changes: object) -> Item:
    """The service of a turbine, changed as asked."""
    item = Item(
        id=f"{turbine} service",
        turbine=turbine,
        label=f"service of {turbine}",
        effort_person_h=40.0,
        stop_h=10.0,
        limit="climb",
        opens=0,
        due=1,
        closes=4,
        weeks=(0, 1, 2, 3, 4, 5),
        late_cost=1_000,
        left_out_cost=1_000_000,
    )
    return replace(item, **changes)


TINY = Problem(
    name="tiny",
    weeks=weeks_from("2026-01-05", 6, {EVERYBODY: 100.0, "inspector": 20.0}),
    turbines=(Turbine("T1", "north", "type A"), Turbine("T2", "north", "type A")),
    items=(service("T1"), service("T2")),
    scenarios=("2020", "2021"),
    workable_share={"climb": (SHARE, SHARE)},
    lost_mwh_per_stop_h={"type A": (LOST, LOST)},
    price_cents={"north": ((5_000,) * 6,)},
    rules=Rules(fit_share=1.0),
)


def with_items(*items: Item, **changes: object) -> Problem:
    """The tiny round with other items, and changed as asked."""
    return replace(TINY, items=items, **changes)


def laid(problem: Problem, weeks: dict[str, int], with_item: dict[str, str] | None = None) -> Plan:
    """A plan by hand: item -> week, what is not named is left out; parts as the checker reckons them."""
    by = with_item or {}
    placements = tuple(Placement(item.id, weeks[item.id], by.get(item.id, "")) for item in problem.items if item.id in weeks)
    plan = Plan(placements, tuple(item.id for item in problem.items if item.id not in weeks))
    return replace(plan, parts=recomputed_parts(problem, plan))


def every_round(problem: Problem) -> Iterator[Plan]:
    """Every way to place, absorb or leave out each item that breaks no rule; for a handful of items and weeks."""
    choices: list[list[Placement | None]] = []
    for item in problem.items:
        absorbers = ["", *(other.id for other in problem.items if item.id in other.absorbs)]
        choices.append([None, *(Placement(item.id, w, by) for w in item.weeks for by in absorbers)])
    for picked in product(*choices):
        placements = tuple(placed for placed in picked if placed is not None)
        left_out = tuple(i.id for i, placed in zip(problem.items, picked, strict=True) if placed is None)
        plan = Plan(placements, left_out)
        plan = replace(plan, parts=recomputed_parts(problem, plan))
        if not check(problem, plan):
            yield plan


@st.composite
def rounds(draw: st.DrawFn, most_items: int = 4, weeks: int = 3) -> Problem:
    """Random rounds of a few items over a few weeks, with every rule in play now and then."""
    years = draw(st.integers(0, 3))
    share = st.sampled_from([0.0, 0.3, 0.5, 0.8, 1.0])
    hours, cents = st.sampled_from([0.0, 40.0, 80.0]), st.sampled_from([-500, 4000, 9000])
    table = lambda values: tuple(tuple(draw(values) for _ in range(weeks)) for _ in range(years))  # noqa: E731
    turbines = (Turbine("T0", "north", "A"), Turbine("T1", "north", "A"), Turbine("T2", "south", "B"))
    items = tuple(draw(_items(n, weeks)) for n in range(draw(st.integers(1, most_items))))
    items = _with_absorbing(items, draw(st.booleans()))
    first = items[0]
    mate = next((i for i in items[1:] if i.turbine == first.turbine), None)
    together = (Together(first.id, mate.id, min(first.stop_h, mate.stop_h) / 2),) if mate and draw(st.booleans()) else ()
    return Problem(
        name="random",
        weeks=tuple(
            Week(w.label, w.monday, {EVERYBODY: draw(hours), "inspector": draw(st.sampled_from([10.0, 30.0]))})
            for w in weeks_from("2026-12-21", weeks, {})
        ),
        turbines=turbines,
        items=items,
        scenarios=tuple(str(2000 + y) for y in range(years)),
        workable_share={"climb": table(share), "roof": table(share)},
        lost_mwh_per_stop_h={"A": table(st.sampled_from([0.0, 0.4, 2.0])), "B": table(st.sampled_from([0.1, 1.0]))},
        price_cents={"north": (tuple(draw(cents) for _ in range(weeks)),), "south": ((6000,) * weeks,)},
        equipment=(Equipment("crane", tuple(draw(st.sets(st.integers(0, weeks - 1)))), 1, draw(st.sampled_from([0, 20_000]))),),
        together=together,
        rules=Rules(draw(st.sampled_from([0.3, 0.5, 1.0])), {"north": 1} if draw(st.booleans()) else {}),
        weights=Weights(tail_share=draw(st.sampled_from([0.0, 0.1, 1.0])), quantile=draw(st.sampled_from([0.0, 0.5, 0.8]))),
    )  # fmt: skip


@st.composite
def _items(draw: st.DrawFn, n: int, weeks: int) -> Item:
    opens = draw(st.integers(-2, weeks - 1))
    due = opens + draw(st.integers(0, 2))
    closes = due + draw(st.integers(0, 2))
    return Item(
        id=f"I{n}",
        turbine=f"T{draw(st.integers(0, 2))}",
        label="",
        effort_person_h=draw(st.sampled_from([8.0, 20.0, 40.0])),
        stop_h=draw(st.sampled_from([0.0, 4.0, 10.0])),
        limit=draw(st.sampled_from(["climb", "roof"])),
        opens=opens,
        due=due,
        closes=closes,
        weeks=tuple(sorted(draw(st.sets(st.integers(0, weeks - 1))))),
        late_cost=draw(st.sampled_from([0, 5_000])),
        left_out_cost=draw(st.sampled_from([10_000, 400_000])),
        skills=draw(st.sampled_from([{}, {"inspector": 1}])),
        statutory=draw(st.booleans()),
        equipment=draw(st.sampled_from([(), (), ("crane",)])),
        previous=draw(st.one_of(st.none(), st.integers(0, weeks - 1))),
        move_cost=draw(st.sampled_from([0, 7_000])),
    )


def _with_absorbing(items: tuple[Item, ...], wanted: bool) -> tuple[Item, ...]:
    first, others = items[0], items[1:]
    names = tuple(other.id for other in others if other.turbine == first.turbine)
    return (replace(first, absorbs=names), *others) if wanted else items
