"""Go, wait or no-go for every stay of a day, from the published plan and the newest forecast.

A verdict is never better than its worst reason: what no later start can cure (people, gates, a stale or missing forecast)
is no-go; weather, shift, daylight and readings are no-go unless a later start today cures them, which is wait.
"""

from __future__ import annotations

from dataclasses import dataclass

from planner.cautions import CAUTION, STALE
from scheduling.day.explain import binding_text, clock, percent
from scheduling.day.measured import measured_stop
from scheduling.day.problem import Person, Problem, Reason, Stay, Verdict
from scheduling.day.weather import View


def decide(problem: Problem) -> tuple[Verdict, ...]:
    """One verdict for each stay, in the order of the plan."""
    return tuple(_decide(problem, stay) for stay in problem.stays)


@dataclass(frozen=True)
class _Starts:
    """Starts of a stay: the one meant today, those from now on that fit, and the best chance of any."""

    meant: int
    safe: tuple[int, ...]
    best: float
    not_before: int | None

    @property
    def later(self) -> int | None:
        """First start that fits after the one meant."""
        return next((start for start in self.safe if start > self.meant), None)


def _decide(problem: Problem, stay: Stay) -> Verdict:
    view = View(problem, stay)
    not_before, measured = measured_stop(problem, stay)
    starts = _starts(view, not_before)
    lasting = (*_forecast_reasons(view), *_people_reasons(problem, stay), *_gate_reasons(stay))
    good_now = starts.meant in starts.safe
    verdict = "no-go" if lasting else "go" if good_now else "wait" if starts.later is not None else "no-go"
    start = {"go": starts.meant, "wait": starts.later, "no-go": None}[verdict]
    down = None if start is None else _must_be_down(view, start)
    # What no later start can cure stands alone: beside it, "a start at 15:00 fits" would mislead.
    passing = () if good_now or lasting else _passing_reasons(view, starts, measured)
    reasons = (*lasting, *passing) if lasting or not good_now else (_go_reason(view, starts.meant),)
    return Verdict(
        stay=stay.id,
        team=stay.team,
        turbine=stay.turbine,
        verdict=verdict,
        planned_start_min=stay.planned_start_min,
        start_min=start,
        first_safe_min=starts.safe[0] if starts.safe else None,
        last_safe_min=starts.safe[-1] if starts.safe else None,
        must_be_down_min=down,
        start_down_min=None if down is None else down - stay.down_min,
        chance=view.chance(starts.meant),
        chance_best=starts.best,
        binding=view.binding(starts.meant if start is None else start),
        forecast_age_h=problem.age_h,
        reasons=reasons,
        caution=CAUTION,
    )


def _starts(view: View, not_before: int | None) -> _Starts:
    p, stay = view.problem, view.stay
    meant = max(p.now_min, stay.planned_start_min)
    slots = [slot * p.slot_min for slot in range(p.slots)]
    open_starts = sorted(m for m in {meant, *slots} if m >= p.now_min and _inside(view, m))
    chances = {m: view.chance(m) for m in open_starts}
    safe = tuple(m for m in open_starts if chances[m] >= p.confidence - 1e-9 and (not_before is None or m >= not_before))
    return _Starts(meant, safe, max(chances.values(), default=0.0), not_before)


def _inside(view: View, start: int) -> bool:
    """The stay lies inside shift and, where asked, daylight."""
    stay, light = view.stay, view.problem.daylight
    end = start + stay.minutes
    if stay.daylight and (light is None or start < light[0] or end > light[1]):
        return False
    return stay.shift_start_min <= start and end <= stay.shift_end_min


def _must_be_down(view: View, start: int) -> int | None:
    ends = [view.down_by_min(start), view.stay.shift_end_min]
    if view.stay.daylight and view.problem.daylight is not None:
        ends.append(view.problem.daylight[1])
    return min(end for end in ends if end is not None)


def _forecast_reasons(view: View) -> list[Reason]:
    p = view.problem
    if p.age_h is None:
        return [Reason("no forecast", f"There is no forecast. {STALE}")]
    found = []
    if p.age_h > p.stale_after_h:
        found.append(Reason("stale forecast", f"The forecast is {p.age_h:.1f} h old, more than {p.stale_after_h:g} h. {STALE}"))
    if p.age_h < 0:
        found.append(Reason("stale forecast", "The forecast is stamped later than now; check the clock, then fetch it again."))
    for limit, values in zip(view.limits, view.values, strict=True):
        if values is None:
            found.append(Reason("no forecast", f"The forecast holds no {limit.name}, which the work is limited by. {STALE}"))
    return found


def _people_reasons(p: Problem, stay: Stay) -> list[Reason]:
    found = [Reason("person", _unfit_text(person)) for person in stay.people if not person.fit]
    counting = [person for person in stay.people if person.fit and not person.learner]
    if len(counting) < p.min_team:
        text = f"Only {len(counting)} fit people are in the team, {p.min_team} are needed; add one or give the visit up."
        found.append(Reason("people", text))
    rescuers = sum(person.rescue for person in counting)
    if rescuers < p.rescue_pair:
        text = f"Only {rescuers} of the team can carry out a rescue, {p.rescue_pair} are needed; change the team."
        found.append(Reason("rescue", text))
    return found


def _unfit_text(person: Person) -> str:
    return f"{person.name} may not climb today ({person.why_not or 'a base certificate is not valid'}); change the team."


def _gate_reasons(stay: Stay) -> list[Reason]:
    needed = {*stay.uses, *(("lift",) if stay.by == "lift" else ())}
    shut = [gate for gate in stay.gates if gate.shut and gate.stops in needed]
    return [Reason("gate", f"{gate.name} stops {gate.stops} at {stay.turbine}{_because(gate.why)}.") for gate in shut]


def _because(why: str) -> str:
    return f": {why.rstrip('.')}" if why else ""


def _passing_reasons(view: View, starts: _Starts, measured: Reason | None) -> tuple[Reason, ...]:
    """Why the start meant does not fit, and what the day still offers."""
    p, stay, meant = view.problem, view.stay, starts.meant
    found = []
    if measured is not None and starts.not_before is not None and meant < starts.not_before:
        found.append(measured)
    if not _inside(view, meant):
        found.append(_outside_reason(view, meant))
    if view.chance(meant) < p.confidence - 1e-9:
        text = f"From {clock(p, meant)} the whole stay fits in {percent(view.chance(meant))} of the members, asked are "
        found.append(Reason("weather", text + f"{percent(p.confidence)}; {binding_text(p, view.binding(meant))}."))
    if starts.later is not None:
        found.append(Reason("later", f"A start at {clock(p, starts.later)} fits."))
    elif starts.safe:
        text = f"Only an earlier start fits, from {clock(p, starts.safe[0])}; have the plan changed before using it."
        found.append(Reason("earlier", text))
    else:
        found.append(Reason("none today", f"No start from now on fits a stay of {stay.minutes} min today."))
    return tuple(found)


def _outside_reason(view: View, start: int) -> Reason:
    p, stay = view.problem, view.stay
    end = start + stay.minutes
    if start < stay.shift_start_min or end > stay.shift_end_min:
        shift = f"{clock(p, stay.shift_start_min)} to {clock(p, stay.shift_end_min)}"
        return Reason("shift", f"From {clock(p, start)} to {clock(p, end)} the stay leaves the shift ({shift}).")
    if p.daylight is None:
        return Reason("daylight", "The work needs daylight, and when it is light is not known.")
    light = f"{clock(p, p.daylight[0])} to {clock(p, p.daylight[1])}"
    return Reason("daylight", f"From {clock(p, start)} to {clock(p, end)} the stay leaves the daylight ({light}).")


def _go_reason(view: View, start: int) -> Reason:
    p = view.problem
    text = f"From {clock(p, start)} the whole stay fits in {percent(view.chance(start))} of the members; "
    return Reason("fits", text + f"{binding_text(p, view.binding(start))}.")
