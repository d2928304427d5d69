"""`manage.py due` as a person and as a script read it."""

from __future__ import annotations

import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from planner.cautions import CAUTION
from planner.management.commands.due import Command
from planner.models import Interval
from tests.farm import Farm


def run(*args: str) -> str:
    out = StringIO()
    call_command("due", *args, stdout=out)
    return out.getvalue()


def rows(*args: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads(run("--json", *args))["due"]
    return found


def test_the_table(farm: Farm) -> None:
    lines = run("--site", "HILL").splitlines()
    assert lines[0].split() == ["site", "turbine", "component", "work", "state", "due", "closes", "days", "over", "stops"]
    assert lines[1].split() == ["HILL", "H1", "lift-12", "overdue", "2026-05-20", "2026-05-20", "21", "lift"]
    assert len(lines) == 1 + 13 + 2
    assert next(line for line in lines if "svc-6" in line).count("svc-6 (done with svc-12)") == 1
    assert next(line for line in lines if "ladder-12" in line).endswith("(climbing)")
    assert next(line for line in lines if " oil " in line).count("2026-06-28 estimated") == 1
    assert lines[-1] == CAUTION
    assert len({line.index("20") for line in lines[1:13]}) == 1  # dates stand in one column


def test_as_data(farm: Farm) -> None:
    answer = json.loads(run("--json"))
    assert answer["caution"] == CAUTION
    assert len(answer["due"]) == 17
    first = answer["due"][0]
    assert first.pop("reason").startswith("Lift inspection (lift-12): due 2026-05-20, overdue by 21 days")
    assert first == {
        "site": "HILL",
        "turbine": "H1",
        "component": None,
        "interval": "lift-12",
        "procedure": "lift-check",
        "state": "overdue",
        "last_done": "2025-05-20",
        "opens": "2026-04-20",
        "due": "2026-05-20",
        "closes": "2026-05-20",
        "days_over": 21,
        "projected": False,
        "statutory": True,
        "stops": ["lift"],
        "can_stop": ["lift"],
        "absorbed_by": None,
    }
    assert [row["component"] for row in answer["due"] if row["component"]] == ["blade 1/3", "blade 2/3", "blade 3/3"]


def test_one_state_one_day(farm: Farm) -> None:
    assert [row["turbine"] for row in rows("--state", "due")] == ["P1"]
    assert [row["turbine"] for row in rows("--state", "overdue", "--today", "2026-06-11")] == ["H1", "P1"]
    # The service that does svc-6 too is not open yet, and still it is named.
    assert [row["absorbed_by"] for row in rows("--state", "not open", "--site", "PLAIN") if row["interval"] == "svc-6"] == [
        "svc-12"
    ]


def test_nothing_due_says_so(farm: Farm) -> None:
    assert run("--state", "late", "--site", "PLAIN").startswith("Nothing falls due.")


def test_a_row_that_makes_no_sense_is_shown(farm: Farm) -> None:
    Interval.objects.filter(code="lift-12").update(early_days=4000)
    assert run("--site", "HILL").splitlines()[1].split() == ["HILL", "H1", "lift-12", "overdue", "no", "date", "lift"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["--site", "DALE"], "--site DALE is no site: give one of HILL, PLAIN."),
        (["--today", "2026-02-31"], "--today 2026-02-31 is no date: give YYYY-MM-DD"),
        (["--today", "10.06.2026"], "is no date"),
        (["--state", "soon"], "--state 'soon' is unknown: give one of not open, open, due, late, overdue."),
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_2(
    farm: Farm, args: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(CommandError) as refusal:
        run(*args)
    assert refusal.value.returncode == 2
    with pytest.raises(SystemExit) as left:
        Command().run_from_argv(["manage.py", "due", *args])
    assert left.value.code == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert words in shown.err
    assert len(shown.err.strip().splitlines()) == 1
