from __future__ import annotations

import pytest

from scheduling.weather.inspect import inspect_file
from scheduling.weather.inspect.answers import Answers
from scheduling.weather.readers.ensemble.propose import propose_ensemble

COMPLETE = Answers(averagings={"*": 10.0}, stamp="start")


def file(head: str, *, issues: int = 1, groups: tuple[str, ...] = ("0", "1", "2")) -> bytes:
    """Hours 0..11 of each issue and group under a header of issue, valid time, group, wind."""
    rows = [
        f"2025-06-0{1 + issue}T18:00Z,2025-06-03T{hour:02d}:00Z,{group},{5 + number + hour % 3 / 10}"
        for issue in range(issues)
        for hour in range(12)
        for number, group in enumerate(groups)
    ]
    return "\n".join([head, *rows]).encode()


@pytest.mark.parametrize(
    ("head", "valid", "roles"),
    [
        ("issue,valid,member,wind_speed_100m [m/s]", "valid", {"issue": "issue", "member": "member"}),
        ("Run,time,number,ws 100m (m/s)", "time", {"issue": "Run", "member": "number"}),
        ("forecast_reference_time,valid_time,realization,wind speed 100 m (m/s)", "valid_time",
         {"issue": "forecast_reference_time", "member": "realization"}),
    ],
)  # fmt: skip
def test_an_ensemble_is_known_by_its_headers(head: str, valid: str, roles: dict[str, str]) -> None:
    found = propose_ensemble(file(head), "ens.csv")
    assert found is not None
    assert (found.recipe["reader"], found.recipe["roles"], found.recipe["time_columns"]) == ("ensemble", roles, [valid])
    assert found.ask == ()
    outcome = inspect_file(file(head), "ens.csv", COMPLETE)
    assert outcome.accepted, outcome.reason


def test_one_of_several_issues_is_asked_for_and_may_be_the_newest() -> None:
    content = file("issue,valid,member,wind_speed_100m [m/s]", issues=2)
    asked = inspect_file(content, "ens.csv", COMPLETE)
    assert not asked.accepted
    assert [(one.field, one.choices) for one in asked.ask] == [
        ("only.issue", ("newest", "2025-06-01T18:00Z", "2025-06-02T18:00Z"))
    ]
    assert inspect_file(content, "ens.csv", Answers(averagings={"*": 10.0}, stamp="start", only={"issue": "newest"})).accepted


def test_quantiles_are_known_too() -> None:
    found = propose_ensemble(file("issue,valid,quantile,wind_speed_100m [m/s]", groups=("0.1", "0.5", "0.9")), "q.csv")
    assert found is not None
    assert found.recipe["roles"] == {"issue": "issue", "quantile": "quantile"}


@pytest.mark.parametrize(
    "content",
    [
        b"time,ws\n2025-06-02 00:00,5\n2025-06-02 01:00,6\n",
        file("issue,valid,station number,wind_speed_100m [m/s]"),
        b"time,number,ws\n" + b"".join(b"2025-06-02 %02d:00,%d,5\n" % (hour, station) for hour in range(9) for station in (1, 2)),
        b"time,member,ws\n2025-06-02 00:00,1,5\n2025-06-02 01:00,1,6\n",
        b"members only",
        b"\x00\x01member",
        b"",
    ],
)
def test_other_files_are_none_of_ours(content: bytes) -> None:
    assert propose_ensemble(content, "file.csv") is None
