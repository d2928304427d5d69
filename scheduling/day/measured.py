"""Today's readings against the limits: may anybody go up now, and if not, from when on at the earliest."""

from __future__ import annotations

from scheduling.day.explain import clock, number
from scheduling.day.problem import Limit, Measured, Problem, Reason, Stay


def measured_stop(problem: Problem, stay: Stay) -> tuple[int | None, Reason | None]:
    """(earliest start in minutes, why) after readings outside a limit of the stay; (None, None) if none stands against it.

    Stop at once; back up only after `reentry_min` of readings within the limit (common practice, no source). If the last
    reading itself is outside, the earliest start counts from now, as if the next one were good.
    """
    stops = [stop for limit in problem.limit_sets[stay.limits] if (stop := _stop(problem, limit)) is not None]
    return max(stops, key=lambda stop: stop[0], default=(None, None))


def passes(limit: Limit, value: float | None) -> bool:
    """The reading keeps the limit; an unusable one (None, NaN) never does."""
    if value is None:
        return False
    return {
        "<=": value <= limit.value,
        "<": value < limit.value,
        ">=": value >= limit.value,
        ">": value > limit.value,
    }[limit.op]


def _stop(problem: Problem, limit: Limit) -> tuple[int, Reason] | None:
    readings = problem.measured.get(limit.series, ())
    bad = [n for n, reading in enumerate(readings) if not passes(limit, reading.value)]
    if not bad:
        return None
    if bad[-1] == len(readings) - 1:
        return problem.now_min + problem.reentry_min, Reason("measured", _now_text(problem, limit, readings[-1]))
    back_at = readings[bad[-1] + 1].at_min + problem.reentry_min
    if back_at <= problem.now_min:
        return None
    return back_at, Reason(
        "measured",
        f"{limit.name} was outside its limit at {clock(problem, readings[bad[-1]].at_min)}; back up from "
        f"{clock(problem, back_at)} if it stays within for {problem.reentry_min} min.",
    )


def _now_text(problem: Problem, limit: Limit, reading: Measured) -> str:
    at = clock(problem, reading.at_min)
    if reading.value is None or reading.value != reading.value:
        return f"{limit.name} measured at {at} gave no usable value; check the instrument before anybody goes up."
    return (
        f"{limit.name} measured at {at} is {number(reading.value)} {limit.unit}, the limit is {limit.op} "
        f"{number(limit.value)} {limit.unit}; nobody goes up until it has kept it for {problem.reentry_min} min."
    )
