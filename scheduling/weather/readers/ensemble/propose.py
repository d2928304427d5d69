"""What an ensemble in long form says about itself: what delimited text says, and which column tells members apart."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from scheduling.weather.readers.ensemble.rows import NEWEST
from scheduling.weather.readers.kinds import Proposal
from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.readers.sniff import propose_delimited
from scheduling.weather.readers.table import Table, read_table
from scheduling.weather.recipe import Column, Question, Recipe

#: role -> headers met for it, in small letters without signs
_HEADERS = {
    "issue": (
        *("issue", "issued", "issuetime", "issuedat", "run", "runtime", "init", "inittime"),
        *("referencetime", "forecastreferencetime"),
    ),
    "member": ("member", "ensemblemember", "realization", "realisation", "number", "ens", "ensmember"),
    "quantile": ("quantile", "percentile", "probabilitylevel"),
}
_VALID = ("valid", "validtime", "validat", "time", "timestamp", "datetime", "date")
_WORD = re.compile(rb"member|reali[sz]ation|number|\bens\b|quantile|percentile|probability", re.IGNORECASE)


def propose_ensemble(content: bytes, name: str) -> Proposal | None:
    """The proposal for delimited text with a column of members or quantiles; None for anything else."""
    if not _WORD.search(content[:4000].replace(b"\0", b"")):
        return None
    try:
        found = propose_delimited(content, name)
        table = _table(content, found.recipe) if found is not None else None
    except ReadRefused:
        # It is no table either: the reader of delimited text says so in its own words.
        return None
    roles = _roles(table) if table is not None else {}
    if found is None or table is None or ("member" in roles) == ("quantile" in roles):
        return None
    return _turned(found, table, roles)


def _table(content: bytes, recipe: Mapping[str, Any]) -> Table:
    """The cells, whatever the recipe still leaves open."""
    layout = ("delimiter", "encoding", "skip_rows", "skip_after", "header", "ends_at")
    any_column = Column("any", "wind", "m/s", 10.0, 10.0)
    settings = {key: recipe[key] for key in layout if key in recipe}
    return read_table(content, Recipe("any", (any_column,), "start", "UTC", time_columns=("any",), **settings))


def _roles(table: Table) -> dict[str, str]:
    """role -> header; a header that names a role but holds one text alone tells nothing apart."""
    found: dict[str, str] = {}
    for header in table.columns:
        role = next((role for role, headers in _HEADERS.items() if _plain(header) in headers), None)
        if role is not None and (role == "issue" or len(set(table.column(header))) > 1):
            found.setdefault(role, header)
    if "issue" not in found and _plain(found.get("member", "")) == "number":
        del found["member"]  # a station's number, as likely as not
    return found


def _turned(found: Proposal, table: Table, roles: dict[str, str]) -> Proposal:
    recipe = dict(found.recipe) | {"reader": "ensemble", "roles": roles}
    recipe["columns"] = [one for one in recipe["columns"] if one["column"] not in roles.values()]
    ask = [question for question in found.ask if not question.field.startswith("only")]
    issue = roles.get("issue")
    if issue in recipe.get("time_columns", ()):
        valid = [header for header in table.columns if _plain(header) in _VALID]
        recipe["time_columns"] = valid[:1]
        if not valid:
            ask.append(Question("time_columns", f"Column {issue} holds the issue. Which one holds the time a value is for?"))
    issues = sorted(set(map(str.strip, table.column(issue)))) if issue is not None else []
    if len(issues) > 1:
        text = f"The file has {len(issues)} issues. Which one?"
        ask.append(Question(f"only.{issue}", text, (NEWEST, *issues[-11:])))
    told = {f"roles.{role}": f"the header {header!r}" for role, header in roles.items()}
    return Proposal(recipe, dict(found.sources) | told, tuple(ask), found.notes)


def _plain(header: str) -> str:
    return re.sub(r"[\W_]", "", header).lower()
