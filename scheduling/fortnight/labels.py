"""Labels of partial routes: value, orders done (a bit each), first slot out, name. Arrays of the same shape, sorted by value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scheduling.fortnight.facts import Floats, Ints

SHORT, DUE, RESTED = 0, 1, 2
KEEP = 4
"""Labels kept per turbine and slot at first; more make the program slower and its values truer."""
FAR = 1e15
Masks = NDArray[np.uint64]


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


Labels = tuple[Floats, Masks, Ints, Ints]
"""Value, orders done, first slot out, name: arrays of the same shape."""


def by_value(labels: Labels) -> Labels:
    """Labels by value along the last axis."""
    order = np.argsort(labels[0], axis=-1, kind="stable")
    width = order.shape[-1]
    flat = order.reshape(-1, width) + (np.arange(order.size // width) * width)[:, None]

    def moved(array: NDArray[Any]) -> NDArray[Any]:
        found: NDArray[Any] = np.ascontiguousarray(array).reshape(-1)[flat].reshape(order.shape)
        return found

    return moved(labels[0]), moved(labels[1]), moved(labels[2]), moved(labels[3])


def shortened(labels: Labels, keep: int) -> Labels:
    """The `keep` cheapest labels of the last axis. The last of them stands for all that are dropped: it remembers only the
    orders that every one of these has done, and the latest of their first slots, so that it forbids nothing they could do."""
    value, mask, first, label = by_value(labels)
    if value.shape[-1] > keep:
        real = value[..., keep - 1 :] < FAR / 2
        everything = np.uint64(2**64 - 1)
        common = np.bitwise_and.reduce(np.where(real, mask[..., keep - 1 :], everything), axis=-1)
        latest = np.where(real, first[..., keep - 1 :], 0).max(axis=-1)
        value, mask = value[..., :keep].copy(), mask[..., :keep].copy()
        first, label = first[..., :keep].copy(), label[..., :keep].copy()
        mask[..., -1], first[..., -1] = common, latest
    return value, mask, first, label
