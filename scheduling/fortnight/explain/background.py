"""What stands behind the packed verdicts of a problem: limits, absences, closed days. Made from rows by a builder, optional.

A problem only says that a slot is not workable, a person not on shift, a day not allowed. With its background the reasons say
why; without it they still say what.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

LIFTABLE = ("part", "hold", "closure", "opens", "equipment")
"""Kinds of closed days that somebody can open; a shut gate (lapsed inspection or certificate) is opened by its work only."""

NEVER_RAISED = ("lightning_distance", "lightning_probability")
"""Limits that are not even tried at other values."""


@dataclass(frozen=True, eq=False)
class LimitTable:
    """One limit of a limit set: `holds` bool [members, total slots]. `op` and `value` as it is kept; op "" for daylight."""

    name: str
    op: str
    value: float
    unit: str
    holds: NDArray[np.bool_]

    @property
    def broken(self) -> str:
        """What is the case where it does not hold: "10 min wind at hub above 12 m/s"."""
        if not self.op:
            return "no daylight"
        side = "above" if self.op.startswith("<") else "below"
        return f"{self.name} {side} {self.value:g} {self.unit}"


@dataclass(frozen=True)
class LimitStep:
    """The verdict of a limit set with one limit at another value; `packed` as in Problem.workable. `by`: how much higher (0: not
    told, then it is tried by itself only)."""

    variable: str
    text: str
    packed: str
    by: float = 0.0


@dataclass(frozen=True)
class Shut:
    """Why an order may not be worked on a day. kind: one of LIFTABLE, gate, or several (things of different kinds)."""

    kind: str
    text: str


@dataclass(frozen=True)
class Background:
    """Everything is optional.

    limits    key of Problem.workable -> its limits
    absent    person id -> day index -> why there is no shift, or no valid certificate ("on leave until 8 Mar")
    shut      order id -> day index -> why it may not be worked on that day
    steps     key of Problem.workable -> the same limit set with one limit higher, step by step
    """

    limits: Mapping[str, tuple[LimitTable, ...]] = field(default_factory=dict)
    absent: Mapping[str, Mapping[int, str]] = field(default_factory=dict)
    shut: Mapping[str, Mapping[int, Shut]] = field(default_factory=dict)
    steps: Mapping[str, tuple[LimitStep, ...]] = field(default_factory=dict)


NOTHING_KNOWN = Background()
