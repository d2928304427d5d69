"""Which bases can be solved apart: the connected parts of "may want more of a thing than there is"."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Wanted:
    """A thing that several bases draw on: how many there are, and how many each base could want at most.

    `thing` is its name as planners know it. A base that wants none may stand with 0 or not at all. ValueError for a number
    below 0.
    """

    thing: str
    there: int
    wants: Mapping[str, int]

    def __post_init__(self) -> None:
        if self.there < 0 or any(count < 0 for count in self.wants.values()):
            raise ValueError(f"{self.thing}: how many there are and how many are wanted must be 0 or more")

    @property
    def users(self) -> tuple[str, ...]:
        """Bases that want some, by name."""
        return tuple(sorted(base for base, count in self.wants.items() if count))

    @property
    def is_short(self) -> bool:
        """Whether two bases or more could together want more than there is."""
        return len(self.users) > 1 and sum(self.wants.values()) > self.there


@dataclass(frozen=True)
class Group:
    """Bases that must be planned one after the other, and the things they share; one base alone shares nothing."""

    bases: tuple[str, ...]
    joined_by: tuple[str, ...] = ()


def groups(bases: Sequence[str], wanted: Iterable[Wanted]) -> tuple[Group, ...]:
    """The bases as groups that share nothing with each other: every base in exactly one, groups and bases in the order given.

    Two bases share a thing if both want some and there may not be enough for all (Wanted.is_short); sharing is passed on.
    Wants of bases that are not among `bases` count as use, but join nothing. ValueError for a base named twice.
    """
    if len(set(bases)) != len(bases):
        raise ValueError("a base is named twice")
    short = [one for one in wanted if one.is_short]
    head = {base: base for base in bases}
    for thing in short:
        here = [base for base in thing.users if base in head]
        for base in here[1:]:
            head[_head(head, base)] = _head(head, here[0])
    return tuple(_group(members, short) for members in _members(bases, head))


def _head(head: dict[str, str], base: str) -> str:
    while head[base] != base:
        head[base] = head[head[base]]
        base = head[base]
    return base


def _members(bases: Sequence[str], head: dict[str, str]) -> list[list[str]]:
    found: dict[str, list[str]] = {}
    for base in bases:
        found.setdefault(_head(head, base), []).append(base)
    return list(found.values())


def _group(members: list[str], short: Sequence[Wanted]) -> Group:
    inside = set(members)
    things = sorted({one.thing for one in short if len(inside.intersection(one.users)) > 1})
    return Group(tuple(members), tuple(things))
