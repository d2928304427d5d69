"""The crewing core: packed counts against plain counting, and covers that meet what they are asked to meet."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from scheduling.fortnight.teaming import Pool, meets, members_of, scarcities

THINGS, PEOPLE = 4, 6
masks = st.lists(st.integers(0, 2**PEOPLE - 1), min_size=THINGS, max_size=THINGS)
counts = st.lists(st.integers(0, 4), min_size=THINGS, max_size=THINGS)
sets = st.integers(0, 2**PEOPLE - 1)


def test_members_of_a_set() -> None:
    assert members_of(0) == []
    assert members_of(0b10110) == [1, 2, 4]


def test_scarcity_is_demand_over_supply_with_the_number_as_tie_break() -> None:
    assert scarcities([(0b011, 2.0), (0b001, 1.0)], 3) == [2.0, 1.001, 0.002]


@given(masks, counts, sets)
def test_a_packed_comparison_is_a_count_of_each_thing(holders: list[int], count: list[int], team: int) -> None:
    pool = Pool(holders, PEOPLE, [1.0] * PEOPLE)
    packed, need = pool.team(members_of(team)), pool.pack(count)
    missing = [max(0, c - (team & h).bit_count()) for h, c in zip(holders, count, strict=True)]
    assert pool.suits(packed, need) == meets(team, zip(holders, count, strict=True)) == (not any(missing))
    assert pool.short(packed, need) == pool.pack(missing)
    assert pool.things_short(packed, need) == sum(m > 0 for m in missing)


@given(counts, counts)
def test_the_larger_of_two_needs(one: list[int], other: list[int]) -> None:
    pool = Pool([0] * THINGS, PEOPLE, [1.0] * PEOPLE)
    assert pool.larger(pool.pack(one), pool.pack(other)) == pool.pack([max(a, b) for a, b in zip(one, other, strict=True)])


@settings(deadline=None)
@given(masks, counts, sets, sets)
def test_a_cover_meets_the_need_with_nobody_needless(holders: list[int], count: list[int], free: int, team: int) -> None:
    free &= ~team
    pool = Pool(holders, PEOPLE, [1.0] * PEOPLE)
    asked = list(zip(holders, count, strict=True))
    found = pool.cover(pool.pack(count), members_of(free), pool.team(members_of(team)))
    assert (found is not None) == meets(team | free, asked)
    if found is not None:
        chosen = sum(1 << i for i in found)
        assert chosen & ~free == 0
        assert meets(team | chosen, asked)
        assert not any(meets(team | chosen & ~(1 << i), asked) for i in found)


def test_plain_people_go_before_scarce_ones() -> None:
    pool = Pool([0b11], 2, [5.0, 1.0])
    assert pool.cover(pool.pack([1]), [0, 1]) == [1]
