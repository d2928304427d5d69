"""Runs: complete courses of an order (mode, and day and start of each visit), where a problem is coarse enough to list them all.

Also clusters of places: a team that works in a cluster on a day cannot reach any other on that day, so teams of a day are
teams of one cluster.
"""

from __future__ import annotations

from dataclasses import dataclass

from scheduling.fortnight.columns import JobKey, Kind, Kinds
from scheduling.fortnight.facts import Facts

MOST_RUNS = 60_000
MOST_SLOTS = 12
"""Slots a day up to which a problem is coarse."""

Stay = tuple[Kind, int, int]
"""(kind, day, start) of one visit."""


@dataclass(frozen=True)
class Run:
    """One way to do a whole order; `cents` are those of its visits' fields."""

    order: int
    stays: tuple[Stay, ...]
    cents: float


def runs_of(facts: Facts, kinds: Kinds) -> list[Run] | None:
    """Every run of every order; None where there are too many, orders may ride along, or teams sleep out."""
    if max(facts.slots) > MOST_SLOTS or any(kinds.mates) or facts.problem.lodgings:
        return None
    found: list[Run] = []
    for order in range(len(facts.problem.orders)):
        modes: dict[int, list[JobKey]] = {}
        for key in kinds.job_keys(order):
            modes.setdefault(key[1], []).append(key)
        for jobs in modes.values():
            if not _grow(facts, kinds, order, jobs, (), 0.0, found):
                return None
    return found


def _grow(
    facts: Facts, kinds: Kinds, order: int, jobs: list[JobKey], stays: tuple[Stay, ...], cents: float, found: list[Run]
) -> bool:
    """Add every run that begins with these stays; False when there are too many."""
    if len(stays) == len(jobs):
        found.append(Run(order, stays, cents))
        return len(found) <= MOST_RUNS
    kind, gap = kinds.get((jobs[len(stays)],)), facts.problem.orders[order].max_gap_days
    for day, field in kind.fields.items():
        if stays and (day <= stays[-1][1] or (gap is not None and day > stays[-1][1] + gap)):
            continue
        for start, own in zip(field.starts.tolist(), field.cents.tolist(), strict=True):
            if not _grow(facts, kinds, order, jobs, (*stays, (kind, day, start)), cents + own, found):
                return False
    return True


def clusters_of(facts: Facts) -> list[int] | None:
    """The cluster of each turbine; None where ways inside a cluster take time, or work in one stops turbines of another."""
    own = sorted(set(facts.own))
    span = max((s.end - s.start for shifts in facts.shift for s in shifts.values()), default=0)
    cluster = list(range(len(facts.problem.turbines)))
    for i, a in enumerate(own):
        for b in own[i + 1 :]:
            hop = facts.hop_slots[a][b]
            if 2 + hop + facts.base_slots[a] + facts.base_slots[b] <= span:
                if hop:
                    return None
                low, high = sorted((cluster[a], cluster[b]))
                cluster = [low if c == high else c for c in cluster]
    stops = [(facts.own[i], facts.turbine[t]) for i, order in enumerate(facts.problem.orders) for t in order.stops]
    return cluster if all(cluster[a] == cluster[b] for a, b in stops) else None
