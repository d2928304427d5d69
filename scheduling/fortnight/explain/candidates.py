"""What might let an order in: relaxed copies of a problem, each with one thing less in the way.

Never proposed, whatever they would save: the size of a team, the rescue pair, certificates, skills, lightning, shut gates,
daily rest, weekly hours. A weather limit is tried only to tell what binds, and says so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from scheduling.fortnight.explain.background import LIFTABLE, NEVER_RAISED, Background
from scheduling.fortnight.explain.words import day_text, hours, named, percent
from scheduling.fortnight.plan import Job, Plan
from scheduling.fortnight.problem import Held, Order, Person, Problem, Shift, Vehicle
from scheduling.fortnight.room import Room

LIMIT_CAUTION = (
    "The limit is the maker's or the site's: it is shown only to tell what binds. Nobody may work above it, and no plan "
    "is made with it raised."
)
CHANCE_CAUTION = "A stay planned at less chance is broken off more often; the limits themselves hold as ever."
CLIMB_CAUTION = "Climbs per person and day are the site's rule for people's strength; only who set it may change it."
UNPRICED = "What it costs to get is not counted."

CHANCE_STEPS = (0.05, 0.1)
LEAST_CHANCE = 0.5
LATER_MIN = (60, 120)
HIRED, MORE_VEHICLE = "hired person", "one more vehicle"


@dataclass(frozen=True)
class Candidate:
    """One thing less in the way: what, in words, the relaxed problem, and what must be said with it."""

    kind: str
    text: str
    problem: Problem
    caution: str = ""


KINDS: dict[str, str] = {
    "exchange": "other orders moved or left out",
    "limit": "a weather limit at another value",
    "chance": "less chance asked for",
    "person": "one person more on a day",
    "part": "parts or equipment there earlier",
    "day": "one more day allowed",
    "overtime": "later ends of shifts",
    "vehicle": "one vehicle more",
    "climb": "one climb more a day",
}
"""Kinds of candidates, in plain words."""


def candidates(problem: Problem, plan: Plan, order_id: str, background: Background) -> tuple[Candidate, ...]:
    """Everything worth trying for one order that is left out, each by itself; see KINDS."""
    order = next(order for order in problem.orders if order.id == order_id)
    asked = _Asked(problem, order, background)
    makers = (_exchange, _limits, _chance, _people_off, _hired, _days, _equipment, _overtime, _vehicle, _climb)
    return tuple(candidate for make in makers for candidate in make(asked))


class _Asked:
    """The order asked about, with the days on which the weather leaves it a start."""

    def __init__(self, problem: Problem, order: Order, background: Background) -> None:
        self.problem, self.order, self.background = problem, order, background
        self.room = Room(problem)
        rules, every = problem.rules, range(len(problem.days))
        self.calm = [day for day in every if any(self._chance(job, day) >= rules.confidence for job in self._jobs())]
        self.best = max(min(self._best(job) for job in jobs) for jobs in self._modes())
        opened = {day for job in self._jobs() for day in self.room.days_open(order, job)}
        self.days = [day for day in self.calm if day in opened]

    def _modes(self) -> list[list[Job]]:
        return [[Job(self.order.id, n, minutes) for n, minutes in enumerate(mode.visits_min)] for mode in self.order.modes]

    def _jobs(self) -> list[Job]:
        return [job for jobs in self._modes() for job in jobs]

    def _best(self, job: Job) -> float:
        return max((self._chance(job, day) for day in self.room.days_open(self.order, job)), default=0.0)

    def _chance(self, job: Job, day: int) -> float:
        """Best chance of a start of one visit on the day."""
        if not self.room.can_climb(self.order, day):
            return 0.0
        return float(self.room.chances(self.order, job, day).max(initial=0.0))

    def with_order(self, problem: Problem, **changes: object) -> Problem:
        """The problem with other fields in the order."""
        orders = tuple(replace(o, **changes) if o is self.order else o for o in problem.orders)  # type: ignore[arg-type]
        return replace(problem, orders=orders)

    def on(self, day: int) -> str:
        """A day in words."""
        return day_text(self.problem, day)


def _exchange(a: _Asked) -> Iterator[Candidate]:
    yield Candidate("exchange", "Other orders are moved or left out for it", a.problem)


def _limits(a: _Asked) -> Iterator[Candidate]:
    """Each limit of the order and of its equipment by itself, then the same limit of several of them at once."""
    windows = (a.order.window, *a.order.also)
    steps = [(key, s) for key in windows for s in a.background.steps.get(key, ()) if s.variable not in NEVER_RAISED]
    for key, step in steps:
        yield Candidate("limit", step.text, _raised(a, {key: step.packed}), LIMIT_CAUTION)
    for variable, by in dict.fromkeys((s.variable, s.by) for _, s in steps if s.by):
        alike = {key: s for key, s in reversed(steps) if (s.variable, s.by) == (variable, by)}
        if len(alike) > 1:
            text = "; ".join(alike[key].text for key in windows if key in alike)
            yield Candidate("limit", text, _raised(a, {key: s.packed for key, s in alike.items()}), LIMIT_CAUTION)


def _raised(a: _Asked, packed: dict[str, str]) -> Problem:
    """The problem in which the order goes by these verdicts instead."""
    names = {key: f"{key} raised" for key in packed}
    tables = {**a.problem.workable, **{names[key]: table for key, table in packed.items()}}
    window, *also = (names.get(key, key) for key in (a.order.window, *a.order.also))
    # The tables must be there before the order points to them.
    return a.with_order(replace(a.problem, workable=tables), window=window, also=tuple(also))


def _chance(a: _Asked) -> Iterator[Candidate]:
    asked = a.problem.rules.confidence
    shares = {round(asked - step, 6) for step in CHANCE_STEPS} | ({a.best} if a.best < asked else set())
    for share in sorted(shares, reverse=True):
        if share >= LEAST_CHANCE:
            rules = replace(a.problem.rules, confidence=share)
            text = f"{percent(share)} chance asked for instead of {percent(asked)}"
            yield Candidate("chance", text, replace(a.problem, rules=rules), CHANCE_CAUTION)


def _people_off(a: _Asked) -> Iterator[Candidate]:
    """Of those off on a day, the one who holds most of what the order needs."""
    for day in a.days:
        off = [p for p in a.problem.people if _is_off(p, day)]
        if not off:
            continue
        best = max(off, key=lambda p: (_useful(a.order, p, day), day in p.rescue_days, p.id))
        shift = _usual_shift(a.problem, day, best)
        if shift is not None:
            person = replace(best, shifts=tuple(sorted((*best.shifts, shift), key=lambda s: s.day)))
            why = a.background.absent.get(best.id, {}).get(day, "off")
            people = tuple(person if p is best else p for p in a.problem.people)
            text = f"{best.name} at work on {a.on(day)} (now: {why})"
            yield Candidate("person", text, replace(a.problem, people=people), UNPRICED)


def _is_off(person: Person, day: int) -> bool:
    return day in person.fit_days and not person.learner and all(shift.day != day for shift in person.shifts)


def _useful(order: Order, person: Person, day: int) -> int:
    held = [(h.skill, h.level) for h in person.skills if day in h.days]
    return sum(any(skill == need.skill and level >= need.level for skill, level in held) for need in order.needs)


def _usual_shift(problem: Problem, day: int, person: Person | None = None) -> Shift | None:
    """The person's own hours on the nearest other day, else the longest shift that anybody has that day."""
    own = sorted(person.shifts, key=lambda s: abs(s.day - day)) if person else []
    others = [shift for p in problem.people for shift in p.shifts if shift.day == day]
    found = own[0] if own else max(others, key=lambda s: s.end - s.start, default=None)
    if found is None:
        return None
    end = min(found.end, problem.days[day].slots)
    return Shift(day, min(found.start, end), end, min(found.regular_end, end)) if found.start < end else None


def _hired(a: _Asked) -> Iterator[Candidate]:
    """Somebody from outside with every skill that the order asks for, for one day."""
    if HIRED in {person.id for person in a.problem.people}:
        return
    for day in a.days:
        shift = _usual_shift(a.problem, day)
        if shift is not None:
            skills = tuple(Held(need.skill, need.level, (day,)) for need in a.order.needs)
            person = Person(HIRED, f"a {HIRED}", (shift,), skills, (day,), (day,))
            what = f" with {named(f'{need.skill} level {need.level}' for need in a.order.needs)}" if skills else ""
            text = f"A {HIRED}{what} on {a.on(day)}"
            yield Candidate("person", text, replace(a.problem, people=(*a.problem.people, person)), UNPRICED)


def _days(a: _Asked) -> Iterator[Candidate]:
    """Days that are closed to the order and that somebody can open: parts earlier, a hold or closure lifted."""
    shut = {day: why for day, why in a.background.shut.get(a.order.id, {}).items() if why.kind in LIFTABLE}
    for day in [day for day in a.calm if day in shut and shut[day].kind != "equipment"]:
        kind = shut[day].kind
        if kind in ("part", "hold"):  # there by that day means there on the next ones too
            opened = {d for d, why in shut.items() if d >= day and why.kind == kind}
            what = "Parts there" if kind == "part" else "The hold lifted"
            text = f"{what} by {a.on(day)} (now: {shut[day].text})"
        else:
            opened, text = {day}, f"{a.on(day)} allowed too (now: {shut[day].text})"
        problem = a.with_order(a.problem, days=tuple(sorted({*a.order.days, *opened})))
        yield Candidate("part" if kind == "part" else "day", text, problem, UNPRICED)


def _equipment(a: _Asked) -> Iterator[Candidate]:
    shut = {day for day, why in a.background.shut.get(a.order.id, {}).items() if why.kind == "equipment"}
    pieces = [piece for piece in a.problem.equipment if piece.id in a.order.equipment]
    for day in [day for day in a.calm if day in a.order.days or day in shut]:
        away = [piece for piece in pieces if day not in piece.days]
        if away:
            days = a.with_order(a.problem, days=tuple(sorted({*a.order.days, day})))
            equipment = tuple(replace(e, days=tuple(sorted((*e.days, day)))) if e in away else e for e in a.problem.equipment)
            text = f"{named(piece.name for piece in away)} there on {a.on(day)} too"
            yield Candidate("part", text, replace(days, equipment=equipment))


def _overtime(a: _Asked) -> Iterator[Candidate]:
    for minutes in LATER_MIN:
        slots = minutes // a.problem.slot_min
        people = tuple(replace(p, shifts=tuple(_later(a, shift, slots) for shift in p.shifts)) for p in a.problem.people)
        if slots and people != a.problem.people:
            text = f"Shifts that may end {hours(slots * a.problem.slot_min)} later, as overtime"
            yield Candidate("overtime", text, replace(a.problem, people=people))


def _later(a: _Asked, shift: Shift, slots: int) -> Shift:
    if shift.day not in a.order.days:
        return shift
    return replace(shift, end=max(shift.end, min(shift.end + slots, a.problem.days[shift.day].slots)))


def _vehicle(a: _Asked) -> Iterator[Candidate]:
    seats = max([vehicle.seats for vehicle in a.problem.vehicles] + [mode.team for mode in a.order.modes])
    if MORE_VEHICLE not in {vehicle.id for vehicle in a.problem.vehicles}:
        vehicles = (*a.problem.vehicles, Vehicle(MORE_VEHICLE, seats))
        yield Candidate("vehicle", f"One more vehicle of {seats} seats", replace(a.problem, vehicles=vehicles), UNPRICED)


def _climb(a: _Asked) -> Iterator[Candidate]:
    rules = a.problem.rules
    more = replace(rules, climbs_a_day=rules.climbs_a_day + 1, ladder_climbs_a_day=rules.ladder_climbs_a_day + 1)
    text = f"One climb more a day ({more.climbs_a_day}, by ladder {more.ladder_climbs_a_day})"
    yield Candidate("climb", text, replace(a.problem, rules=more), CLIMB_CAUTION)
