"""manage.py bench NAME: measure a part of Lull on generated cases, beside a rule of thumb on the same cases.

The cases and the measuring live in tests/bench/, one module a name: bench_NAME.py with CASES and run(case, seed) -> row.
"""

from __future__ import annotations

import importlib
import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from scheduling.management.output import libraries_to_stderr

FOLDER = Path(settings.BASE_DIR) / "tests" / "bench"


class Command(BaseCommand):
    help = "Measure a part of Lull: `bench` lists the names."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which bench, which case, which seed."""
        parser.add_argument("name", nargs="?", help=f"one of {', '.join(names())}")
        parser.add_argument("--case", help="one case only, for example medium")
        parser.add_argument("--seed", type=int, default=1)
        parser.add_argument("--json", action="store_true", help="a list of rows")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the cases and print a row for each."""
        name = options["name"]
        if name not in names():
            raise CommandError(f"There is no bench {name!r}: choose one of {', '.join(names())}.", returncode=2)
        module = importlib.import_module(f"tests.bench.bench_{name}")
        cases = module.CASES if options["case"] is None else (options["case"],)
        unknown = [case for case in cases if case not in module.CASES]
        if unknown:
            raise CommandError(f"bench {name} has no case {unknown[0]!r}: choose one of {', '.join(module.CASES)}.", returncode=2)
        with libraries_to_stderr():
            rows = [module.run(case, options["seed"]) for case in cases]
        self.stdout.write(json.dumps(rows, indent=1) if options["json"] else table(rows))


def names() -> list[str]:
    """The benches there are."""
    return sorted(path.stem.removeprefix("bench_") for path in FOLDER.glob("bench_*.py"))


def table(rows: list[dict[str, Any]]) -> str:
    """Rows as a table; columns in the order of the first row."""
    columns = list(dict.fromkeys(name for row in rows for name in row))
    cells = [columns, *([_cell(row.get(name)) for name in columns] for row in rows)]
    widths = [max(len(row[at]) for row in cells) for at in range(len(columns))]
    return "\n".join("  ".join(cell.rjust(width) for cell, width in zip(row, widths, strict=True)) for row in cells) + "\n"


def _cell(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:,.4f}" if abs(value) < 10 else f"{value:,.1f}"
    return "" if value is None else str(value)
