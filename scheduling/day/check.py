"""A second pair of eyes on the morning's verdicts: everything again from the raw lists, minute by minute, in plain loops.

Shares no code with decide.py, weather.py and measured.py. Errs on the side of people: what it cannot confirm is a breach.
"""

from __future__ import annotations

from collections.abc import Iterator

from scheduling.day.problem import Limit, Problem, Stay, Verdict, Violation


def check(problem: Problem, verdicts: tuple[Verdict, ...]) -> tuple[Violation, ...]:
    """Every verdict that the problem does not bear out; empty if all may be shown."""
    by_stay = {verdict.stay: verdict for verdict in verdicts}
    broken = [Violation("complete", s.id, "has no verdict") for s in problem.stays if s.id not in by_stay]
    known = {stay.id: stay for stay in problem.stays}
    for verdict in verdicts:
        if verdict.stay not in known:
            broken.append(Violation("complete", verdict.stay, "is not a stay of this day"))
        else:
            found = _verdict(problem, known[verdict.stay], verdict)
            broken += [Violation(rule, verdict.stay, text) for rule, text in found]
    return tuple(broken)


def _verdict(p: Problem, stay: Stay, v: Verdict) -> Iterator[tuple[str, str]]:
    meant = max(p.now_min, stay.planned_start_min)
    good = [m for m in sorted({meant, *range(0, p.slots * p.slot_min, p.slot_min)}) if _may_start(p, stay, m)]
    later = [m for m in good if m > meant]
    stopped = _stopped(p, stay)
    right = "no-go" if stopped else "go" if meant in good else "wait" if later else "no-go"
    if v.verdict != right:
        yield "verdict", f"is {v.verdict}, should be {right}" + (f" ({stopped})" if stopped else "")
    if v.start_min != {"go": meant, "wait": later[0] if later else None}.get(right):
        yield "start", f"names the start {v.start_min}"
    if (v.first_safe_min, v.last_safe_min) != ((good[0], good[-1]) if good else (None, None)):
        yield "safe starts", f"names {v.first_safe_min} to {v.last_safe_min}, found {good[:1]} to {good[-1:]}"
    if abs(v.chance - _chance(p, stay, meant, meant + stay.minutes)) > 1e-9:
        yield "chance", f"states {v.chance}, found {_chance(p, stay, meant, meant + stay.minutes)}"
    yield from _down(p, stay, v)
    if not v.caution or not v.reasons:
        yield "caution", "lacks the caution or a reason"


def _down(p: Problem, stay: Stay, v: Verdict) -> Iterator[tuple[str, str]]:
    if v.start_min is None:
        if v.must_be_down_min is not None or v.start_down_min is not None:
            yield "down by", "names a time to be down without a start"
        return
    down = v.must_be_down_min
    if down is None or v.start_down_min != down - stay.down_min:
        yield "down by", "lacks the time to be down, or to begin the way down"
    elif down < v.start_min + stay.minutes or down > stay.shift_end_min:
        yield "down by", f"{down} does not lie between the end of the stay and the end of the shift"
    elif stay.daylight and (p.daylight is None or down > p.daylight[1]):
        yield "down by", f"{down} lies in the dark"
    elif _chance(p, stay, v.start_min, down) < p.confidence - 1e-9:
        yield "down by", f"up to {down} the window holds in less than the asked share of members"


def _stopped(p: Problem, stay: Stay) -> str:
    """What no later start can cure, in one word; "" if nothing."""
    if not _fresh(p):
        return "forecast"
    if any(limit.series not in p.series for limit in p.limit_sets[stay.limits]):
        return "series"
    fit = [person for person in stay.people if person.fit and not person.learner]
    if len(fit) < p.min_team or any(not person.fit for person in stay.people):
        return "people"
    if len([person for person in fit if person.rescue]) < p.rescue_pair:
        return "rescue"
    needed = set(stay.uses) | ({"lift"} if stay.by == "lift" else set())
    return "gate" if any(gate.shut and gate.stops in needed for gate in stay.gates) else ""


def _fresh(p: Problem) -> bool:
    return p.issue_min is not None and 0 <= p.now_min - p.issue_min <= p.stale_after_h * 60


def _may_start(p: Problem, stay: Stay, start: int) -> bool:
    end = start + stay.minutes
    inside = p.now_min <= start and stay.shift_start_min <= start and end <= stay.shift_end_min
    if stay.daylight:
        inside = inside and p.daylight is not None and p.daylight[0] <= start and end <= p.daylight[1]
    calm = all(_calm_since(p, limit, start) for limit in p.limit_sets[stay.limits])
    return inside and calm and _chance(p, stay, start, end) >= p.confidence - 1e-9


def _chance(p: Problem, stay: Stay, start: int, end: int) -> float:
    members = max((len(rows) for rows in p.series.values()), default=1)
    limits = p.limit_sets[stay.limits]
    if not _fresh(p) or start < 0 or end > p.slots * p.slot_min or any(limit.series not in p.series for limit in limits):
        return 0.0
    touched = sorted({minute // p.slot_min for minute in range(start, end)})
    good = 0
    for member in range(members):
        good += all(_keeps(limit, p.series[limit.series][member][slot]) for slot in touched for limit in limits)
    return good / members


def _calm_since(p: Problem, limit: Limit, start: int) -> bool:
    """At `start` the readings have kept the limit for the re-entry time; a bad last reading counts until now."""
    calm_from: int | None = None
    for reading in p.measured.get(limit.series, ()):
        bad = not _keeps(limit, reading.value)
        if bad:
            calm_from = p.now_min
        elif calm_from is not None and not _keeps(limit, _before(p, limit, reading.at_min)):
            calm_from = reading.at_min
    return calm_from is None or start >= calm_from + p.reentry_min


def _before(p: Problem, limit: Limit, at_min: int) -> float | None:
    return [reading.value for reading in p.measured[limit.series] if reading.at_min < at_min][-1]


def _keeps(limit: Limit, value: float | None) -> bool:
    if value is None:
        return False
    if limit.op == "<=":
        return value <= limit.value
    if limit.op == "<":
        return value < limit.value
    if limit.op == ">=":
        return value >= limit.value
    return value > limit.value
