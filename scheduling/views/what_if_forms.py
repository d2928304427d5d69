"""The forms that add a change: which fields each kind has, what may be chosen, and reading what was sent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

from planner.errors import PlannerError
from planner.views.forms import day_in, number_in, text_in, whole_or_none
from scheduling.fortnight.changes.numbers import QUANTITIES, WEIGHTS

Posted = Mapping[str, str]
MOST_DAYS = 31


@dataclass(frozen=True)
class Field:
    """One input. `choices` names a list of the frozen problem; `kind` says how it is read."""

    name: str
    label: str
    kind: str
    choices: str = ""


@dataclass(frozen=True)
class Form:
    """The inputs of one kind of change; `fixed` goes along unasked."""

    kind: str
    heading: str
    fields: tuple[Field, ...]
    fixed: dict[str, Any] = field(default_factory=dict)


PERSON = Field("person", "Person", "choice", "people")
ORDER = Field("order", "Order", "choice", "orders")
DAYS = Field("days", "Days", "days")
DAY = Field("day", "Day", "day")

GROUPS: tuple[tuple[str, tuple[Form, ...]], ...] = (
    (
        "People",
        (
            Form("person away", "Somebody is away", (PERSON, DAYS)),
            Form(
                "person added",
                "Somebody more",
                (
                    Field("person", "Name", "text"),
                    Field("like", "As", "choice", "people"),
                    Field("day_cost", "Cost a day out", "number"),
                ),
            ),
            Form("shift longer", "A longer shift", (PERSON, Field("minutes", "Minutes more (-: fewer)", "minutes"), DAYS)),
        ),
    ),
    (
        "Orders",
        (
            Form("due date", "Another due date", (ORDER, DAY)),
            Form("allowed days", "Only on these days", (ORDER, DAYS)),
            Form(
                "parts earlier", "Parts come earlier", (Field("order", "Order", "choice", "waiting"), Field("day", "From", "day"))
            ),
            Form("left out by hand", "Left out by hand", (ORDER,)),
            Form("left out cost", "What leaving it out costs", (ORDER, Field("cost", "Cost", "number"))),
            Form(
                "order mode",
                "Done another way",
                (ORDER, Field("team", "People", "whole"), Field("visits_min", "Minutes of each visit (may be empty)", "wholes")),
            ),
            Form("pin lifted", "Pin lifted", (Field("order", "Order", "choice", "pinned"),)),
        ),
    ),
    (
        "Weather limits",
        (
            Form(
                "limit",
                "Another wind limit",
                (
                    Field("limit_set", "Limit set", "choice", "limit_sets"),
                    Field("quantity", "Of", "choice", "quantities"),
                    Field("value", "m/s", "number"),
                ),
            ),
            Form("confidence", "Asked confidence", (Field("share", "Share, 0.5 to 1", "number"),)),
        ),
    ),
    (
        "Vehicles, equipment, turbines",
        (
            Form("vehicle added", "One vehicle more", (Field("vehicle", "Name", "text"), Field("seats", "Seats", "whole"))),
            Form("vehicle gone", "Without a vehicle", (Field("vehicle", "Vehicle", "choice", "vehicles"),)),
            Form("equipment days", "Equipment on other days", (Field("equipment", "Equipment", "choice", "equipment"), DAYS)),
            Form("turbine closed", "A turbine is closed", (Field("turbine", "Turbine", "choice", "turbines"), DAYS)),
        ),
    ),
    (
        "Weights and rules",
        (
            Form(
                "weight", "What something costs", (Field("weight", "What", "choice", "weights"), Field("value", "Cost", "number"))
            ),
            Form("change weight", "Changes to the published plan", (Field("times", "Times as much", "number"),)),
            Form(
                "rule",
                "Most turbines stopped at once",
                (Field("site", "Site", "choice", "sites"), Field("value", "Turbines", "whole")),
                {"rule": "most stopped"},
            ),
        ),
    ),
)
FORMS = {form.kind: form for _, forms in GROUPS for form in forms}


def choices_of(problem: Mapping[str, Any], register: Mapping[str, Any]) -> dict[str, list[tuple[str, str]]]:
    """(value, words) of every list that a form chooses from, out of the frozen problem as it is stored."""
    orders = {one["id"]: f"{one['id']} {one['label']}".strip() for one in problem["orders"]}
    waiting = {number for number, days in register.get("closed", {}).items() if any("parts" in whats for whats in days.values())}
    limits: dict[str, dict[str, float]] = register.get("limits", {})
    plain = {
        "people": [one["id"] for one in problem["people"]],
        "vehicles": [one["id"] for one in problem["vehicles"]],
        "equipment": [one["id"] for one in problem["equipment"]],
        "turbines": [one["id"] for one in problem["turbines"]],
        "sites": sorted({one["site"] for one in problem["turbines"]}),
        "quantities": list(QUANTITIES),
    }
    return {
        **{name: [(one, one) for one in ids] for name, ids in plain.items()},
        "orders": list(orders.items()),
        "waiting": [(number, words) for number, words in orders.items() if number in waiting],
        "pinned": [(one["id"], orders[one["id"]]) for one in problem["orders"] if one["pins"] or one["crew"]],
        "limit_sets": [(code, f"{code} ({_said(values)})") for code, values in limits.items()],
        "weights": [(name, f"{name}: {what}") for name, (_, what) in WEIGHTS.items()],
    }


def _said(values: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {value:g} m/s" for name, value in values.items())


def groups_with(choices: Mapping[str, list[tuple[str, str]]]) -> list[dict[str, Any]]:
    """The groups for the template; a form without anything to choose from is left out."""
    return [
        {"heading": heading, "forms": [_shown(form, choices) for form in forms if _usable(form, choices)]}
        for heading, forms in GROUPS
    ]


def _usable(form: Form, choices: Mapping[str, list[tuple[str, str]]]) -> bool:
    return all(choices[one.choices] for one in form.fields if one.choices)


def _shown(form: Form, choices: Mapping[str, list[tuple[str, str]]]) -> dict[str, Any]:
    fields = [{"name": f.name, "label": f.label, "kind": f.kind, "choices": choices.get(f.choices, [])} for f in form.fields]
    return {"kind": form.kind, "heading": form.heading, "fields": fields}


def change_in(posted: Posted) -> dict[str, Any]:
    """The change that a form asks for, as JSON values; PlannerError names the field."""
    kind = posted.get("kind", "")
    if kind not in FORMS:
        raise PlannerError(f"{kind[:40]!r} is no kind of change: use one of the forms.", field="kind")
    form = FORMS[kind]
    return {"kind": kind, **form.fixed, **{one.name: READERS[one.kind](posted, one) for one in form.fields}}


def _days(posted: Posted, one: Field) -> list[str]:
    first, last = day_in(posted, "first", "First day"), day_in(posted, "last", "Last day")
    count = (last - first).days + 1
    if not 1 <= count <= MOST_DAYS:
        raise PlannerError(f"{first} to {last} are {count} days: give 1 to {MOST_DAYS}, the first one first.", field="last")
    return [(first + timedelta(days=number)).isoformat() for number in range(count)]


def _whole(posted: Posted, one: Field) -> int:
    value = whole_or_none(posted, one.name, one.label)
    if value is None:
        raise PlannerError(f"{one.label} is empty: give a whole number.", field=one.name)
    return value


def _wholes(posted: Posted, one: Field) -> list[int]:
    words = posted.get(one.name, "").replace("+", " ").replace(",", " ").split()
    if any(not (word.isascii() and word.isdigit() and len(word) <= 5) for word in words):
        raise PlannerError(f"{one.label}: give whole minutes with blanks between, such as 180 120.", field=one.name)
    return [int(word) for word in words]


def _minutes(posted: Posted, one: Field) -> int:
    value = number_in(posted, one.name, one.label)
    if value != int(value):
        raise PlannerError(f"{one.label} {value:g}: give whole minutes, such as 60.", field=one.name)
    return int(value)


READERS: dict[str, Callable[[Posted, Field], Any]] = {
    "choice": lambda posted, one: text_in(posted, one.name, one.label, 200),
    "text": lambda posted, one: text_in(posted, one.name, one.label, 200),
    "day": lambda posted, one: day_in(posted, one.name, one.label).isoformat(),
    "days": _days,
    "number": lambda posted, one: number_in(posted, one.name, one.label),
    "whole": _whole,
    "wholes": _wholes,
    "minutes": _minutes,
}
