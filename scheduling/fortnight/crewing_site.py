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
    """Equipment at most its capacity at a time; its day rate once a day, and once the price of bringing it."""
    for e, item in enumerate(m.facts.problem.equipment):
        brought = m.model.new_bool_var("") if item.mobilise_cost and e not in m.around.brought else None
        if brought is not None:
            m.cost(brought, float(item.mobilise_cost))
        for nodes in m.nodes.values():
            users = [n for n in nodes if e in n.kind.equipment]
            if users:
                m.model.add_cumulative([n.interval for n in users], [1] * len(users), item.capacity)
                used = m.model.new_bool_var("")
                m.cost(used, float(item.day_cost))
                for n in users:
                    m.model.add_implication(n.present, used)
                if brought is not None:
                    m.model.add_implication(used, brought)


def most_stopped(m: Crewing) -> None:
    """Turbines of a site that stand at a time, during visits or between two of them, each counted once."""
    f = m.facts
    between = _between(m)
    for site, most in f.problem.rules.max_stopped.items():
        here = {t for t, turbine in enumerate(f.problem.turbines) if turbine.site == site}
        for day, nodes in m.nodes.items():
            stops = {t for n in nodes for t in n.kind.stops} | {t for t, d, _ in between if d == day}
            if len(stops & here) > most:
                for slot in range(f.slots[day]):
                    m.model.add(sum(_standing(m, nodes, here, day, slot, between)) <= most)


Between = dict[tuple[int, int, int], list[Any]]
"""(turbine, day, slot) -> literals that are true if the turbine stands there between two visits."""


def _between(m: Crewing) -> Between:
    """A turbine stands from the end of a visit until the next one starts, for orders that keep it stopped."""
    found: Between = {}
    limits = m.facts.problem.rules.max_stopped
    for order, k in m.mode:
        o, t = m.facts.problem.orders[order], m.facts.own[order]
        if not o.stopped_between or m.facts.problem.turbines[t].site not in limits:
            continue
        for visit in range(1, len(o.modes[k].visits_min)):
            before, after = m.by_job.get((order, k, visit - 1), []), m.by_job.get((order, k, visit), [])
            for day in m.nodes:
                for slot in range(m.facts.slots[day]):
                    stands = m.model.new_bool_var("")
                    ended = sum(_by_then(before, day, slot, with_stay=True))
                    m.model.add(stands >= ended - sum(_by_then(after, day, slot, with_stay=False)))
                    found.setdefault((t, day, slot), []).append(stands)
    return found


def _by_then(nodes: list[Node], day: int, slot: int, *, with_stay: bool) -> list[Any]:
    """Start literals of nodes that have begun (with their stay: ended) by the slot."""
    return [
        x
        for n in nodes
        for s, x in zip(n.field.starts.tolist(), n.at, strict=True)
        if (n.day, s + (n.field.slots if with_stay else 0)) <= (day, slot)
    ]


def _standing(m: Crewing, nodes: list[Node], here: set[int], day: int, slot: int, between: Between) -> list[Any]:
    found = []
    for t in sorted(here):
        running = [
            x
            for n in nodes
            if t in n.kind.stops
            for s, x in zip(n.field.starts, n.at, strict=True)
            if s <= slot < s + n.field.slots
        ]
        running += between.get((t, day, slot), [])
        if running:
            stands = m.model.new_bool_var("")
            for x in running:
                m.model.add_implication(x, stands)
            found.append(stands)
    return found
