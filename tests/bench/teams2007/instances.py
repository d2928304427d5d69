"""Where the instances are, and the best known values published for them."""

from __future__ import annotations

import csv
from pathlib import Path

from tests.bench.teams2007.reader import Instance, read_instance

FOLDER = Path(__file__).resolve().parents[4] / "shared" / "bench" / "teams2007"
SETS = ("A", "B")
NUMBERS = range(1, 11)
ABSENT = "instances not here"


def present() -> bool:
    """Whether the instances lie beside the checkout."""
    return (FOLDER / "bks.csv").is_file()


def load(case: str) -> Instance:
    """The instance of a case such as A1 or B10."""
    return read_instance(FOLDER / f"set{case[0]}" / f"data{case[1:]}")


def best_known(case: str) -> int:
    """The best value published for a case (the README beside the instances says where from)."""
    with (FOLDER / "bks.csv").open(encoding="utf-8", newline="") as file:
        return next(int(row[case[0]]) for row in csv.DictReader(file) if row["instance"] == case[1:])
