"""Memory and computing time of a worker's processes, read from /proc (Linux)."""

from __future__ import annotations

import os
import threading
from collections import defaultdict
from pathlib import Path

TICK_S = 1 / os.sysconf("SC_CLK_TCK")
PAGE_MB = os.sysconf("SC_PAGE_SIZE") / 2**20
LOOK_S = 0.2


class Watching:
    """Looks at the pool processes of a worker while the context lasts.

    `peak_mb`: most memory of one pool process together with the processes it started (the bound's), pages they share counted
    twice. `cpu_s`: computing time of all of them.
    """

    def __init__(self, worker: int) -> None:
        self.worker, self.peak_mb, self.cpu_s = worker, 0.0, 0.0
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._keep, daemon=True)

    def __enter__(self) -> Watching:
        self._before = self._computed()
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()
        self.cpu_s = self._computed() - self._before

    def _keep(self) -> None:
        while not self._over.wait(LOOK_S):
            children = _children()
            for process in children[self.worker]:
                family = [process, *_below(process, children)]
                self.peak_mb = max(self.peak_mb, sum(_memory_mb(one) for one in family))

    def _computed(self) -> float:
        """Seconds computed by the pool processes and by what they started and saw end."""
        return sum(_cpu_s(process) for process in _children()[self.worker])


def _stat(process: int) -> list[str]:
    """The fields of /proc/PID/stat after the name; empty once it is gone."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    except (FileNotFoundError, ProcessLookupError):
        return []


def _children() -> defaultdict[int, list[int]]:
    found: defaultdict[int, list[int]] = defaultdict(list)
    for name in os.listdir("/proc"):
        fields = _stat(int(name)) if name.isdigit() else []
        if fields:
            found[int(fields[1])].append(int(name))
    return found


def _below(process: int, children: dict[int, list[int]]) -> list[int]:
    return [one for child in children.get(process, ()) for one in (child, *_below(child, children))]


def _memory_mb(process: int) -> float:
    fields = _stat(process)
    return int(fields[21]) * PAGE_MB if fields else 0.0


def _cpu_s(process: int) -> float:
    fields = _stat(process)
    return sum(int(field) for field in fields[11:15]) * TICK_S if fields else 0.0
