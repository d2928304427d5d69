"""Measure how a fleet scales with workers: the same sites of 30 turbines solved by one worker process, then by two.

Real workers on a database and a queue in files of their own. A part ends when its plan is proven near enough to the best (GAP),
not when a time is up: else two processes that share one core would look twice as fast and solve half as well. `ratio` is by the
clock and means something on a free machine only: `load` is the load before, `cores_1` and `cores_2` how many cores the workers
really had. `ratio_cpu` is by computing time, the same on a busy machine: what two processes would do on two free cores if nothing
were waited for.

From the checkout: `python -m tests.bench.bench_fleet small 1`.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

SITES = {"small": 12, "300": 300}
CASES = tuple(SITES)
GAP, SECONDS = 0.3, 600.0
"""Where a part may end, and the limit that none should need."""

ROOT = Path(__file__).parents[2]
SET_BY_US = ("DATABASE_URL", "REDIS_URL", "LULL_WORKERS", "LULL_SOLVE_THREADS", "LULL_PRODUCTION")


def run(case: str, seed: int, gap: float = GAP) -> dict[str, Any]:
    """One row: times in seconds, memory in MB a worker process (with its bound's), cost in the currency; `ratio` at least 1.8."""
    load = os.getloadavg()[0]
    one, two = measured(SITES[case], seed, gap)
    return {
        "case": case,
        "seed": seed,
        "sites": SITES[case],
        "seconds_1": round(one["seconds"], 1),
        "seconds_2": round(two["seconds"], 1),
        "ratio": round(one["seconds"] / two["seconds"], 3),
        "ratio_cpu": round(2 * one["cpu_s"] / two["cpu_s"], 3),
        "load": round(load, 1),
        "cores_1": round(one["cpu_s"] / one["seconds"], 2),
        "cores_2": round(two["cpu_s"] / two["seconds"], 2),
        "part_cpu_s_1": round(one["cpu_s"] / SITES[case], 2),
        "part_cpu_s_2": round(two["cpu_s"] / SITES[case], 2),
        "peak_mb": round(max(one["peak_mb"], two["peak_mb"])),
        "failed": one["failed"] + two["failed"],
        "clashes": one["clashes"] + two["clashes"],
        "planned_1": one["planned"],
        "planned_2": two["planned"],
        "cost_1": round(one["value"]),
        "cost_2": round(two["value"]),
        "gap_1": one["gap"] and round(one["gap"], 4),
        "gap_2": two["gap"] and round(two["gap"], 4),
    }


def measured(sites: int, seed: int, gap: float) -> list[dict[str, Any]]:
    """Both measurements, by a process of its own in a folder that goes with it."""
    clean = {name: value for name, value in os.environ.items() if name not in SET_BY_US}
    with tempfile.TemporaryDirectory() as folder:
        env = {**clean, "LULL_VAR_DIR": folder, "DJANGO_SETTINGS_MODULE": "planner.project.settings"}
        command = [sys.executable, "-m", "tests.bench.fleet.job", str(sites), str(gap), str(SECONDS), str(seed)]
        done = subprocess.run(command, cwd=ROOT, env=env, stdout=subprocess.PIPE, text=True, check=True)
    told: list[dict[str, Any]] = json.loads(done.stdout.splitlines()[-1])
    return told


if __name__ == "__main__":
    arguments = sys.argv[1:] or ["small"]
    print(json.dumps(run(arguments[0], int(arguments[1]) if len(arguments) > 1 else 1), indent=1))
