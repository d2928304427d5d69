"""manage.py fleet: all bases at once, parts that fail, and what its exit code says."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from scheduling import solvers, tasks
from scheduling.builders import fortnight as builder
from scheduling.management.commands import fleet as command
from scheduling.models import Fleet
from tests.farm import Farm
from tests.scheduling.services import scenes


@pytest.fixture
def at_once(farm: Farm, monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts are carried out as they are queued; North comes to the plan by hand, South has no forecast."""

    @contextlib.contextmanager
    def no_worker() -> Iterator[list[Any]]:
        yield []

    list(scenes.orders(farm))
    real: Callable[..., Any] = builder.fortnight_problem
    monkeypatch.setattr(
        builder, "fortnight_problem", lambda **asked: scenes.problem() if asked["base"] == farm.north else real(**asked)
    )
    monkeypatch.setitem(solvers.SOLVERS, "fortnight", scenes.gives(scenes.result(scenes.good_plan())))
    monkeypatch.setattr(command, "embedded_worker", no_worker)
    monkeypatch.setattr("celery.group.delay", lambda self: [tasks.run_solve.apply(one.args) for one in self.tasks])


@pytest.mark.django_db(transaction=True)
def test_one_base_that_fails_is_told_and_the_other_is_planned(at_once: None, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(CommandError, match="1 of 2 parts came to a plan") as ended:
        call_command("fleet", "--first", "2026-06-10", "--days", "2", "--json")
    assert ended.value.returncode == 3
    told = json.loads(capsys.readouterr().out)
    assert [(part["base"], part["state"], part["planned"]) for part in told["parts"]] == [
        ("North", "done", 2),
        ("South", "failed", None),
    ]
    assert "no forecast" in told["parts"][1]["text"]
    assert (told["state"], told["clashes"], told["sums"]["failed"]) == ("done", [], 1)


@pytest.mark.django_db(transaction=True)
def test_named_bases_only_and_all_planned(at_once: None, capsys: pytest.CaptureFixture[str]) -> None:
    call_command("fleet", "--first", "2026-06-10", "--days", "2", "--base", "North")
    out = capsys.readouterr().out
    assert "1 of 1 parts came to a plan. Checked as one: the plans share nobody and nothing." in out
    assert "North: done, 2 planned, 0 left out" in out


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("args", "sentence"),
    [(["--base", "West"], "no base 'West'"), (["--days", "40"], "a fortnight has"), (["--time", "0"], "time_limit_s")],
)
def test_bad_input_is_one_sentence(args: list[str], sentence: str, at_once: None) -> None:
    with pytest.raises(CommandError, match=sentence) as refused:
        call_command("fleet", *args)
    assert refused.value.returncode == 2
    assert not Fleet.objects.exists()
