"""manage.py plan: solve a fortnight of a base through the queue, watch it, and publish it if asked."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from datetime import date, timedelta
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from planner.clock import today_at
from planner.errors import PlannerError
from planner.models import Base
from scheduling.choices import USABLE, RunKind
from scheduling.embedded import WorkerDidNotStart, embedded_worker
from scheduling.management.options import base_named, local_day
from scheduling.models import Plan, Run
from scheduling.services.publish import plan_publish
from scheduling.tasks import run_ask
from scheduling.telling import plan_json
from scheduling.watching import watch

PLANNED, NOTHING_PLANNED, BAD_INPUT = 0, 3, 2


class Command(BaseCommand):
    help = "Solve a fortnight of a base. Exit code 0: a plan; 3: none was found; 2: bad input."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which base, from when, how long."""
        parser.add_argument("--base", help="name of the base; not needed where there is one")
        parser.add_argument("--first", type=local_day, help="first day, YYYY-MM-DD; otherwise tomorrow")
        parser.add_argument("--days", type=int, default=14)
        parser.add_argument("--time", type=float, default=float(settings.SOLVE_LIMIT_S), help="seconds at most")
        parser.add_argument("--gap", type=float, default=0.01)
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--publish", action="store_true", help="publish the plan if its check finds nothing")
        parser.add_argument("--json", action="store_true")

    def handle(self, *args: Any, **options: Any) -> None:
        """Ask, watch, draft, publish."""
        try:
            base = base_named(options["base"])
            run = self._solve(base, options)
            if run.state not in USABLE:
                self._tell_failed(run, options["json"])
            plan = Plan.objects.select_related("base", "run").get(run=run)
            if options["publish"]:
                plan = plan_publish(plan=plan, by=None)
        except (PlannerError, WorkerDidNotStart) as error:
            raise CommandError(str(error), returncode=BAD_INPUT) from error
        self.stdout.write(json.dumps(plan_json(plan), indent=1, ensure_ascii=False) if options["json"] else plan_text(plan))

    def _solve(self, base: Base, options: dict[str, Any]) -> Run:
        first: date = options["first"] or today_at(base.zone) + timedelta(days=1)
        params = {"time_limit_s": options["time"], "gap": options["gap"]}
        with embedded_worker(beat=False):
            asked = {"base": base, "kind": RunKind.FORTNIGHT, "first_day": first, "days": options["days"], "by": None}
            return watch(run_ask(**asked, seed=options["seed"], params=params), options["time"] + 120, self._say)

    def _tell_failed(self, run: Run, as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps({"run": run.pk, "state": run.state, "status": run.status, "text": run.text}))
        raise CommandError(f"Run {run.pk} ended as {run.get_state_display()}: {run.text}", returncode=NOTHING_PLANNED)

    def _say(self, text: str) -> None:
        print(text, file=sys.stderr, flush=True)


def plan_text(plan: Plan) -> str:
    """The plan as lines."""
    data = plan_json(plan)
    lines = [f"Plan {plan.pk} ({plan.state}), {plan.first_day} to {plan.last_day}: {plan.run.text}"]
    for row in data["visits"]:
        times = f"{row['start'][11:16]}-{row['end'][11:16]}, down by {row['down_by'][11:16]}"
        lines.append(f"  {row['day']} {row['turbine']:<6} {times} {row['chance']:>4.0%}  {', '.join(row['team'])}")
    lines += [f"  left out {row['order']} {row['label']}: {row['reason']}" for row in data["left_out"]]
    return "\n".join(lines) + "\n"
