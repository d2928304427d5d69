"""One visit of one mode of an order that was left out, with the starts that each test leaves to the next."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from scheduling.fortnight.explain.words import Clock
from scheduling.fortnight.plan import Job, Plan, Visit
from scheduling.fortnight.problem import Mode, Order, Person, Problem
from scheduling.fortnight.room import Room


@dataclass(frozen=True)
class Case:
    """What is asked. `empty` is the room without a plan, `room` the room beside the plan."""

    problem: Problem
    plan: Plan
    order: Order
    mode: Mode
    job: Job
    empty: Room
    room: Room
    clock: Clock

    @cached_property
    def days_to_climb(self) -> list[int]:
        """Allowed days on which the turbine may be climbed."""
        return [day for day in sorted(self.order.days) if self.room.can_climb(self.order, day)]

    @cached_property
    def days(self) -> list[int]:
        """The same, where equipment is there and pins allow."""
        return self.room.days_open(self.order, self.job)

    @cached_property
    def drafts(self) -> list[Visit]:
        """Starts with enough chance."""
        return [draft for day in self.days for draft in self.room.drafts(self.order, self.job, day)]

    @cached_property
    def staff(self) -> list[tuple[Visit, list[Person]]]:
        """Each start with the fit people who are on shift for the whole time away, were there no other work."""
        return [(draft, self.empty.free_people(draft)) for draft in self.drafts]

    @cached_property
    def staffs(self) -> list[tuple[int, list[Person]]]:
        """(day, people) of `staff`, the same people of the same day once."""
        found = {(draft.day, id(able)): (draft.day, able) for draft, able in self.staff}
        return list(found.values())

    @cached_property
    def crewed_alone(self) -> list[Visit]:
        """Starts at which some team could do it, were there no other work."""
        return [draft for draft in self.drafts if self.empty.with_new_team(self.order, self.mode, draft)]

    @cached_property
    def placed(self) -> list[Visit]:
        """Of these, the starts at which turbine, equipment and site are free beside the plan."""
        return [
            d for d in self.crewed_alone if self.room.is_place_free(self.order, d) and self.room.is_after_others(self.order, d)
        ]

    def orders_out(self, day: int, people: set[str] | None = None) -> list[str]:
        """Orders worked on that day (by any of `people`), each once."""
        visits = [v for v in self.room.days[day] if people is None or people & set(v.people)]
        return list(dict.fromkeys(job.order for visit in visits for job in visit.jobs))
