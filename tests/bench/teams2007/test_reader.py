"""Reading instances: what is read, and how a malformed file is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.teams2007.instances import ABSENT, NUMBERS, SETS, best_known, load, present
from tests.bench.teams2007.reader import Job, Malformed, Technician, read_instance

GOOD = {
    "instance": "name domains level techs interv abandon\ntiny 2 2 2 2 40\n\n",
    "interv_list": "number time preds prio cost d1_1 d1_2 d2_1 d2_2\n1 60 [ ] 1 20 1 0 0 0\n2 15 [ 1 ] 4 30 2 1 1 0 \n",
    "tech_list": "tech d1 d2 dispo\n1 2 0 [ 2 5 ]\n2 1 1 [ ]\n",
}


def folder(path: Path, **changes: str) -> Path:
    for name, text in {**GOOD, **changes}.items():
        (path / name).write_text(text, encoding="utf-8")
    return path


def test_a_tiny_instance_is_read(tmp_path: Path) -> None:
    found = read_instance(folder(tmp_path))
    assert (found.name, found.domains, found.levels, found.budget) == ("tiny", 2, 2, 40)
    assert found.jobs == (Job(1, 60, (), 1, 20, ((1, 0), (0, 0))), Job(2, 15, (1,), 4, 30, ((2, 1), (1, 0))))
    assert found.people == (Technician(1, (2, 0), frozenset({2, 5})), Technician(2, (1, 1), frozenset()))


HEAD_JOBS, HEAD_PEOPLE = "number ...\n", "tech ...\n"
ONE, TWO = "1 60 [ ] 1 20 1 0 0 0\n", "2 15 [ 1 ] 4 30 2 1 1 0\n"


@pytest.mark.parametrize(
    ("file", "text", "sentence"),
    [
        ("instance", "name\ntiny 2 2 2 2\n", "instance, line 2: 5 words where 6 belong"),
        ("instance", "name\ntiny 2 two 2 2 40\n", "'two' is not a whole number"),
        ("instance", "name\ntiny 0 2 2 2 40\n", "no domains"),
        ("instance", "name\n", "0 lines under the heading where 1 belong"),
        ("interv_list", HEAD_JOBS + ONE, "1 lines under the heading where 2 belong"),
        ("interv_list", HEAD_JOBS + ONE + "3 15 [ 1 ] 4 30 2 1 1 0\n", "line 3: job 3 where 2 belongs"),
        ("interv_list", HEAD_JOBS + ONE + "2 15 1 4 30 2 1 1 0\n", "not one list in brackets"),
        ("interv_list", HEAD_JOBS + ONE + "2 15 [ 1 ] 4 30 2 1 1\n", "5 numbers after the list where 6 belong"),
        ("interv_list", HEAD_JOBS + ONE + "2 121 [ 1 ] 4 30 2 1 1 0\n", "a job of 121 units"),
        ("interv_list", HEAD_JOBS + ONE + "2 15 [ 1 ] 5 30 2 1 1 0\n", "priority 5"),
        ("interv_list", HEAD_JOBS + ONE + "2 15 [ 7 ] 4 30 2 1 1 0\n", "a predecessor that is no other job"),
        ("interv_list", HEAD_JOBS + ONE + "2 15 [ 2 ] 4 30 2 1 1 0\n", "a predecessor that is no other job"),
        ("interv_list", HEAD_JOBS + "1 60 [ 2 ] 1 20 1 0 0 0\n" + TWO, "line 2: job 1 waits for itself"),
        ("tech_list", HEAD_PEOPLE + "1 2 0 [ ]\n2 1 [ ]\n", "line 3: 2 numbers before the list where 3 belong"),
        ("tech_list", HEAD_PEOPLE + "1 2 0 [ ]\n2 1 3 [ ]\n", "line 3: level 3"),
        ("tech_list", HEAD_PEOPLE + "1 2 0 [ 0 ]\n2 1 1 [ ]\n", "line 2: absent on day 0"),
        ("tech_list", HEAD_PEOPLE + "2 2 0 [ ]\n1 1 1 [ ]\n", "line 2: technician 2 where 1 belongs"),
        ("tech_list", HEAD_PEOPLE + "1 2 -1 [ ]\n2 1 1 [ ]\n", "'-1' is not a whole number"),
    ],
)
def test_a_malformed_file_is_refused_with_its_line(tmp_path: Path, file: str, text: str, sentence: str) -> None:
    with pytest.raises(Malformed, match=file) as refused:
        read_instance(folder(tmp_path, **{file: text}))
    assert sentence in str(refused.value)
    assert str(refused.value).endswith(".")


@pytest.mark.skipif(not present(), reason=ABSENT)
def test_all_published_instances_are_read() -> None:
    for case in (f"{letter}{n}" for letter in SETS for n in NUMBERS):
        found = load(case)
        assert found.jobs
        assert found.people
        assert best_known(case) > 0
