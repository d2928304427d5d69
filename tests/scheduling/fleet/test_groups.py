"""Which bases may be solved apart: laws that hold for any sharing, and small cases by hand."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scheduling.fleet.groups import Group, Wanted, groups

BASES = ("A", "B", "C", "D", "E", "F")


@st.composite
def wanting(draw: st.DrawFn) -> list[Wanted]:
    """Up to six things, each there some times and wanted by some bases."""
    wants = st.dictionaries(st.sampled_from(BASES), st.integers(0, 3))
    return [Wanted(f"thing {n}", draw(st.integers(0, 4)), draw(wants)) for n in range(draw(st.integers(0, 6)))]


def linked(one: str, other: str, wanted: list[Wanted]) -> bool:
    """Whether a thing joins the two directly, written out anew."""
    return any(
        thing.wants.get(one, 0) > 0 and thing.wants.get(other, 0) > 0 and sum(thing.wants.values()) > thing.there
        for thing in wanted
    )


def reach(start: str, wanted: list[Wanted]) -> set[str]:
    """Everything joined to a base, by walking."""
    seen, edge = {start}, [start]
    while edge:
        at = edge.pop()
        new = {base for base in BASES if base not in seen and linked(at, base, wanted)}
        seen |= new
        edge += new
    return seen


@given(wanting())
def test_every_base_is_in_one_group_with_exactly_what_it_is_joined_to(wanted: list[Wanted]) -> None:
    found = groups(BASES, wanted)
    assert sorted(base for group in found for base in group.bases) == sorted(BASES)
    for group in found:
        assert all(set(group.bases) == reach(base, wanted) for base in group.bases)


@given(wanting())
def test_groups_share_nothing_short_with_each_other(wanted: list[Wanted]) -> None:
    for one, other in combinations(groups(BASES, wanted), 2):
        assert not any(linked(a, b, wanted) for a in one.bases for b in other.bases)


@given(wanting(), st.permutations(range(6)))
def test_the_order_of_things_changes_nothing_and_bases_keep_theirs(wanted: list[Wanted], order: list[int]) -> None:
    found = groups(BASES, wanted)
    assert groups(BASES, [wanted[n] for n in order if n < len(wanted)]) == found
    assert [group.bases[0] for group in found] == sorted(group.bases[0] for group in found)
    assert all(list(group.bases) == sorted(group.bases) for group in found)


@given(wanting())
def test_more_of_everything_never_joins_more(wanted: list[Wanted]) -> None:
    plenty = [Wanted(one.thing, one.there + 1, one.wants) for one in wanted]
    for group in groups(BASES, plenty):
        assert any(set(group.bases) <= set(wider.bases) for wider in groups(BASES, wanted))


@given(wanting())
def test_a_group_names_what_joins_it_and_a_lone_base_nothing(wanted: list[Wanted]) -> None:
    for group in groups(BASES, wanted):
        assert bool(group.joined_by) == (len(group.bases) > 1)


def test_by_hand() -> None:
    crane = Wanted("crane", 1, {"A": 1, "C": 1})
    filters = Wanted("oil filter", 5, {"C": 3, "D": 3, "E": 0})
    tools = Wanted("torque tool", 9, {"A": 4, "B": 5})
    assert groups(("A", "B", "C", "D", "E"), [tools, filters, crane]) == (
        Group(("A", "C", "D"), ("crane", "oil filter")),
        Group(("B",)),
        Group(("E",)),
    )
    assert groups((), [crane]) == ()


def test_wants_of_a_base_elsewhere_count_but_join_nobody() -> None:
    crane = Wanted("crane", 2, {"A": 1, "B": 1, "elsewhere": 1})
    assert groups(("A", "B"), [crane]) == (Group(("A", "B"), ("crane",)),)
    assert groups(("A",), [crane]) == (Group(("A",)),)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="named twice"):
        groups(("A", "A"), [])
    with pytest.raises(ValueError, match="0 or more"):
        Wanted("crane", -1, {})
