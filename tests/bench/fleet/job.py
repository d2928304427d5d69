"""The process that measures: `python -m tests.bench.fleet.job COUNT GAP SECONDS SEED`, its folder set by bench_fleet.

Prints one line of JSON: a measurement for each number of worker processes, the same fleet each time.
"""

from __future__ import annotations

import json
import os
import sys
import time
from typing import Any

import django

django.setup()

from django.core.management import call_command  # noqa: E402

from scheduling import embedded  # noqa: E402
from scheduling.choices import OPEN  # noqa: E402
from scheduling.embedded import embedded_worker  # noqa: E402
from scheduling.models import Fleet  # noqa: E402
from scheduling.selectors.fleets import fleet_parts, sums_of  # noqa: E402
from scheduling.services.fleets import fleet_create  # noqa: E402
from scheduling.tasks import fleet_queue  # noqa: E402
from tests.bench.fleet.measure import Watching  # noqa: E402
from tests.bench.fleet.rows import DAYS, FIRST, freeze, lay  # noqa: E402

PROCESSES = (1, 2)
embedded.READY_S = 600.0  # on a machine full of other work a worker takes its time to start
LOOK_S = 0.1


def measured(problems: dict[int, Any], processes: int, limits: dict[str, Any], seed: int) -> dict[str, Any]:
    """The fleet solved by so many worker processes: from the moment it is queued until it is closed."""
    fleet = fleet_create(first_day=FIRST, days=DAYS, by=None, seed=seed, params=limits)
    freeze(fleet, problems)
    os.environ["LULL_WORKERS"] = str(processes)
    with embedded_worker(beat=False) as children:
        assert children[0].process is not None
        with Watching(children[0].process.pid) as seen:
            began = time.monotonic()
            fleet_queue(fleet)
            _until_closed(fleet, len(problems))
            took = time.monotonic() - began
    sums = sums_of(fleet_parts(fleet))
    return {
        "seconds": took,
        "cpu_s": seen.cpu_s,
        "peak_mb": seen.peak_mb,
        "failed": sums.failed,
        "planned": sums.planned,
        "value": sum(one.value for one in sums.money),
        "gap": max((one.gap for one in sums.money if one.gap is not None), default=None),
        "clashes": len(fleet.clashes),
    }


def _until_closed(fleet: Fleet, count: int) -> None:
    told = 0
    while fleet.is_open:
        time.sleep(LOOK_S)
        ended = count - fleet.parts.filter(state__in=OPEN).count()
        if ended >= told + 10:
            told = ended
            print(f"  {ended} of {count} parts have ended", file=sys.stderr, flush=True)
        fleet.refresh_from_db()


def main(count: int, limits: dict[str, Any], seed: int) -> list[dict[str, Any]]:
    """All measurements."""
    call_command("migrate", verbosity=0)
    problems = lay(count, seed)
    return [measured(problems, processes, limits, seed) for processes in PROCESSES]


if __name__ == "__main__":
    gap, seconds = float(sys.argv[2]), float(sys.argv[3])
    print(json.dumps(main(int(sys.argv[1]), {"gap": gap, "time_limit_s": seconds}, int(sys.argv[4]))))
