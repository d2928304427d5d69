"""manage.py bench: the names and cases there are, and one quick measurement."""

from __future__ import annotations

import importlib
import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from scheduling.management.commands.bench import names, table


def test_every_bench_has_cases_and_a_run() -> None:
    assert {"fortnight", "year", "windows"} <= set(names())
    for name in names():
        module = importlib.import_module(f"tests.bench.bench_{name}")
        assert module.CASES
        assert callable(module.run)


def test_windows_for_a_fleet_are_far_faster_than_a_plain_loop() -> None:
    out = StringIO()
    call_command("bench", "windows", "--case", "windows", "--json", stdout=out)
    (row,) = json.loads(out.getvalue())
    assert row["ratio"] > 5  # measured about 40 on a quiet machine


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
