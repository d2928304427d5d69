"""A proven lower bound and whole plans, found by HiGHS in a process of its own beside the search.

A process and not a thread, because HiGHS and the route program would wait for Python's lock all the time. The problem goes in
as JSON, lines of JSON come out: {"bound": cents} and plans as {"teams": [[day, people, [[job, ...], ...]], ...]}, a job being
[order, mode, visit]. Ending it early loses nothing that was said before.

First the model that adds hours up per day (daymodel.py) for a quick bound. Then, where all routes of a day can be counted out,
the master over real people (pool/): its linear optimum, how much of each order that does as {"done": [share, ...]}, whole plans
and a better bound from whole numbers. Else (wide/) the site is cut by day: routes found by prices that the days share, people
counted by number, a bound that the prices prove by themselves, whole plans given to real people week by week, then days and
areas of them cut anew.

All keep the waits between orders (`after_gap_min`) by whole days only: a wait that ends within a day is not seen, so that the
bound may lie lower by what one day of the waiting order costs. Further limits, day weights, several splits and what it costs to
bring equipment are kept in full.

Left out of all models, which keeps the bound valid because none of it is ever below 0: hand-overs (hand_over_cost for each visit
of an order after its first), preferred pairs apart (pair_apart for each pair and day), people taken out of published visits that
stand (crew_cost for each), and, save where routes are counted out, people hired by the day (day_cost for each day they go out).
The parts of a plan of these names tell how much of its gap they can be at most. Rescue cover, which only forbids, is left out
as well. Where there are lodgings, every team may start and sleep at the nearest of base and lodgings for nothing (facts.py,
`nearest`): beds, their price, and who sleeps where are left out. Who is named for a visit counts: its starts are those at which
they are on shift.
"""

from __future__ import annotations

import json
import math
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import highspy

from scheduling.fortnight.board import Board
from scheduling.fortnight.columns import JobKey, Kinds
from scheduling.fortnight.daymodel import DayModel
from scheduling.fortnight.facts import Facts
from scheduling.fortnight.firstplan import first_plan
from scheduling.fortnight.orders import Orders
from scheduling.fortnight.pool.master import PoolMaster
from scheduling.fortnight.pool.sequences import TooMany
from scheduling.fortnight.pool.stage import Stage
from scheduling.fortnight.problem import Problem, problem_from_json, problem_to_json
from scheduling.fortnight.rows import EURO, in_euro, quiet
from scheduling.fortnight.search import Search
from scheduling.fortnight.slotted_bound import SlottedBound
from scheduling.fortnight.slotted_model import slotted_model
from scheduling.fortnight.wide.master import WideMaster
from scheduling.fortnight.wide.stage import WideStage

DAYS_UNTIL = 0.25
"""Share of the time that the day model may take at most."""

MOST_ROUTES = 400_000
"""Sequences of visits of a day and team size that are counted out at most."""

COUNT_UNTIL = 0.45
"""Share of the time within which they must be counted out."""

PATH = re.compile(r"(?:[A-Za-z]:)?[/\\][^\s'\",:;()]+")
"""A path in an error's text; pages tell no folders of the machine."""

TeamKeys = list[tuple[int, list[int], list[list[JobKey]]]]
Say = Callable[[dict[str, Any]], None]


class Bound:
    """The other process, seen from the search: `value` in cents and `teams` (or `runs`) grow until `stop`.

    `counted`: it is past the work that a second core helps with (`hands`). If it ends before it is told to, and not with 0,
    `failure` says how, once `stop` was called.
    """

    def __init__(self, problem: Problem, seconds: float, seed: int, hands: int = 1) -> None:
        self.value = -math.inf
        self.teams: list[TeamKeys] = []
        self.done: list[float] = []
        self.runs: list[list[int]] = []
        self.counted = False
        self.failure = ""
        self._cut = False
        self._errors = tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace")  # noqa: SIM115  # closed by stop
        root = str(Path(__file__).resolve().parents[2])
        path = os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])
        self._process = subprocess.Popen(
            [sys.executable, "-m", "scheduling.fortnight.bound"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._errors,
            text=True,
            env={**os.environ, "PYTHONPATH": path, "OMP_NUM_THREADS": "1"},
        )
        task = json.dumps({"problem": problem_to_json(problem), "seconds": seconds, "seed": seed, "hands": hands})
        self._reader = threading.Thread(target=self._read, args=(task,), daemon=True)
        self._reader.start()

    def _read(self, task: str) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        try:
            self._process.stdin.write(task)
            self._process.stdin.close()
        except OSError:  # it was stopped before it had read its task
            return
        for line in self._process.stdout:
            if not line.startswith("{"):
                continue
            try:
                said = json.loads(line)
            except ValueError:  # it was ended in the middle of a line
                continue
            self.value = max(self.value, said.get("bound", -math.inf))
            self.done = said.get("done", self.done)
            self.counted = said.get("counted", self.counted)
            if "teams" in said:
                self.teams.append(said["teams"])
            if "runs" in said:
                self.runs.append(said["runs"])

    def running(self) -> bool:
        """Whether it may still say something."""
        return self._process.poll() is None

    def cut(self) -> None:
        """End the process because its share of the time is over: what it said stays, and it has not failed."""
        if self.running():
            self._cut = True
            self._process.kill()
            self._process.wait()
        self._reader.join(timeout=1.0)

    def stop(self) -> None:
        """End the process."""
        ended = None if self._cut else self._process.poll()
        self._process.kill()
        self._process.wait()
        self._reader.join(timeout=1.0)
        with self._errors:
            self._errors.seek(0)
            said = self._errors.read()
        if ended:
            self.failure = how_it_ended(ended, said)


def how_it_ended(code: int, errors: str) -> str:
    """The last line of a process's errors, paths cut down to names; without one, the signal or exit code."""
    lines = [line.strip() for line in errors.splitlines() if line.strip()]
    if lines and code > 0:
        return PATH.sub(lambda found: found.group().rstrip("/\\").rsplit("/", 1)[-1].rsplit("\\", 1)[-1], lines[-1])[:200]
    if code < 0:
        return f"killed by signal {-code}" + (", often for want of memory" if code == -signal.SIGKILL else "")
    return f"exit code {code}"


class Bounder:
    """What the process does."""

    def __init__(self, facts: Facts, kinds: Kinds, seconds: float, seed: int, say: Say, hands: int = 1) -> None:
        self.facts, self.kinds, self.seed, self.say, self.hands = facts, kinds, seed, say, hands
        self.began, self.seconds = time.monotonic(), seconds

    def share(self) -> float:
        """Share of the time that is used."""
        return (time.monotonic() - self.began) / self.seconds

    def run(self) -> None:
        """A coarse problem's model whole; else quick bound, routes, whole numbers, and better bounds with what time is left."""
        coarse = slotted_model(self.facts, self.kinds)
        if coarse is not None:
            SlottedBound(coarse, self.seconds, self.seed, self.say).run()
            return
        self.by_day()
        if not self.counted_out():
            WideStage(WideMaster(self.facts, self.kinds, self.seed), self.seed, self.say, self.share, self.seconds).run()

    def counted_out(self) -> bool:
        """All routes counted out, real people (pool/); False where there are too many."""
        try:
            master = PoolMaster(self.facts, self.kinds, self.seed, MOST_ROUTES, lambda: self.share() > COUNT_UNTIL, self.hands)
        except TooMany:
            return False
        finally:
            self.say({"counted": True})
        Stage(master, self.seed, self.say, self.share, self.seconds).run(self._first_board())
        return True

    def by_day(self) -> None:
        """The linear relaxation of the day model."""
        model = DayModel(self.facts, self.kinds)
        highs = quiet(1, self.seed)
        highs.setOptionValue("time_limit", max(0.1, DAYS_UNTIL * self.seconds))
        highs.passModel(in_euro(model.rows.model(0.0, integer=False)))
        highs.run()
        if highs.getModelStatus() == highspy.HighsModelStatus.kOptimal:
            euro = highs.getInfo().objective_function_value
            self.say({"bound": EURO * euro - 1e-6 * abs(EURO * euro)})

    def _first_board(self) -> Board:
        board = Board(self.facts, self.kinds)
        rng = random.Random(self.seed)
        orders = Orders(board, rng)
        first_plan(orders, Search(orders, rng), lambda: False)
        return board


def least(facts: Facts) -> float:
    """The bound before any work: nothing costs less than 0 where no price is below 0."""
    return 0.0 if facts.standing_costs else -1e12


def main() -> None:
    """Entry of the process: a task on standard input, what is found on standard output."""
    task = json.loads(sys.stdin.read())
    facts = Facts(problem_from_json(task["problem"]), nearest=True)

    def say(found: dict[str, Any]) -> None:
        print(json.dumps(found), flush=True)

    Bounder(facts, Kinds(facts), task["seconds"], task["seed"], say, task["hands"]).run()


if __name__ == "__main__":
    main()
