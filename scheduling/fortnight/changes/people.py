"""Changes to who is there: away, added, longer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from scheduling.fortnight.changes.base import Change, Draft, Refused, cents, days_said, found, new_name
from scheduling.fortnight.problem import Problem, Shift

MOST_LONGER_MIN = 240


@dataclass(frozen=True)
class PersonAway(Change):
    """Somebody is not there on these days."""

    person: str
    days: tuple[str, ...]
    kind: ClassVar[str] = "person away"

    def lay(self, draft: Draft) -> None:
        """No shift on these days."""
        person = found(draft.people, self.person, "person", "person")
        days = draft.day_indexes(self.days)
        draft.people[person.id] = replace(person, shifts=tuple(one for one in person.shifts if one.day not in days))

    def said(self, problem: Problem) -> str:
        """Ada away Wed 10 Jun."""
        return f"{self.person} away {days_said(problem, self.days)}"

    def cure(self, problem: Problem) -> str:
        """An absence."""
        return f"enter an absence of {self.person} on {days_said(problem, self.days)} (Register, Technicians)"

    def part(self, problem: Problem) -> Any:
        """Their shifts on these days."""
        return [one.day for one in _shifts(problem, self.person) if problem.days[one.day].date in self.days]


@dataclass(frozen=True)
class PersonAdded(Change):
    """Somebody new, in everything as a colleague is: shifts, skills, certificates. `day_cost`: currency a day out, if hired."""

    person: str
    like: str
    day_cost: float = 0.0
    kind: ClassVar[str] = "person added"

    def lay(self, draft: Draft) -> None:
        """A copy of the colleague as they were before any change."""
        people = {one.id: one for one in draft.base.people}
        name = new_name(people, self.person, "person", "person")
        colleague = found(people, self.like, "like", "person")
        draft.people[name] = replace(colleague, id=name, name=name, day_cost=cents(self.day_cost, "day_cost"))

    def said(self, problem: Problem) -> str:
        """With the day rate."""
        cost = f", {self.day_cost:g} {problem.currency} a day out" if self.day_cost else ""
        return f"{self.person} added, as {self.like} in shifts, skills and certificates{cost}"

    def cure(self, problem: Problem) -> str:
        """A technician with all that planning asks."""
        return (
            f"enter {self.person} as a technician of the base with shift pattern, skills and valid certificates of their own "
            "(Register, Technicians)"
        )

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The name."""
        return (f"person {self.person}",)

    def part(self, problem: Problem) -> Any:
        """Whether they are there."""
        return any(one.id == self.person for one in problem.people)


@dataclass(frozen=True)
class ShiftLonger(Change):
    """A shift ends later by `minutes` (below 0: earlier) on these days, none named: on all. What is added is overtime."""

    person: str
    minutes: int
    days: tuple[str, ...] = ()
    kind: ClassVar[str] = "shift longer"

    def lay(self, draft: Draft) -> None:
        """Later ends, inside each day's grid."""
        person = found(draft.people, self.person, "person", "person")
        if not self.minutes or self.minutes % draft.base.slot_min or abs(self.minutes) > MOST_LONGER_MIN:
            most = f"{MOST_LONGER_MIN} either way, in steps of {draft.base.slot_min}"
            raise Refused("minutes", f"{self.minutes} minutes: give up to {most}, not 0")
        days = draft.day_indexes(self.days) if self.days else set(range(len(draft.base.days)))
        if not any(one.day in days for one in person.shifts):
            raise Refused("days", f"{self.person} has no shift on any of these days: name days with a shift, or none for all")
        shifts = tuple(self._longer(draft, one) if one.day in days else one for one in person.shifts)
        draft.people[person.id] = replace(person, shifts=tuple(one for one in shifts if one is not None))

    def _longer(self, draft: Draft, shift: Shift) -> Shift | None:
        day = draft.base.days[shift.day]
        end = shift.end + self.minutes // draft.base.slot_min
        if end > day.slots:
            room = (day.slots - shift.end) * draft.base.slot_min
            raise Refused(
                "minutes", f"{self.minutes} minutes reach beyond the plannable hours of {day.date}: give at most {room}"
            )
        return replace(shift, end=end, regular_end=min(shift.regular_end, end)) if end > shift.start else None

    def said(self, problem: Problem) -> str:
        """By how much, and when."""
        way = "longer" if self.minutes > 0 else "shorter"
        return f"shift of {self.person} {abs(self.minutes)} min {way} at its end, {days_said(problem, self.days)}"

    def cure(self, problem: Problem) -> str:
        """The overtime of the pattern."""
        return (
            f"change the overtime hours of {self.person}'s shift pattern by {self.minutes / 60:+g} h, within the working-time "
            "rules (Register, Shift patterns)"
        )

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """Each of the person's days."""
        return tuple(f"shift of {self.person} on {day}" for day in self.days or (day.date for day in problem.days))

    def part(self, problem: Problem) -> Any:
        """When the shifts end."""
        days = self.days or tuple(day.date for day in problem.days)
        shifts = [one for one in _shifts(problem, self.person) if problem.days[one.day].date in days]
        return [(one.day, one.end, one.regular_end) for one in shifts]


def _shifts(problem: Problem, person: str) -> list[Shift]:
    return [shift for one in problem.people if one.id == person for shift in one.shifts]
