"""manage.py solve FILE.json: solve a stored problem, without a database. A complaint becomes a test this way."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand

from scheduling import codec, solvers
from scheduling.management.output import libraries_to_stderr

PLANNED, NOTHING_PLANNED, BAD_INPUT = 0, 3, 2


class BadInput(Exception):
    """One sentence for whoever called."""


class Command(BaseCommand):
    help = (
        "Solve a stored problem (the `problem` of a run) without a database. "
        "Exit code 0: a plan; 3: nothing could be planned; 2: bad input."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """FILE and how to solve it."""
        parser.add_argument("file", help="problem as JSON; - reads standard input")
        parser.add_argument("--year", action="store_true", help="the file holds a year's problem, not a fortnight's")
        parser.add_argument("--time", type=float, default=float(settings.SOLVE_LIMIT_S), help="seconds at most")
        parser.add_argument("--gap", type=float, default=0.01, help="stop at this relative gap")
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--json", action="store_true", help="print the result as JSON")
        parser.add_argument("--out", help="write the plan as JSON to this file")

    def handle(self, *args: Any, **options: Any) -> None:
        """Solve and print; the exit code says what came of it."""
        try:
            solver = solvers.solver_for("year" if options["year"] else "fortnight")
            problem = _read(options["file"], solver)
            limits = _limits(options)
            with libraries_to_stderr():
                result = solver.solve(problem, limits, self._told, lambda: False)
            told = _told_result(solver, problem, result)
            _write(options["out"], told)
        except BadInput as error:
            self.stderr.write(str(error))
            sys.exit(BAD_INPUT)
        self.stdout.write(json.dumps(told, indent=2) if options["json"] else _lines(told, problem))
        sys.exit(PLANNED if told["planned"] else NOTHING_PLANNED)

    def _told(self, step: solvers.Step) -> None:
        value, bound = solvers.money(step.value), solvers.money(step.bound)
        self.stderr.write(f"{step.seconds:7.1f} s   value {_number(value)}   bound {_number(bound)}")


def _read(name: str, solver: solvers.Solver) -> Any:
    try:
        text = sys.stdin.read() if name == "-" else Path(name).read_text(encoding="utf-8")
        return solver.read(json.loads(text))
    except OSError as error:
        raise BadInput(f"{name} cannot be read: {error.strerror or error}.") from None
    except json.JSONDecodeError as error:
        raise BadInput(f"{name} is no JSON: {error}.") from None
    except UnicodeDecodeError:
        raise BadInput(f"{name} is no text in UTF-8: give the problem as JSON.") from None
    except ValueError as error:
        raise BadInput(f"{name}: {error}") from None


def _limits(options: dict[str, Any]) -> solvers.Limits:
    try:
        return solvers.Limits(options["time"], options["gap"], options["seed"], settings.SOLVE_THREADS)
    except ValueError as error:
        raise BadInput(f"{error}.".replace("time_limit_s", "--time")) from None


def _write(name: str | None, told: dict[str, Any]) -> None:
    if not name:
        return
    try:
        Path(name).write_text(json.dumps(told["plan"], indent=2), encoding="utf-8")
    except OSError as error:
        raise BadInput(f"{name} cannot be written: {error.strerror or error}.") from None


def _told_result(solver: solvers.Solver, problem: Any, result: solvers.Result) -> dict[str, Any]:
    plan = solver.write(result.plan)
    found = bool(result.plan.parts) and result.status != "infeasible"
    return {
        "status": result.status,
        "text": result.text,
        "planned": found and bool(plan.get("visits") or plan.get("placements")),
        "value": solvers.money(result.plan.value) if found else None,
        "bound": solvers.money(result.bound) if found else None,
        "gap": result.gap if found else None,
        "seconds": round(result.seconds, 2),
        "parts": {name: cents / 100 for name, cents in result.plan.parts.items()},
        "violations": codec.to_json(solver.check(problem, result.plan)) if found else [],
        "plan": plan,
    }


def _lines(told: dict[str, Any], problem: Any) -> str:
    parts = [f"  {name:<16}{amount:>14,.2f}" for name, amount in told["parts"].items()]
    laid = told["plan"].get("visits", told["plan"].get("placements", []))
    gap = "" if told["gap"] is None else f", gap {told['gap']:.2%}"
    return "\n".join(
        [
            f"{told['status']}: {told['text']}",
            f"value {_number(told['value'])} {problem.currency}, bound {_number(told['bound'])}{gap}, {told['seconds']} s",
            *parts,
            f"{len(laid)} laid, {len(told['plan']['left_out'])} left out, {len(told['violations'])} hard rules broken",
        ]
    )


def _number(value: float | None) -> str:
    return "none yet" if value is None else f"{value:,.2f}"
