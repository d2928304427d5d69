"""`manage.py solve`: a stored problem from a file, without a database, with exit codes that mean something."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command

from scheduling import solvers
from scheduling.fortnight.check import check
from scheduling.fortnight.plan import plan_from_json
from scheduling.fortnight.problem import Problem, problem_to_json
from tests.scheduling.services import scenes


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """The problem of scenes.py as a file. No test here asks for a database, so touching one fails the test."""
    return write(tmp_path / "problem.json", scenes.problem())


def write(path: Path, problem: Problem) -> Path:
    path.write_text(json.dumps(problem_to_json(problem)), encoding="utf-8")
    return path


def solve(*args: object, **options: Any) -> tuple[int, str, str]:
    """Exit code, output, progress."""
    out, told = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("solve", *map(str, args), stdout=out, stderr=told, **options)
    return int(str(ended.value.code)), out.getvalue(), told.getvalue()


def test_a_plan_is_exit_code_0(file: Path, tmp_path: Path) -> None:
    code, out, told = solve(file, "--time", 10, "--json", "--out", tmp_path / "plan.json")
    data = json.loads(out)
    plan = plan_from_json(json.loads((tmp_path / "plan.json").read_text()))
    assert (code, data["status"], data["violations"]) == (0, "optimal", [])
    assert check(scenes.problem(), plan) == ()
    assert data["value"] == pytest.approx(plan.value / 100)
    assert data["value"] <= scenes.good_plan().value / 100
    assert "value" in told


def test_the_page_says_value_bound_and_parts(file: Path) -> None:
    code, out, _ = solve(file, "--time", 10)
    assert code == 0
    assert "EUR, bound" in out
    assert "lost energy" in out
    assert "0 hard rules broken" in out


def test_nothing_planned_is_exit_code_3(tmp_path: Path) -> None:
    """Leaving both out costs nothing, so nobody goes."""
    free = tuple(replace(order, left_out_cost=0, late_cost=0) for order in scenes.problem().orders)
    code, out, _ = solve(write(tmp_path / "free.json", replace(scenes.problem(), orders=free)), "--json")
    assert (code, json.loads(out)["plan"]["visits"]) == (3, [])


def test_infeasible_is_exit_code_3(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ended = scenes.result(scenes.no_plan(), "infeasible", "Two pins clash.")
    monkeypatch.setitem(solvers.SOLVERS, "fortnight", scenes.gives(ended))
    code, out, _ = solve(file)
    assert (code, out.splitlines()[0]) == (3, "infeasible: Two pins clash.")


def test_progress_goes_to_the_error_stream(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    slow = scenes.Slow(scenes.half_plan(), scenes.result(scenes.good_plan()))
    slow.end.set()
    monkeypatch.setitem(solvers.SOLVERS, "fortnight", scenes.solver(slow.solve))
    code, out, told = solve(file, "--json")
    assert code == 0
    json.loads(out)
    assert f"{scenes.half_plan().value / 100:,.2f}" in told


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("{", "is no JSON"),
        ("[]", "problem: expected an object"),
        ('{"name": "x"}', "is missing"),
        (b"\xff\xfe", "UTF-8"),
    ],
)
def test_bad_files_are_exit_code_2_with_one_sentence(tmp_path: Path, content: str | bytes, sentence: str) -> None:
    path = tmp_path / "bad.json"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    code, out, told = solve(path)
    assert (code, out) == (2, "")
    assert sentence in told
    assert len(told.strip().splitlines()) == 1


def test_a_dangling_id_is_named(tmp_path: Path) -> None:
    data = problem_to_json(scenes.problem())
    data["orders"][1]["turbine"] = "HILL H9"
    path = tmp_path / "dangling.json"
    path.write_text(json.dumps(data), encoding="utf-8")
    code, _, told = solve(path)
    assert code == 2
    assert "HILL H9" in told


@pytest.mark.parametrize("options", [("--time", "0"), ("--time", "nan"), ("--gap", "nan"), ("--gap", "1"), ("--seed", "-1")])
def test_bad_limits_are_exit_code_2(file: Path, options: tuple[str, str]) -> None:
    code, _, told = solve(file, *options)
    assert code == 2
    assert len(told.strip().splitlines()) == 1


def test_a_missing_file_and_a_folder_that_is_not_there(file: Path, tmp_path: Path) -> None:
    assert solve(tmp_path / "none.json")[0] == 2
    assert solve(file, "--time", 5, "--out", tmp_path / "no" / "plan.json")[0] == 2


def test_the_real_command_prints_nothing_but_the_result(file: Path) -> None:
    """In a process of its own: what solver libraries print by themselves must not get into the JSON."""
    argv = [sys.executable, "manage.py", "solve", str(file), "--time", "10", "--json"]
    done = subprocess.run(argv, cwd=settings.BASE_DIR, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["status"] == "optimal"
