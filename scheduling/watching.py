"""Watching a run from a command until it ends."""

from __future__ import annotations

import time
from collections.abc import Callable

from scheduling.models import Run

LOOK_S = 0.5


def watch(run: Run, most_s: float, say: Callable[[str], None]) -> Run:
    """Tell of each improvement until the run has ended, or `most_s` seconds have passed."""
    told, deadline = None, time.monotonic() + most_s
    while run.is_open and time.monotonic() < deadline:
        time.sleep(LOOK_S)
        run.refresh_from_db(fields=["state", "value", "bound", "gap", "seconds", "text", "status"])
        if run.value is not None and run.value != told:
            told = run.value
            gap = f", gap {run.gap:.1%}" if run.gap is not None and run.bound else ", no bound yet"
            say(f"  {run.seconds or 0:5.1f} s  cost {run.value:,.0f}{gap}")
    run.refresh_from_db()
    return run
