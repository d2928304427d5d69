"""Sentences about a day: local times, the binding limit, and one verdict in words."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from scheduling.day.problem import Binding, Problem, Verdict


def clock(problem: Problem, minute: int) -> str:
    """Local time of a minute, "07:30"; with the offset on days on which the clocks change, as an hour may come twice.

    The date is added where it is another day.
    """
    zone = ZoneInfo(problem.zone)
    origin = datetime.fromisoformat(problem.origin)
    local = (origin + timedelta(minutes=minute)).astimezone(zone)
    midnight = datetime.fromisoformat(problem.date).replace(tzinfo=zone)
    changes = midnight.utcoffset() != (midnight + timedelta(days=1)).utcoffset()
    text = f"{local:%H:%M}" + (f" (UTC{local:%z})" if changes else "")
    return text if local.date().isoformat() == problem.date else f"{local:%Y-%m-%d} {text}"


def percent(share: float) -> str:
    """A share as whole percent, never rounded up over what it is: 0.799 is 79 %."""
    return f"{int(share * 100 + 1e-6)} %"


def number(value: float) -> str:
    """A value with one decimal."""
    return f"{value:.1f}"


def binding_text(problem: Problem, binding: Binding | None) -> str:
    """The limit with the least room, in words."""
    if binding is None:
        return "the stay lies outside the forecast"
    rule = f"the limit is {binding.op} {number(binding.limit)} {binding.unit}"
    if binding.value is None:
        return f"{binding.name} is unknown at {clock(problem, binding.at_min)}, {rule}"
    return f"{binding.name} {number(binding.value)} {binding.unit} at {clock(problem, binding.at_min)}, {rule}"


def verdict_text(problem: Problem, verdict: Verdict) -> str:
    """A verdict as a line for the morning page: what, from when, down by when, why, and the caution."""
    head = f"{verdict.team} at {verdict.turbine}: {verdict.verdict}"
    if verdict.start_min is not None:
        head += f" from {clock(problem, verdict.start_min)}"
    if verdict.must_be_down_min is not None and verdict.start_down_min is not None:
        head += (
            f", everybody down by {clock(problem, verdict.must_be_down_min)} "
            f"(way down begins by {clock(problem, verdict.start_down_min)})"
        )
    age = "no forecast" if verdict.forecast_age_h is None else f"forecast {verdict.forecast_age_h:.1f} h old"
    why = " ".join(reason.text for reason in verdict.reasons)
    return f"{head}; {age}. {why} {verdict.caution}"
