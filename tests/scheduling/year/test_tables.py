from __future__ import annotations

import numpy as np
import pytest

from scheduling.year.problem import Rules
from scheduling.year.tables import candidate_weeks, left_out_cents, need_fit, tables, undone_h
from tests.scheduling.year.farm import TINY, service, with_items


@pytest.mark.parametrize(
    ("shares", "loads", "undone"),
    [
        ((1.0, 1.0), (60.0, 40.0), 0.0),
        ((1.0, 1.0), (60.0, 41.0), 1.0),
        ((0.4, 1.0), (40.0, 60.0), 0.0),
        ((0.4, 1.0), (50.0, 10.0), 10.0),
        ((0.4, 1.0), (50.0, 70.0), 20.0),
        ((0.4, 0.4), (30.0, 20.0), 10.0),
        ((0.0, 1.0), (5.0, 0.0), 5.0),
        ((0.0, 0.0), (0.0, 0.0), 0.0),
    ],
)
def test_person_hours_undone_of_100(shares: tuple[float, float], loads: tuple[float, float], undone: float) -> None:
    found = undone_h(np.array(shares)[:, None], np.array([100.0]), np.array(loads)[:, None])
    assert found.tolist() == pytest.approx([undone])


@pytest.mark.parametrize(
    ("changes", "weeks"),
    [
        ({}, (0, 1, 2, 3, 4, 5)),
        ({"opens": 1, "due": 2}, (1, 2, 3, 4, 5)),
        ({"statutory": True}, (0, 1, 2, 3, 4)),
        ({"statutory": True, "closes": 9}, (0, 1, 2, 3, 4, 5)),
        ({"statutory": True, "opens": -9, "due": -3, "closes": -1}, (0, 1, 2, 3, 4, 5)),
        ({"weeks": (4, 2)}, (2, 4)),
        ({"weeks": ()}, ()),
        ({"pinned": 3}, (3,)),
    ],
)
def test_weeks_in_which_an_item_may_stand(changes: dict[str, object], weeks: tuple[int, ...]) -> None:
    assert candidate_weeks(service("T1", **changes)) == weeks


def test_leaving_out_what_is_past_its_statutory_close_is_never_cheap() -> None:
    item = service("T1", statutory=True, opens=-9, due=-3, closes=-1, left_out_cost=5)
    assert left_out_cents(with_items(item), item) == 6 * 1_000_000
    assert left_out_cents(TINY, service("T1", left_out_cost=5)) == 5


@pytest.mark.parametrize(("share", "years"), [(0.5, 1), (0.51, 2), (1.0, 2), (0.01, 1)])
def test_years_asked(share: float, years: int) -> None:
    assert need_fit(with_items(service("T1"), rules=Rules(fit_share=share))) == years


def test_a_skill_takes_its_part_of_the_team() -> None:
    t = tables(with_items(service("T1", skills={"inspector": 1}), service("T2", team=4, skills={"inspector": 1})))
    assert t.groups == ("everybody", "inspector")
    assert t.load.tolist() == [[40.0, 20.0], [40.0, 10.0]]
