"""What a day's stops hold: turbines, isolations, equipment and the number of turbines that stand, as slot masks."""

from __future__ import annotations

from scheduling.fortnight.board import Stop
from scheduling.fortnight.columns import Kind
from scheduling.fortnight.cover import Reach
from scheduling.fortnight.facts import Facts


class DayUse:
    """Slots (bit s = slot s) in which each turbine is worked on or stopped from elsewhere, equipment and sites are full.

    `reach`: rescue cover that the others need and give, None where it is not asked for.
    """

    def __init__(self, facts: Facts, stops: list[Stop], reach: Reach | None = None) -> None:
        self.reach = reach
        self.on: dict[int, int] = {}
        self.stopped_from_elsewhere: dict[int, int] = {}
        self.users: dict[int, list[int]] = {}
        self._standing: dict[int, int] = {}
        for stop in stops:
            mask = (1 << stop.end) - (1 << stop.start)
            here = stop.kind.turbine
            self.on[here] = self.on.get(here, 0) | mask
            for other in stop.kind.stops:
                self._standing[other] = self._standing.get(other, 0) | mask
                if other != here:
                    self.stopped_from_elsewhere[other] = self.stopped_from_elsewhere.get(other, 0) | mask
            for item in stop.kind.equipment:
                self.users.setdefault(item, []).append(mask)
        self.full_equipment = {e: self._full(masks, facts.problem.equipment[e].capacity) for e, masks in self.users.items()}
        self._by_site(facts)

    def _full(self, masks: list[int], most: int) -> int:
        """Slots in which at least `most` of the masks are set."""
        levels = [0] * most
        for mask in masks:
            for i in range(most):
                levels[i], mask = levels[i] | mask, levels[i] & mask
        return levels[most - 1]

    def _by_site(self, facts: Facts) -> None:
        self.standing: dict[str, list[tuple[int, int]]] = {}
        for turbine, mask in self._standing.items():
            site = facts.problem.turbines[turbine].site
            if site in facts.problem.rules.max_stopped:
                self.standing.setdefault(site, []).append((turbine, mask))

    def site_full(self, facts: Facts, kind: Kind) -> int:
        """Slots in which the kind's stops would stop too many turbines of a site."""
        shut = 0
        for site, most in facts.problem.rules.max_stopped.items():
            own = [t for t in kind.stops if facts.problem.turbines[t].site == site]
            if len(own) > most:
                return -1
            if own:
                others = [mask for turbine, mask in self.standing.get(site, []) if turbine not in own]
                shut |= self._full(others, most - len(own) + 1)
        return shut

    def equipment_cents(self, facts: Facts, kind: Kind, day: int) -> float:
        """Day rates that a visit of this kind adds."""
        return float(sum(facts.problem.equipment[e].day_cost for e in kind.equipment if e not in self.users))


def blocked(facts: Facts, use: DayUse, kind: Kind) -> int:
    """Slots in which a visit of this kind may not run."""
    shut = use.on.get(kind.turbine, 0) | use.stopped_from_elsewhere.get(kind.turbine, 0)
    for other in kind.stops:
        if other != kind.turbine:
            shut |= use.on.get(other, 0)
    for item in kind.equipment:
        shut |= use.full_equipment.get(item, 0)
    if facts.problem.rules.max_stopped:
        shut |= use.site_full(facts, kind)
    return shut
