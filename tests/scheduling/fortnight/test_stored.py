"""Stored problems: each reads, is solved, and its plan keeps every rule. A complaint about a plan becomes one of them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from scheduling.fortnight.check import check
from scheduling.fortnight.problem import problem_from_json
from scheduling.fortnight.solve import Params, solve
from tests.scheduling.fortnight.farms import tiny

STORED = sorted((Path(__file__).parents[3] / "fixtures" / "problems").glob("*.json"))


@pytest.mark.parametrize("path", STORED, ids=lambda path: path.stem)
def test_a_stored_problem_is_solved_and_keeps_the_rules(path: Path) -> None:
    problem = problem_from_json(json.loads(path.read_text(encoding="utf-8")))
    assert check(problem, solve(problem, Params(time_limit_s=20)).plan) == ()


def test_the_tiny_farm_is_stored_as_it_is_built() -> None:
    stored = next(path for path in STORED if path.stem == "tiny_farm")
    assert problem_from_json(json.loads(stored.read_text(encoding="utf-8"))) == tiny()
