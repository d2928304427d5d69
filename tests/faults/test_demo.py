"""manage.py demo from nothing: its own database, its own queue in files, a real worker."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KEYS = {"due", "round", "plan", "lost_energy_mwh", "lost_energy_mwh_due_date_order", "morning"}


def run(var: Path, *args: str) -> subprocess.CompletedProcess[str]:
    """A command of a machine without any environment of ours."""
    clean = {name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "REDIS_URL")}
    env = {**clean, "LULL_VAR_DIR": str(var)}
    command = [sys.executable, "manage.py", *args]
    return subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True, timeout=150, check=False)


@pytest.fixture
def ready(tmp_path: Path) -> Path:
    """A folder whose database is migrated already, where tests/run.sh has one; the first test begins from nothing."""
    migrated = Path(os.environ.get("LULL_TEST_MIGRATED", ""))
    if migrated.is_file():
        shutil.copyfile(migrated, tmp_path / "lull.sqlite3")
    return tmp_path


@pytest.mark.worker
def test_the_demo_does_the_whole_job_and_can_be_done_again(tmp_path: Path) -> None:
    done = run(tmp_path, "demo", "--today", "2026-06-10", "--time", "8", "--json")
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    assert set(report) >= KEYS
    plan = report["plan"]
    assert plan["violations"] == 0
    assert 0 <= plan["bound"] <= plan["value"]
    assert len(plan["visits"]) > 15
    assert all(row["reason"] for row in plan["left_out"])
    assert all(visit["down_by"] >= visit["end"] for visit in plan["visits"])
    assert report["lost_energy_mwh"] < report["lost_energy_mwh_due_date_order"]
    assert {call["verdict"] for call in report["morning"]} <= {"go", "wait", "no-go"}
    stopped = {row["turbine"]: row["stops"] for row in report["due"] if row["state"] == "overdue" and row["stops"]}
    assert stopped == {"LK03": ["riding the lift"], "MO04": ["climbing"]}
    assert sum(report["round"]["by_month"].values()) + len(report["round"]["left_out"]) == report["round"]["items"]

    due = run(tmp_path, "due", "--today", "2026-06-10", "--state", "overdue", "--json")
    assert {row["turbine"] for row in json.loads(due.stdout)["due"]} == {"LK03", "MO04", "LK09"}
    go = run(tmp_path, "go", "--day", plan["visits"][0]["day"], "--json")
    # The demo's forecast is from its own day; seen from the machine's clock it is long stale or yet to come, and so never go.
    assert go.returncode == 3, go.stdout + go.stderr
    assert {call["verdict"] for call in json.loads(go.stdout)["calls"]} == {"no-go"}


@pytest.mark.worker
def test_on_the_machines_own_day_a_plan_can_be_solved_anew(ready: Path) -> None:
    assert run(ready, "demo", "--time", "4", "--json").returncode == 0
    planned = run(ready, "plan", "--time", "4", "--publish", "--json")
    assert planned.returncode == 0, planned.stderr
    plan = json.loads(planned.stdout)
    assert plan["state"] == "published"
    assert all(row["reason"] for row in plan["left_out"])
    refused = run(ready, "plan", "--days", "0")
    assert refused.returncode == 2
    assert "Traceback" not in refused.stderr


def test_a_register_with_something_else_in_it_is_left_alone(ready: Path) -> None:
    assert run(ready, "migrate").returncode == 0
    make = "from planner.models import Base; Base.objects.create(name='Mine', latitude=1, longitude=1, time_zone='UTC')"
    assert run(ready, "shell", "-c", make).returncode == 0
    refused = run(ready, "demo")
    assert refused.returncode == 2
    assert "does not hold only the demo" in refused.stderr


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (["--today", "2026-02-31"], "'2026-02-31' is no day: give one like 2026-03-02."),
        (["--weather", "nowhere.csv"], "give --recipe RECIPE.json beside --weather FILE"),
    ],
)
def test_bad_input_is_one_sentence(tmp_path: Path, args: list[str], sentence: str) -> None:
    refused = run(tmp_path, "demo", *args)
    assert refused.returncode == 2
    assert sentence in refused.stderr
    assert "Traceback" not in refused.stderr
