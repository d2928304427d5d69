"""Rules of the crewing model about things: vehicles, climbs, turbines, isolations, equipment, turbines that stand."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from scheduling.fortnight.crewing import Crewing
    from scheduling.fortnight.crewing_rules import Node


def vehicles(m: Crewing) -> None:
    """One vehicle a team, a seat for everybody."""
    seats = [v.seats for v in m.facts.problem.vehicles]
    for nodes in m.nodes.values():
        m.model.add(sum(n.first for n in nodes) <= len(seats))
        for size in sorted(set(seats)):
            larger = sum(s > size for s in seats)
            big = []
            for n in nodes:
                over = m.model.new_bool_var("")
                m.model.add(n.size <= size).only_enforce_if([n.first, ~over])
                big.append(over)
            m.model.add(sum(big) <= larger)


def climbs(m: Crewing) -> None:
    """Visits a person makes on a day, and those by ladder."""
    rules = m.facts.problem.rules
    for nodes in m.nodes.values():
        for person in nodes[0].people:
            m.model.add(sum(n.people[person] for n in nodes) <= rules.climbs_a_day)
            ladder = [n.people[person] for n in nodes if n.field.by == "ladder"]
            m.model.add(sum(ladder) <= rules.ladder_climbs_a_day)


def together(m: Crewing) -> None:
    """Pairs that must be in one team are, when both are out."""
    for a, b in m.facts.together:
        for nodes in m.nodes.values():
            if a in nodes[0].people and b in nodes[0].people:
                for n in nodes:
                    for k in nodes:
                        m.model.add_implication(n.people[a], n.people[b]).only_enforce_if(k.people[b])
                        m.model.add_implication(n.people[b], n.people[a]).only_enforce_if(k.people[a])


def turbines(m: Crewing) -> None:
    """One team per turbine at a time; a visit that stops other turbines overlaps no visit on them."""
    for nodes in m.nodes.values():
        for t in sorted({n.kind.turbine for n in nodes}):
            m.model.add_no_overlap([n.interval for n in nodes if n.kind.turbine == t])
        for a, b in combinations(nodes, 2):
            if a.kind.turbine != b.kind.turbine and (b.kind.turbine in a.kind.stops or a.kind.turbine in b.kind.stops):
                m.model.add_no_overlap([a.interval, b.interval])


def equipment(m: Crewing) -> None:
    """Equipment at most its capacity at a time; its day rate once a day."""
    for e, item in enumerate(m.facts.problem.equipment):
        for nodes in m.nodes.values():
            users = [n for n in nodes if e in n.kind.equipment]
            if users:
                m.model.add_cumulative([n.interval for n in users], [1] * len(users), item.capacity)
                used = m.model.new_bool_var("")
                m.cost(used, float(item.day_cost))
                for n in users:
                    m.model.add_implication(n.present, used)


def most_stopped(m: Crewing) -> None:
    """Turbines of a site that stand at a time, each counted once."""
    f = m.facts
    for site, most in f.problem.rules.max_stopped.items():
        here = {t for t, turbine in enumerate(f.problem.turbines) if turbine.site == site}
        for day, nodes in m.nodes.items():
            if len({t for n in nodes for t in n.kind.stops} & here) > most:
                for slot in range(f.slots[day]):
                    m.model.add(sum(_standing(m, nodes, here, slot)) <= most)


def _standing(m: Crewing, nodes: list[Node], here: set[int], slot: int) -> list[Any]:
    found = []
    for t in sorted(here):
        running = [
            x
            for n in nodes
            if t in n.kind.stops
            for s, x in zip(n.field.starts, n.at, strict=True)
            if s <= slot < s + n.field.slots
        ]
        if running:
            stands = m.model.new_bool_var("")
            for x in running:
                m.model.add_implication(x, stands)
            found.append(stands)
    return found
