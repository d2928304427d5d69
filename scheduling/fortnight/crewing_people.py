"""Rules of the crewing model about who goes with whom: people pinned to visits, hires, preferred pairs, hand-overs, people told.

All of it but the pinned crews is money. Each cost is one Boolean that must be true where the cost arises.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ortools.sat.python import cp_model

if TYPE_CHECKING:
    from scheduling.fortnight.crewing import Crewing
    from scheduling.fortnight.crewing_rules import Node


def crew(m: Crewing) -> None:
    """People pinned to a visit are in its team."""
    for n in m.every:
        for person in m.facts.members_of(n.kind.crew):
            m.model.add(n.people[person] == n.present if person in n.people else n.present == 0)


def told(m: Crewing) -> None:
    """Where a published visit stands still, a price for each of its people who does not come."""
    for n in m.every:
        for start, people, cents in n.field.told:
            at = next(x for slot, x in zip(n.field.starts.tolist(), n.at, strict=True) if slot == start)
            for person in m.facts.members_of(people):
                _pay(m, cents, [at, ~n.people[person]])


def hired(m: Crewing) -> None:
    """A price for each day on which a hired person goes out."""
    company = m.facts.company
    for day, nodes in m.nodes.items():
        for person in m.facts.members_of(company.hired):
            if person in nodes[0].people:
                m.cost(_out(m, day, person), float(company.day_cost[person]))
                m.ties.append(float(company.day_cost[person]))


def pairs_apart(m: Crewing) -> None:
    """A price for each preferred pair and day on which both are out in different teams."""
    company = m.facts.company
    pairs = [(a, b) for a, partners in company.likes.items() for b in m.facts.members_of(partners) if a < b]
    for day, nodes in m.nodes.items():
        for a, b in pairs:
            if a in nodes[0].people and b in nodes[0].people:
                apart = _pay(m, float(company.pair_cents), [])
                both = []
                for n in nodes:
                    same = m.model.new_bool_var("")
                    m.model.add_implication(same, n.begins_with[a])
                    m.model.add_implication(same, n.begins_with[b])
                    both.append(same)
                m.model.add(apart + sum(both) >= _out(m, day, a) + _out(m, day, b) - 1)


def hand_over(m: Crewing) -> None:
    """A price for each visit of an order after the first whose team holds nobody of the visit before."""
    for order, cents in m.facts.company.hand_over.items():
        if m.mode:
            for k, mode in enumerate(m.facts.problem.orders[order].modes):
                for visit in range(1, len(mode.visits_min)):
                    before, now = m.by_job.get((order, k, visit - 1), []), m.by_job.get((order, k, visit), [])
                    _handed(m, cents, m.mode[order, k], before, now)
        else:
            _handed_outside(m, order, cents)


def _handed(m: Crewing, cents: int, when: cp_model.IntVar, before: list[Node], now: list[Node]) -> None:
    """Both visits in the model: somebody is in the team of both, or it costs."""
    kept: list[Any] = []
    for person in range(len(m.facts.problem.people)):
        first = [n.people[person] for n in before if person in n.people]
        second = [n.people[person] for n in now if person in n.people]
        if first and second and not m.facts.learners >> person & 1:
            stays = m.model.new_bool_var("")
            m.model.add(stays <= sum(first))
            m.model.add(stays <= sum(second))
            kept.append(stays)
    _pay(m, cents, [when], kept)


def _handed_outside(m: Crewing, order: int, cents: int) -> None:
    """Days by themselves: the visit before or after stands on another day, with people that are known."""
    for n in m.every:
        for one, k, visit in n.kind.jobs:
            for other in (visit - 1, visit + 1):
                known = m.around.teams.get((order, k, other), 0) & ~m.facts.learners
                if one == order and known:
                    _pay(m, cents, [n.present], [go for person, go in n.people.items() if known >> person & 1])


def _pay(m: Crewing, cents: float, when: list[Any], unless: list[Any] | None = None) -> cp_model.IntVar:
    """A Boolean at this price that must be true if all of `when` and none of `unless` are."""
    paid = m.model.new_bool_var("")
    if when:
        m.model.add_bool_or([paid, *(~x for x in when), *(unless or [])])
    m.cost(paid, float(cents))
    m.ties.append(float(cents))
    return paid


def _out(m: Crewing, day: int, person: int) -> cp_model.IntVar:
    """Whether a person is in a team on the day."""
    if (day, person) not in m.out:
        m.out[day, person] = m.model.new_bool_var("")
        m.model.add(m.out[day, person] == sum(n.begins_with[person] for n in m.nodes[day]))
    return m.out[day, person]
