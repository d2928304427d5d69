"""manage.py bench: the names and cases there are, and one quick measurement."""

from __future__ import annotations

import importlib
import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from scheduling.fortnight.plan import Result
from scheduling.management.commands.bench import names, table
from tests.bench import bench_checker, bench_proof
from tests.bench.rule import rule_plan


def test_every_bench_has_cases_and_a_run() -> None:
    assert {"fortnight", "year", "windows", "proof", "checker"} <= set(names())
    for name in names():
        module = importlib.import_module(f"tests.bench.bench_{name}")
        assert module.CASES
        assert callable(module.run)


def test_windows_for_a_fleet_are_far_faster_than_a_plain_loop() -> None:
    out = StringIO()
    call_command("bench", "windows", "--case", "windows", "--json", stdout=out)
    (row,) = json.loads(out.getvalue())
    assert row["ratio"] > 5  # measured about 40 on a quiet machine


def test_the_proofs_count_what_they_prove(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_proof, "PROBLEMS", 3)
    row = bench_proof.run("2 orders", 1)
    assert (row["problems"], row["equal"]) == (3, 3)
    row = bench_checker.compared("few plans", 1, 40)
    assert (row["plans"], row["rules_differ"], row["money_differs"]) == (40, 0, 0)
    assert 0 < row["good"] < 40


def test_a_plan_that_can_be_cheaper_is_found_by_the_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_proof, "solve", lambda problem, params: Result("optimal", "", rule_plan(problem), 0.0, 0.0))
    monkeypatch.setattr(bench_proof, "PROBLEMS", 6)
    row = bench_proof.run("2 orders", 1)
    assert row["dearer"] >= 1
    assert row["dearer"] + row["equal"] == 6


@pytest.mark.parametrize(
    ("args", "sentence"), [(["nothing"], "no bench 'nothing'"), (["year", "--case", "tiny"], "no case 'tiny'")]
)
def test_what_is_not_there_is_named(args: list[str], sentence: str) -> None:
    with pytest.raises(CommandError, match=sentence):
        call_command("bench", *args)


def test_rows_as_a_table() -> None:
    assert table([{"case": "small", "gap": 0.01234}, {"case": "large", "gap": None}]).splitlines() == [
        " case     gap",
        "small  0.0123",
        "large        ",
    ]
