"""Rejected rows as a file of their own, to be corrected and sent again."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable

from scheduling.weather.readers.report import Rejected

HEADER = ("line", "reason", "text")


def rejected_csv(rows: Iterable[Rejected]) -> str:
    """CSV text with a header: the line in the file, why the row was not taken, and the line as it stood."""
    target = io.StringIO()
    writer = csv.writer(target, lineterminator="\n")
    writer.writerow(HEADER)
    writer.writerows((row.line, row.reason, row.text) for row in rows)
    return target.getvalue()
