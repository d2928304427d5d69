"""Runs: asked for, carried out by a worker, stopped, and found again when the worker is lost. The only writer of Run.

create.py    run_create, run_stop                  execute.py   run_execute: claim, solve, end
watch.py     what the solver says, to the row      recover.py   runs_recover: runs whose worker went silent
ending.py    how a run ends, each way with its text
"""

from scheduling.services.runs.create import run_create, run_stop
from scheduling.services.runs.execute import run_claim, run_execute
from scheduling.services.runs.recover import runs_recover

__all__ = ["run_claim", "run_create", "run_execute", "run_stop", "runs_recover"]
