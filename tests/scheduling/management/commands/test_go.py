"""manage.py go on the tiny farm."""

from __future__ import annotations

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from scheduling.models import Call, Visit
from tests import farm as rows
from tests.scheduling.services.test_dispatch import forecast, visit  # noqa: F401  (a fixture)


def go(*args: str) -> str:
    """What the command prints."""
    out = StringIO()
    call_command("go", "--base", "North", *args, stdout=out)
    return out.getvalue()


def test_it_says_go_with_times_limit_and_caution(farm: rows.Farm, visit: Visit) -> None:  # noqa: F811
    forecast(farm, [3.0] * 24)
    text = go()
    assert "GO     H1     start 10:00, down by" in text
    assert "of <= 12 m/s" in text
    assert "never authorises" in text
    assert not Call.objects.exists()


def test_as_data(farm: rows.Farm, visit: Visit) -> None:  # noqa: F811
    forecast(farm, [3.0] * 24)
    (call,) = json.loads(go("--json", "--keep"))["calls"]
    assert call["verdict"] == "go"
    assert call["start"] == "2026-06-10T10:00:00+02:00"
    assert Call.objects.count() == 1


def test_nobody_goes_is_exit_code_3(farm: rows.Farm, visit: Visit) -> None:  # noqa: F811
    forecast(farm, [21.0] * 24)
    with pytest.raises(SystemExit) as ended:
        go()
    assert ended.value.code == 3


@pytest.mark.parametrize(
    ("args", "sentence"),
    [(["--day", "2026-07-01"], "No plan is published"), (["--base", "West"], "There is no base 'West'; known are North, South")],
)
def test_bad_input_is_exit_code_2_with_a_sentence(farm: rows.Farm, args: list[str], sentence: str) -> None:
    with pytest.raises(CommandError, match=sentence) as refused:
        call_command("go", "--base", "North", *args)
    assert refused.value.returncode == 2


def test_a_day_that_is_none_is_refused(farm: rows.Farm) -> None:
    with pytest.raises(CommandError, match="'2026-02-31' is no day"):
        call_command("go", "--base", "North", "--day", "2026-02-31")


def test_several_bases_ask_for_a_name(farm: rows.Farm) -> None:
    with pytest.raises(CommandError, match=r"several bases \(North, South\): say which with --base"):
        call_command("go")
