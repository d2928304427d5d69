"""Changes to equipment, vehicles and turbines."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from scheduling.fortnight.changes.base import Change, Draft, Refused, days_said, found, new_name, whole
from scheduling.fortnight.problem import Problem, Vehicle


@dataclass(frozen=True)
class EquipmentDays(Change):
    """The days on which shared equipment is there, in place of those booked."""

    equipment: str
    days: tuple[str, ...]
    kind: ClassVar[str] = "equipment days"

    def lay(self, draft: Draft) -> None:
        """Its days; orders that waited for it open on them, and close on all others."""
        piece = found(draft.equipment, self.equipment, "equipment", "equipment")
        days = draft.day_indexes(self.days)
        draft.equipment[piece.id] = replace(piece, days=tuple(sorted(days)))
        for order in draft.base.orders:
            if piece.id in order.equipment:
                draft.lift(order.id, f"equipment {piece.id}", days)
                draft.take(order.id, set(range(len(draft.base.days))) - days)

    def said(self, problem: Problem) -> str:
        """When."""
        return f"{self.equipment} there on {days_said(problem, self.days)} only"

    def cure(self, problem: Problem) -> str:
        """Its bookings."""
        return f"book {self.equipment} for {days_said(problem, self.days)} (Register, Equipment)"

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """Its days."""
        return (f"days of {self.equipment}",)

    def part(self, problem: Problem) -> Any:
        """Of the days asked for, those on which it is there."""
        days = {problem.days[day].date for one in problem.equipment if one.id == self.equipment for day in one.days}
        return sorted(days & set(self.days))


@dataclass(frozen=True)
class VehicleAdded(Change):
    """One vehicle more."""

    vehicle: str
    seats: int
    kind: ClassVar[str] = "vehicle added"

    def lay(self, draft: Draft) -> None:
        """With its seats."""
        name = new_name({one.id: one for one in draft.base.vehicles}, self.vehicle, "vehicle", "vehicle")
        draft.vehicles[name] = Vehicle(name, whole(self.seats, 2, 50, "seats", "seats"))

    def said(self, problem: Problem) -> str:
        """With its seats."""
        return f"vehicle {self.vehicle} added, {self.seats} seats"

    def cure(self, problem: Problem) -> str:
        """A vehicle of the base."""
        return f"enter {self.vehicle} as a vehicle of the base with {self.seats} seats (Register, Vehicles)"

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The name."""
        return (f"vehicle {self.vehicle}",)

    def part(self, problem: Problem) -> Any:
        """Whether it is there."""
        return any(one.id == self.vehicle and one.seats >= self.seats for one in problem.vehicles)


@dataclass(frozen=True)
class VehicleGone(Change):
    """A vehicle is not there in these days."""

    vehicle: str
    kind: ClassVar[str] = "vehicle gone"

    def lay(self, draft: Draft) -> None:
        """Without it."""
        known = {one.id: one for one in draft.base.vehicles}
        found(known, self.vehicle, "vehicle", "vehicle")
        del draft.vehicles[self.vehicle]

    def said(self, problem: Problem) -> str:
        """Which."""
        return f"without vehicle {self.vehicle}"

    def cure(self, problem: Problem) -> str:
        """The vehicle's row."""
        return f"take vehicle {self.vehicle} off the base (Register, Vehicles)"

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The vehicle."""
        return (f"vehicle {self.vehicle}",)

    def part(self, problem: Problem) -> Any:
        """Whether it is there."""
        return any(one.id == self.vehicle for one in problem.vehicles)


@dataclass(frozen=True)
class TurbineClosed(Change):
    """Nobody works on a turbine on these days."""

    turbine: str
    days: tuple[str, ...]
    kind: ClassVar[str] = "turbine closed"

    def lay(self, draft: Draft) -> None:
        """The days go from its orders."""
        found({one.id: one for one in draft.base.turbines}, self.turbine, "turbine", "turbine")
        draft.shut.setdefault(self.turbine, set()).update(draft.day_indexes(self.days))

    def said(self, problem: Problem) -> str:
        """When."""
        return f"{self.turbine} closed {days_said(problem, self.days)}"

    def cure(self, problem: Problem) -> str:
        """A closure."""
        return f"enter a closure of {self.turbine} for {days_said(problem, self.days)} (Register, Closures)"

    def part(self, problem: Problem) -> Any:
        """Orders that may be worked on these days."""
        wanted = set(self.days)
        return [
            order.id
            for order in problem.orders
            if order.turbine == self.turbine and any(problem.days[day].date in wanted for day in order.days)
        ]


@dataclass(frozen=True)
class MostStopped(Change):
    """Rules that may be tried: how many turbines of a site may stand at once. What protects lives is refused by name."""

    rule: str
    value: int
    site: str = ""
    kind: ClassVar[str] = "rule"

    def lay(self, draft: Draft) -> None:
        """The site's number."""
        refuse_law(self.rule)
        sites = sorted({one.site for one in draft.base.turbines})
        if self.site not in sites:
            raise Refused("site", f"{self.site!r} is no site of this problem; there are {', '.join(sites) or 'none'}")
        whole(self.value, 1, 1000, "value", "turbines")
        draft.rules = replace(draft.rules, max_stopped={**draft.rules.max_stopped, self.site: self.value})

    def said(self, problem: Problem) -> str:
        """How many."""
        return f"at most {self.value} turbines of {self.site} stopped at once"

    def cure(self, problem: Problem) -> str:
        """The site's number."""
        return f"set 'most stopped' of site {self.site} to {self.value} (Register, Sites)"

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """The site's number."""
        return (f"most stopped at {self.site}",)

    def part(self, problem: Problem) -> Any:
        """The number."""
        return problem.rules.max_stopped.get(self.site)


RULES = ("most stopped",)
LAW_AND_LIFE = {
    "team of two": "never fewer than two people up a turbine",
    "min_team": "never fewer than two people up a turbine",
    "rescue pair": "every team can rescue its own",
    "rescue_pair": "every team can rescue its own",
    "certificates": "nobody goes up without valid certificates",
    "statutory dates": "the law's dates are never stretched",
    "daily rest": "the working-time rules are the law's",
    "rest_min": "the working-time rules are the law's",
    "weekly hours": "the working-time rules are the law's",
    "week_max_min": "the working-time rules are the law's",
    "break": "the working-time rules are the law's",
    "break_min": "the working-time rules are the law's",
    "break_after_min": "the working-time rules are the law's",
    "climbs a day": "it keeps people from exhaustion",
    "climbs_a_day": "it keeps people from exhaustion",
    "ladder_climbs_a_day": "it keeps people from exhaustion",
    "cover": "rescuers must reach whoever is up",
    "cover_min": "rescuers must reach whoever is up",
    "descent": "everybody is down before the limit",
}
"""Rules of law and life, and why none of them is tried."""


def refuse_law(rule: str) -> None:
    """Refuse what protects lives or is the law's, and what is no rule."""
    if rule in LAW_AND_LIFE:
        raise Refused("rule", f"{rule!r} cannot be changed, not even to try: {LAW_AND_LIFE[rule]}")
    if rule not in RULES:
        raise Refused("rule", f"{rule!r} is no rule that can be tried; there is {', '.join(RULES)}")
