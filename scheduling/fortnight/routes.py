"""The cheapest routes of a day at given prizes for jobs, by a dynamic program over slots and turbines.

A route is a team's day: base, visits, base. The program keeps for each turbine and slot the few cheapest partial routes
(labels) with the orders they have done, so that no order is done twice. Where labels are dropped, the first one dropped
stays as a floor that remembers nothing: values never lie above the true optimum, so they may be used in a bound.

Three layers of labels: `SHORT` routes are back before a break is due; `DUE` ones must still have their break; `RESTED` ones
had it. Not kept here: climbs per day, skills, who goes (counted or crewed elsewhere).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.facts import Facts, Floats, Ints

SHORT, DUE, RESTED = 0, 1, 2
KEEP = 4
FAR = 1e15
Masks = NDArray[np.uint64]


@dataclass(frozen=True)
class DayNodes:
    """Candidates of one day: arrays of the same length, sorted by start."""

    day: int
    kind: Ints
    turbine: Ints
    start: Ints
    slots: Ints
    rest: NDArray[np.bool_]
    team: Ints
    cents: Floats
    chance: Floats


@dataclass(frozen=True)
class Teams:
    """The kinds of teams that are priced together: size, and slots in which they may be away, start of overtime."""

    size: Ints
    start: Ints
    end: Ints
    regular: Ints


@dataclass
class Choice:
    """Labels to go on from: arrays [rank, team, node] of value, label, orders done, first slot out."""

    value: Floats
    label: Ints
    mask: Masks
    first: Ints

    def only(self, where: NDArray[np.bool_]) -> Choice:
        """The same where the mask over nodes holds, FAR elsewhere."""
        return Choice(np.where(where, self.value, FAR), self.label, self.mask, self.first)


class Routes:
    """Prices one day. `best` gives the least reduced cost per team kind and some good routes."""

    def __init__(self, facts: Facts, nodes: DayNodes, teams: Teams, orders: list[tuple[int, ...]]) -> None:
        self.facts, self.nodes, self.teams, self.orders = facts, nodes, teams, orders
        p = facts.problem
        self.slots = facts.slots[nodes.day]
        used = np.unique(nodes.turbine)
        self.place = np.searchsorted(used, nodes.turbine)
        self.hop = np.array(facts.hop_slots)[np.ix_(used, used)]
        minutes = np.array(facts.hop_min)[np.ix_(used, used)]
        self.pause = np.maximum(self.hop, -(-(minutes + p.rules.break_min) // p.slot_min))
        self.travel = minutes * float(p.weights.travel_per_person_min)
        self.base_min = np.array(facts.base_min)[nodes.turbine]
        self.base_slots = np.array(facts.base_slots)[nodes.turbine]
        self.minute = 0.0
        self._group()
        self.first_cents, self.last_cents = self._ends()
        extra = (1.0 - nodes.chance) * p.weights.abort_per_person * np.maximum(0, teams.size[:, None] - nodes.team)
        self.own_cents = np.where(nodes.team[None, :] <= teams.size[:, None], nodes.cents + extra, FAR)
        longest = int((teams.end - teams.start).max(initial=0)) * p.slot_min
        self.long_shifts = longest > 2 * p.rules.break_after_min

    def _group(self) -> None:
        """Nodes of the same orders with the same start and length stand for each other: only the cheapest counts."""
        n = self.nodes
        number: dict[tuple[int, ...], int] = {}
        sets = np.array([number.setdefault(self.orders[k], len(number)) for k in n.kind.tolist()], np.int64)
        key = (sets * 1000 + n.start) * 1000 + n.slots * 2 + n.rest
        self.by_group = np.lexsort((key, n.start))
        self.groups = np.flatnonzero(np.diff(np.append(-1, key[self.by_group])) != 0)
        self.group_rests = n.rest[self.by_group[self.groups]]

    def _ends(self) -> tuple[Floats, Floats]:
        """[teams, nodes]: cents of going out to a node first, and of going home from it; FAR where the shift forbids it."""
        n, t, w, slot = self.nodes, self.teams, self.facts.problem.weights, self.facts.problem.slot_min
        ride = self.base_min[None, :] * t.size[:, None] * float(w.travel_per_person_min)
        end = n.start + n.slots
        out = np.where(n.start - self.base_slots >= t.start[:, None], ride + w.team_day, FAR)
        over = np.maximum(0, end * slot + self.base_min - t.regular[:, None] * slot) * t.size[:, None]
        home = np.where(end + self.base_slots <= t.end[:, None], ride + over * float(w.overtime_per_person_min), FAR)
        return out, home

    # --- the program --------------------------------------------------------------------------------------------------

    def best(self, prize: Floats, many: int, minute: float = 0.0) -> tuple[Floats, list[tuple[int, list[int], float]]]:
        """At these prizes per node: least reduced cost per team kind (0 or less), and up to `many` routes for each.

        A route is (team kind, nodes in order, reduced cost). Team kinds' own prices are added by the caller. `minute` is the
        price of a minute away per person.
        """
        teams = len(self.teams.size)
        cost = self.own_cents - prize[None, :]
        least = np.minimum.reduceat(cost[:, self.by_group], self.groups, axis=1)
        wanted = np.flatnonzero((least.min(axis=0) < 0) | (self.long_shifts & self.group_rests & (least.min(axis=0) < FAR)))
        if not len(wanted):
            return np.zeros(teams), []
        self.minute = minute
        chosen = self._cheapest(cost, least, wanted)
        return _Program(self, chosen, least[:, wanted]).solve(many)

    def _cheapest(self, cost: Floats, least: Floats, wanted: Ints) -> Ints:
        """[teams, groups]: the node that stands for each wanted group."""
        sizes = np.diff(np.append(self.groups, len(self.by_group)))
        spread = np.repeat(np.arange(len(sizes)), sizes)
        chosen = np.zeros(least.shape, np.int64)
        for team in range(len(cost)):
            hit = np.flatnonzero(cost[team, self.by_group] <= least[team, spread])
            chosen[team, spread[hit]] = self.by_group[hit]
        found: Ints = chosen[:, wanted]
        return found


class _Program:
    """One run over the useful nodes of a day."""

    def __init__(self, routes: Routes, chosen: Ints, cost: Floats) -> None:
        useful = chosen[0]
        self.r, self.chosen, self.useful, self.cost = routes, chosen, useful, cost
        n = routes.nodes
        places, self.at = np.unique(routes.place[useful], return_inverse=True)
        self.hop, self.pause = routes.hop[np.ix_(places, places)], routes.pause[np.ix_(places, places)]
        self.travel = routes.travel[np.ix_(places, places)]
        self.start, self.end = n.start[useful], n.start[useful] + n.slots[useful]
        self.rest = n.rest[useful]
        self.mask = self._masks(n.kind[useful])
        teams, count = cost.shape
        self.before = np.full((3, 2, teams, count), -1)
        shape = (routes.slots + 1, 3, teams, len(places), KEEP)
        self.kept = np.full(shape, FAR)
        self.kept_mask = np.zeros(shape, np.uint64)
        self.kept_first = np.zeros(shape, np.int64)
        self.kept_from = np.full(shape, -1)
        self.own = np.full((3, 2, teams, count), FAR)
        self.own_mask = np.zeros((3, 2, teams, count), np.uint64)
        self.own_first = np.zeros((3, 2, teams, count), np.int64)
        self.limit = self._short_slots()
        self.timeless = np.array([False, True, True])[:, None, None]

    def _masks(self, kinds: Ints) -> Masks:
        """A bit per order; beyond 64 orders some are not remembered, which only lowers values."""
        bits: dict[int, int] = {}
        masks = []
        for kind in kinds.tolist():
            mask = 0
            for order in self.r.orders[kind]:
                number = bits.setdefault(order, len(bits))
                mask |= 1 << number if number < 64 else 0
            masks.append(mask)
        return np.array(masks, np.uint64)

    def _short_slots(self) -> int:
        p = self.r.facts.problem
        return int((p.rules.break_after_min - 2 * int(self.r.base_min.min(initial=0))) // p.slot_min)

    def solve(self, many: int) -> tuple[Floats, list[tuple[int, list[int], float]]]:
        """Slot by slot, then the best ways home."""
        by_start = {int(s): np.flatnonzero(self.start == s) for s in np.unique(self.start)}
        by_end = {int(e): np.flatnonzero(self.end == e) for e in np.unique(self.end)}
        for slot in range(self.r.slots + 1):
            self._keep(slot, by_end.get(slot))
            if slot in by_start:
                self._visit(slot, by_start[slot])
        slot_min, size = self.r.facts.problem.slot_min, self.r.teams.size[:, None]
        home = self.r.last_cents[:, self.useful]
        home = home + self.r.minute * size * (self.end * slot_min + self.r.base_min[self.useful])
        total = np.minimum(self.own[SHORT, 0], self.own[RESTED, 0]) + home
        floor = np.minimum(0.0, total.min(axis=1))
        return floor, self._routes(total, many)

    def _visit(self, slot: int, nodes: Ints) -> None:
        """Labels of the nodes that start in this slot."""
        begin = self._begin(slot, nodes)
        from_short, from_due, from_rested = (self._arrive(slot, nodes, layer, self.hop) for layer in (SHORT, DUE, RESTED))
        paused = self._arrive(slot, nodes, DUE, self.pause)
        rest = self.rest[nodes]
        self._set(SHORT, nodes, [begin.only(self.end[nodes] - slot <= self.limit), from_short], slot)
        self._set(DUE, nodes, [begin.only(~rest), from_due.only(~rest)], slot)
        self._set(RESTED, nodes, [begin.only(rest), from_rested, paused, from_due.only(rest)], slot)

    def _begin(self, slot: int, nodes: Ints) -> Choice:
        """Going out from base to these nodes first."""
        value = np.full((2, self.cost.shape[0], len(nodes)), FAR)
        leaves = slot * self.r.facts.problem.slot_min - self.r.base_min[self.useful[nodes]]
        value[0] = self.r.first_cents[:, self.useful[nodes]] - self.r.minute * self.r.teams.size[:, None] * leaves
        shape = value.shape
        return Choice(value, np.full(shape, -1), np.zeros(shape, np.uint64), np.full(shape, slot))

    def _arrive(self, slot: int, nodes: Ints, layer: int, hop: Ints) -> Choice:
        """The two cheapest kept labels per team and node that end early enough and clash with nothing."""
        targets, where = np.unique(self.at[nodes], return_inverse=True)
        when = slot - hop[:, targets]
        ok = when >= 0
        places = np.arange(hop.shape[0])[:, None]
        source = (np.maximum(when, 0), layer, slice(None), places)
        value = self.kept[source] + (self.travel[:, targets, None] * self.r.teams.size)[..., None]
        value = np.where(ok[:, :, None, None], value, FAR)
        value, mask, first, label = (self._per_target(a) for a in (value, self.kept_mask[source], self.kept_first[source], self.kept_from[source]))
        value, mask, first, label = _shortened(value, mask, first, label, 2 * KEEP)
        value, mask, first, label = (a[where] for a in (value, mask, first, label))
        clash = (mask & self.mask[nodes][:, None, None]) != 0
        if layer == SHORT:
            clash |= self.end[nodes][:, None, None] - first > self.limit
        value = np.where(clash, FAR, value)
        two = _shortened(value, np.broadcast_to(mask, value.shape), np.broadcast_to(first, value.shape), label, 2)
        chosen = [np.moveaxis(a, (0, 1, 2), (2, 1, 0)) for a in (two[0], two[3], two[1], two[2])]
        return Choice(chosen[0], chosen[1], chosen[2], chosen[3])

    def _per_target(self, array: NDArray[np.generic]) -> NDArray[np.generic]:
        """[from, to, team, kept] -> [to, team, from x kept]."""
        moved = np.transpose(array, (1, 2, 0, 3))
        return moved.reshape(*moved.shape[:2], -1)

    def _set(self, layer: int, nodes: Ints, choices: list[Choice], slot: int) -> None:
        """The best label of each node, and the second best as a floor that remembers only the node's own orders."""
        value, mask, first, label = (
            np.moveaxis(np.concatenate(arrays), 0, -1)
            for arrays in ([c.value for c in choices], [c.mask for c in choices], [c.first for c in choices], [c.label for c in choices])
        )
        value, mask, first, label = (np.moveaxis(a, -1, 0) for a in _shortened(value, mask, first, label, 2))
        self.own[layer][:, :, nodes] = np.minimum(value + self.cost[:, nodes], FAR)
        self.before[layer][:, :, nodes] = label
        self.own_mask[layer][:, :, nodes] = mask | self.mask[nodes]
        self.own_first[layer][:, :, nodes] = first

    def _keep(self, slot: int, ended: Ints | None) -> None:
        """Merge labels that end now into the kept ones: the KEEP - 1 best that differ, and a floor."""
        if slot:
            for array in (self.kept, self.kept_mask, self.kept_first, self.kept_from):
                array[slot] = array[slot - 1]
        if ended is None:
            return
        places, row = np.unique(self.at[ended], return_inverse=True)
        order = np.argsort(row, kind="stable")
        ended, row = ended[order], row[order]
        sizes = np.bincount(row)
        column = KEEP + 2 * (np.arange(len(row)) - np.repeat(np.cumsum(sizes) - sizes, sizes))
        shape = (3, self.cost.shape[0], len(places), KEEP + 2 * int(sizes.max()))
        names = 2 * (np.arange(3)[:, None, None] * self.cost.shape[1] + ended)
        value = self._padded(shape, FAR, self.kept[slot][:, :, places], self.own[:, :, :, ended], row, column)
        mask = self._padded(shape, 0, self.kept_mask[slot][:, :, places], self.own_mask[:, :, :, ended], row, column)
        first = self._padded(shape, 0, self.kept_first[slot][:, :, places], self.own_first[:, :, :, ended], row, column)
        ranks = np.broadcast_to(np.stack([names, names + 1], axis=1), (3, 2, self.cost.shape[0], len(ended)))
        label = self._padded(shape, -1, self.kept_from[slot][:, :, places], ranks, row, column)
        self._store(slot, places, value, mask, first, label)

    def _padded(self, shape: tuple[int, ...], fill: float, old: Any, new: Any, row: Ints, column: Ints) -> Any:
        """[layer, team, place, label]: what was kept, then both ranks of what ended."""
        table = np.full(shape, fill, old.dtype)
        table[..., :KEEP] = old
        table[:, :, row, column] = new[:, 0]
        table[:, :, row, column + 1] = new[:, 1]
        return table

    def _store(self, slot: int, places: Ints, value: Floats, mask: Masks, first: Ints, label: Ints) -> None:
        order = np.argsort(value, axis=-1, kind="stable")
        value, mask, first, label = (np.take_along_axis(a, order, -1) for a in (value, mask, first, label))
        for i in range(1, min(value.shape[-1], 4 * KEEP)):
            for j in range(max(0, i - 3), i):
                within = ((mask[..., j] & ~mask[..., i]) == 0) & ((first[..., j] >= first[..., i]) | self.timeless)
                value[..., i] = np.where(within, FAR, value[..., i])
        value, mask, first, label = _shortened(value, mask, first, label, KEEP)
        self.kept[slot][:, :, places], self.kept_mask[slot][:, :, places] = value, mask
        self.kept_first[slot][:, :, places], self.kept_from[slot][:, :, places] = first, label

    # --- routes -------------------------------------------------------------------------------------------------------

    def _routes(self, total: Floats, many: int) -> list[tuple[int, list[int], float]]:
        """The best routes that do no order twice, at most one for each last node."""
        found = []
        count = self.cost.shape[1]
        for team in range(total.shape[0]):
            taken = 0
            for last in np.argsort(total[team])[: 4 * many]:
                if total[team, last] >= -1e-3 or taken >= many:
                    break
                layer = SHORT if self.own[SHORT, 0, team, last] <= self.own[RESTED, 0, team, last] else RESTED
                nodes, label = [], 2 * (layer * count + int(last))
                while label >= 0:
                    node = label // 2 % count
                    nodes.append(node)
                    label = int(self.before[label // 2 // count, label % 2, team, node])
                orders = [o for i in nodes for o in self.r.orders[int(self.r.nodes.kind[self.useful[i]])]]
                if len(set(orders)) == len(orders):
                    found.append((team, [int(self.chosen[team, i]) for i in reversed(nodes)], float(total[team, last])))
                    taken += 1
        return found


def _shortened(value: Floats, mask: Masks, first: Ints, label: Ints, keep: int) -> tuple[Floats, Masks, Ints, Ints]:
    """The `keep` cheapest labels of the last axis. The last of them stands for all that are dropped: it remembers only the
    orders that every one of these has done, and the latest of their first slots, so that it forbids nothing they could do."""
    order = np.argsort(value, axis=-1, kind="stable")
    value, mask, first, label = (np.take_along_axis(a, order, -1) for a in (value, mask, first, label))
    if value.shape[-1] > keep:
        real = value[..., keep - 1 :] < FAR / 2
        everything = np.uint64(2**64 - 1)
        common = np.bitwise_and.reduce(np.where(real, mask[..., keep - 1 :], everything), axis=-1)
        latest = np.where(real, first[..., keep - 1 :], 0).max(axis=-1)
        value, mask, first, label = (a[..., :keep].copy() for a in (value, mask, first, label))
        mask[..., -1], first[..., -1] = common, latest
    return value, mask, first, label
