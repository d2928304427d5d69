"""The parts of an order's page, ready to show."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from planner.views.formats import hours, moment, weekday
from workorders.lifecycle import MOVES, moves_from
from workorders.models import Order

SAID = {
    "prepare": "Mark as prepared",
    "unprepare": "Back to raised",
    "slot": "Mark as slotted",
    "unslot": "Take out of its slot",
    "start": "Start work",
    "finish": "Finish work",
    "reopen": "Work again",
    "accept": "Accept the work",
    "withdraw": "Withdraw",
}
"""What the button of a move says."""


def facts(order: Order) -> list[tuple[str, str]]:
    """Name and value of what is known about the order."""
    rows = [
        ("Turbine", f"{order.turbine.code}, {order.turbine.site.name}"),
        ("Component", str(order.component) if order.component else ""),
        ("Work", order.procedure.name),
        ("Class", order.get_klass_display()),
        ("Came from", order.get_origin_display()),
        ("Not before", weekday(order.opens_on) if order.opens_on else ""),
        ("Due", weekday(order.due_on)),
        ("Tolerance ends", weekday(order.closes_on) if order.closes_on else ""),
        ("Work left", f"{hours(order.effort_left_h)} of one person's time"),
        ("Team", f"{order.procedure.team_min} to {order.procedure.team_max} people"),
        ("Weather limits", order.procedure.limit_set.name),
        ("Done on", weekday(order.done_on) if order.done_on else ""),
        ("Note", order.note),
    ]
    return [(name, value) for name, value in rows if value]


def move_lines(state: str, role: str) -> list[dict[str, Any]]:
    """The moves the role may make from this state."""
    return [
        {"name": name, "said": SAID.get(name, name), "note": MOVES[name].note, "main": index == 0, "day": name == "finish"}
        for index, name in enumerate(moves_from(state, role))
    ]


def hold_lines(order: Order) -> list[dict[str, Any]]:
    """Holds, open ones first."""
    holds = sorted(order.holds.all(), key=lambda hold: (hold.cleared_on is not None, hold.since))
    return [
        {
            "pk": hold.pk,
            "open": hold.cleared_on is None,
            "kind": hold.get_kind_display(),
            "reason": hold.reason,
            "since": weekday(hold.since),
            "until": weekday(hold.expected_until) if hold.expected_until else "",
            "cleared": weekday(hold.cleared_on) if hold.cleared_on else "",
        }
        for hold in holds
    ]


def step_lines(order: Order, zone: ZoneInfo) -> list[dict[str, Any]]:
    """Steps of the procedure with the answers there are."""
    results = {result.step_id: result for result in order.results.select_related("by")}
    return [_step_line(step, results.get(step.pk), zone) for step in order.procedure.steps.all()]


def _step_line(step: Any, result: Any, zone: ZoneInfo) -> dict[str, Any]:
    return {
        "pk": step.pk,
        "number": step.number,
        "kind": step.kind,
        "text": step.text,
        "unit": "" if step.unit == "1" else step.unit,
        "hold_point": step.hold_point,
        "band": _band(step.low, step.high, step.unit),
        "answer": _answer(step, result) if result else "",
        "outside": bool(result) and _outside(step, result.value),
        "by": f"{result.by or 'somebody'}, {moment(result.at, zone)}" if result else "",
    }


def _band(low: float | None, high: float | None, unit: str) -> str:
    ends = [f"{words} {value:g}" for words, value in (("at least", low), ("at most", high)) if value is not None]
    return f"{' and '.join(ends)} {'' if unit == '1' else unit}".strip() if ends else ""


def _answer(step: Any, result: Any) -> str:
    if result.value is not None:
        return f"{result.value:g} {'' if step.unit == '1' else step.unit} {result.text}".strip()
    return result.text or "ticked"


def _outside(step: Any, value: float | None) -> bool:
    if value is None:
        return False
    inside = (step.low is None or value >= step.low) and (step.high is None or value <= step.high)
    return not inside


def finding_lines(order: Order) -> list[dict[str, Any]]:
    """Findings with the order each has raised."""
    return [
        {
            "pk": finding.pk,
            "severity": finding.get_severity_display(),
            "within": f"{finding.within_days} days" if finding.within_days else "",
            "text": finding.text,
            "found": weekday(finding.found_on),
            "order": finding.raised_order,
        }
        for finding in order.findings.select_related("raised_order")
    ]
