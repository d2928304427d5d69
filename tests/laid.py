"""The tiny farm laid into the database quickly: its rows are built once in each process, kept, and written again in bulk.

Built the plain way (`farm.build_farm`) the farm takes two hundred statements, more than most tests do themselves.
"""

from __future__ import annotations

import pickle
import re
from collections.abc import Callable
from typing import Any

from django.db import connection

from tests.farm import Farm, build_farm

INSERT = re.compile(r'INSERT (?:OR IGNORE )?INTO "(\w+)"')  # SQLite's word for rows that link two tables


class Kept:
    """A farm and the rows of its tables, by table: columns and values, in the order in which tables were first written."""

    def __init__(self) -> None:
        tables: dict[str, None] = {}

        def note(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: Any) -> Any:
            found = INSERT.match(sql)
            if found:
                tables[found[1]] = None
            return execute(sql, params, many, context)

        with connection.execute_wrapper(note):
            self.farm = pickle.dumps(build_farm())
        self.rows = {table: rows_of(table) for table in tables}

    def lay(self) -> Farm:
        """Write the rows; the same rows, ids and records as when they were built."""
        with connection.cursor() as cursor:
            for table, (columns, rows) in self.rows.items():
                cell = ", ".join(["%s"] * len(columns))
                values = ", ".join([f"({cell})"] * len(rows))
                names = ", ".join(f'"{column}"' for column in columns)
                cursor.execute(f'INSERT INTO "{table}" ({names}) VALUES {values}', [cell for row in rows for cell in row])
        farm: Farm = pickle.loads(self.farm)  # what we pickled ourselves, a moment ago
        return farm


_kept: list[Kept] = []


def laid_farm() -> Farm:
    """The tiny farm, as `build_farm` makes it at its own NOW; needs a database without it."""
    if _kept:
        return _kept[0].lay()
    _kept.append(Kept())
    farm: Farm = pickle.loads(_kept[0].farm)
    return farm


def rows_of(table: str) -> tuple[list[str], list[tuple[Any, ...]]]:
    """Columns and rows of a table, by id, as the database holds them."""
    with connection.cursor() as cursor:
        names = [column.name for column in connection.introspection.get_table_description(cursor, table)]
        # SQLite's driver makes Python values of columns, which it would not take back; of expressions it does not.
        as_held = "+" if connection.vendor == "sqlite" else ""
        cells = ", ".join(f'{as_held}"{name}"' for name in names)
        cursor.execute(f'SELECT {cells} FROM "{table}" ORDER BY 1')
        return names, cursor.fetchall()
