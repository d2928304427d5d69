"""What leaving work out and being late cost where a site says nothing of its own. A planner's judgement, no source. Pure."""

from __future__ import annotations

from collections.abc import Mapping

LEFT_OUT: dict[str, float] = {"statutory": 9_000, "gate": 6_000, "failure": 8_000, "service": 2_500, "minor": 700}
"""Currency, for leaving an order out whose end of tolerance lies inside the horizon; by class of order."""
LATE_A_DAY: dict[str, float] = {"statutory": 900, "gate": 500, "failure": 700, "service": 60, "minor": 15}
"""Currency, for each day after the due date; by class of order."""


def effective(own: Mapping[str, float], usual: Mapping[str, float]) -> dict[str, float]:
    """The value of every class: a site's own, else the usual one. Classes nobody knows are passed over."""
    return {klass: float(own.get(klass, amount)) for klass, amount in usual.items()}
