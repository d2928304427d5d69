"""One run of the route program: labels forward in time over the useful nodes of a day (see routes.py)."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.facts import Floats, Ints
from scheduling.fortnight.labels import DUE, FAR, RESTED, SHORT, Choice, Masks, by_value, shortened

if TYPE_CHECKING:
    from scheduling.fortnight.routes import Routes

Found = tuple[int, list[int], float]
"""(team kind, nodes in order, reduced cost)."""


class Program:
    """One run over the useful nodes of a day."""

    def __init__(self, routes: Routes, chosen: Ints, cost: Floats) -> None:
        useful = chosen[0]
        self.keep = routes.keep
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
        shape = (routes.slots + 1, 3, teams, len(places), self.keep)
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

    def solve(self, many: int) -> tuple[Floats, list[Found]]:
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
        labels = (
            self._per_target(value),
            self._per_target(self.kept_mask[source]),
            self._per_target(self.kept_first[source]),
            self._per_target(self.kept_from[source]),
        )
        value, mask, first, label = shortened(labels, 2 * self.keep)
        value, mask, first, label = value[where], mask[where], first[where], label[where]
        clash = (mask & self.mask[nodes][:, None, None]) != 0
        if layer == SHORT:
            clash |= self.end[nodes][:, None, None] - first > self.limit
        value = np.where(clash, FAR, value)
        two = shortened((value, mask, first, label), 2)
        value, label = two[0].transpose(2, 1, 0), two[3].transpose(2, 1, 0)
        return Choice(value, label, two[1].transpose(2, 1, 0), two[2].transpose(2, 1, 0))

    def _per_target(self, array: NDArray[Any]) -> NDArray[Any]:
        """[from, to, team, kept] -> [to, team, from x kept]."""
        moved = np.transpose(array, (1, 2, 0, 3))
        return moved.reshape(*moved.shape[:2], -1)

    def _set(self, layer: int, nodes: Ints, choices: list[Choice], slot: int) -> None:
        """The best label of each node, and the second best as a floor that remembers only the node's own orders."""
        together = (
            np.concatenate([c.value for c in choices]).transpose(1, 2, 0),
            np.concatenate([c.mask for c in choices]).transpose(1, 2, 0),
            np.concatenate([c.first for c in choices]).transpose(1, 2, 0),
            np.concatenate([c.label for c in choices]).transpose(1, 2, 0),
        )
        two = shortened(together, 2)
        value, mask = two[0].transpose(2, 0, 1), two[1].transpose(2, 0, 1)
        first, label = two[2].transpose(2, 0, 1), two[3].transpose(2, 0, 1)
        self.own[layer][:, :, nodes] = np.minimum(value + self.cost[:, nodes], FAR)
        self.before[layer][:, :, nodes] = label
        self.own_mask[layer][:, :, nodes] = mask | self.mask[nodes]
        self.own_first[layer][:, :, nodes] = first

    def _keep(self, slot: int, ended: Ints | None) -> None:
        """Merge labels that end now into the kept ones: the few best that differ, and a floor."""
        if slot:
            for array in (self.kept, self.kept_mask, self.kept_first, self.kept_from):
                array[slot] = array[slot - 1]
        if ended is None:
            return
        places, row = np.unique(self.at[ended], return_inverse=True)
        order = np.argsort(row, kind="stable")
        ended, row = ended[order], row[order]
        sizes = np.bincount(row)
        column = self.keep + 2 * (np.arange(len(row)) - np.repeat(np.cumsum(sizes) - sizes, sizes))
        shape = (3, self.cost.shape[0], len(places), self.keep + 2 * int(sizes.max()))
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
        table[..., : self.keep] = old
        table[:, :, row, column] = new[:, 0]
        table[:, :, row, column + 1] = new[:, 1]
        return table

    def _store(self, slot: int, places: Ints, value: Floats, mask: Masks, first: Ints, label: Ints) -> None:
        value, mask, first, label = by_value((value, mask, first, label))
        for i in range(1, min(value.shape[-1], 4 * self.keep)):
            for j in range(max(0, i - 3), i):
                within = ((mask[..., j] & ~mask[..., i]) == 0) & ((first[..., j] >= first[..., i]) | self.timeless)
                value[..., i] = np.where(within, FAR, value[..., i])
        value, mask, first, label = shortened((value, mask, first, label), self.keep)
        self.kept[slot][:, :, places], self.kept_mask[slot][:, :, places] = value, mask
        self.kept_first[slot][:, :, places], self.kept_from[slot][:, :, places] = first, label

    # --- routes -------------------------------------------------------------------------------------------------------

    def _routes(self, total: Floats, many: int) -> list[Found]:
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
