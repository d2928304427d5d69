"""When the jobs of one day start: those with the earliest deadline first, each as soon as its team and predecessors let it."""

from __future__ import annotations

from tests.bench.teams2007.numbers import Numbers
from tests.bench.teams2007.reader import DAY


def rescheduled(n: Numbers, group: dict[int, int], due: list[int], order: list[int], base: int) -> dict[int, int] | None:
    """Starts (0..120) of a day's jobs; None if a deadline or the day's end is missed.

    `group`: the team of each job of the day; `due`: latest ends (absolute; the day starts at `base`); `order` breaks ties.
    """
    jobs = sorted(group, key=n.rank.__getitem__, reverse=True)
    latest: dict[int, int] = {}
    for j in jobs:
        end = min(DAY, due[j] - base)
        for s in n.succ[j]:
            if s in group:
                end = min(end, latest[s] - n.duration[s])
        if end < n.duration[j]:
            return None
        latest[j] = end
    jobs.sort(key=lambda j: (latest[j], order[j], n.rank[j]))
    ready: dict[int, int] = {}
    starts: dict[int, int] = {}
    for j in jobs:
        at = ready.get(group[j], 0)
        for p in n.pred[j]:
            if p in group:
                at = max(at, starts[p] + n.duration[p])
        if at + n.duration[j] > min(DAY, due[j] - base):
            return None
        starts[j] = at
        ready[group[j]] = at + n.duration[j]
    return starts
