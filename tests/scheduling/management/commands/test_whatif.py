"""`manage.py whatif`: list, new, change, solve, compare, publish, throw-away, with exit codes that mean something."""

from __future__ import annotations

import contextlib
import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from scheduling.management.what_if_actions import solving
from scheduling.models import Plan, Run, WhatIf
from tests.farm import Farm
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs.scenes import AWAY, CLOSED, HIRED, solved, told

NORTH = ("--base", "North")


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with W-1 and W-2, H1's lift inspected and a calm forecast."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    return farm


def whatif(*words: str) -> str:
    """Its output."""
    out = io.StringIO()
    call_command("whatif", *words, *NORTH, stdout=out)
    return out.getvalue()


def refused(*words: str) -> CommandError:
    with pytest.raises(CommandError) as error:
        whatif(*words)
    return error.value


def test_new_change_list_throw_away(rows: Farm, tmp_path: Path) -> None:
    assert whatif("list") == "North has no what-if open.\n"
    (tmp_path / "changes.json").write_text(json.dumps([AWAY]), encoding="utf-8")
    days = ("--first", "2026-06-10", "--days", "2")
    assert "  1. Ada away Wed 10 Jun\n" in whatif("new", "ill", *days, "--file", str(tmp_path / "changes.json"))
    text = whatif("change", "ill", "--add", json.dumps(CLOSED), "--remove", "1")
    assert text == "ill (open), 2026-06-10, 2 days, not solved\n  1. HILL H1 closed Wed 10 Jun\n"
    assert "HILL H1 closed" in whatif("new", "again", *days, "--like", "ill")
    assert "again (thrown away)" in whatif("throw-away", "again")
    data = json.loads(whatif("list", "--json"))
    assert [(one["name"], one["changes"], one["value"]) for one in data] == [("ill", [CLOSED], None)]
    assert json.loads(whatif("throw-away", "ill", "--json"))["state"] == "thrown away"
    assert whatif("list") == "North has no what-if open.\n"
    assert "ill (thrown away)" in whatif("list", "--all")


def test_solve_watches_and_tells(rows: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    @contextlib.contextmanager
    def no_worker(beat: bool) -> Iterator[None]:
        yield

    def ended(run: Run, most_s: float, say: Any) -> Run:
        run.state, run.best, run.value = "done", {}, 5.0
        run.save()
        WhatIf.objects.filter(runs=run).update(result=run)
        return run

    whatif("new", "calm", "--first", "2026-06-10", "--days", "2")
    monkeypatch.setattr(solving, "embedded_worker", no_worker)
    monkeypatch.setattr(solving, "watch", ended)
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", lambda pk: None)
    assert "cost 5" in whatif("solve", "calm", "--time", "20")
    assert Run.objects.get().params["time_limit_s"] == 20
    monkeypatch.setattr(solving, "watch", lambda run, most_s, say: run)
    error = refused("solve", "calm")
    assert (error.returncode, "ended as queued" in str(error)) == (3, True)


def test_compare_with_the_published_plan(rows: Farm) -> None:
    told(rows)
    solved(rows, CLOSED)
    text = whatif("compare", "less wind")
    assert "never authorises" in text
    assert "orders planned                                       1.0                   2.0" in text
    assert "less wind: new: W-2: new on" in text
    assert "left out W-2 W-2: No room." in text
    data = json.loads(whatif("compare", "published", "less wind", "--json"))
    assert [side["side"] for side in data["sides"]] == ["published", f"what-if-{WhatIf.objects.get().pk}"]


def test_publish_and_what_to_change_first(rows: Farm) -> None:
    rows.people["Ben"].absences.create(first_day=scenes.FIRST, last_day="2026-06-12")
    solved(rows, HIRED, {"kind": "person away", "person": "Cleo", "days": ["2026-06-10", "2026-06-11"]})
    error = refused("publish", "less wind")
    assert (error.returncode, "enter Eve as a technician" in str(error)) == (3, True)
    solved(rows, CLOSED, {"kind": "person added", "person": "Fay", "like": "Ada"}, name="unused")
    rows.people["Ben"].absences.all().delete()
    solved(rows, CLOSED, name="good")
    assert "What-if good is published as plan" in whatif("publish", "good")
    assert Plan.objects.get().state == "published"


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("change", "nothing", "--remove", "1"), "North has no open what-if 'nothing'; open are: none."),
        (("new", " "), "name is"),
        (("new", "x", "--days", "99"), "days is 99"),
        (("new", "x", "--file", "/nowhere.json"), "cannot be read"),
        (("new", "x", "--first", "2026-06-10", "--add", '{"kind": "moon"}'), "is no kind of change"),
        (("compare", "moon", "sun"), "'moon' names no plan"),
    ],
)
def test_bad_input_is_exit_code_2_and_a_sentence(words: tuple[str, ...], sentence: str, rows: Farm) -> None:
    error = refused(*words)
    assert error.returncode == 2
    assert sentence in str(error)


def test_what_is_no_json_is_refused_by_the_parser(rows: Farm) -> None:
    with pytest.raises(CommandError, match="is no JSON"):
        whatif("change", "x", "--add", "{kind}")
