"""Changes to orders: their dates, days, mode, price, and whether they are planned at all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, ClassVar

from scheduling.fortnight.changes.base import (
    MOST_CENTS,
    Change,
    Draft,
    Refused,
    as_date,
    cents,
    days_said,
    found,
    order_said,
    whole,
)
from scheduling.fortnight.problem import Mode, Order, Problem

LAW = "its date is the law's: it cannot be changed, not even to try"


@dataclass(frozen=True)
class OrderChange(Change):
    """A change to one order."""

    order: str

    def _record(self, draft: Draft) -> Order:
        order: Order = found(draft.orders, self.order, "order", "order")
        return order

    def _in(self, problem: Problem) -> Order | None:
        return next((one for one in problem.orders if one.id == self.order), None)

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """One of its kind for an order."""
        return (f"{self.kind} of {self.order}",)


@dataclass(frozen=True)
class DueDate(OrderChange):
    """Another due date. What leaving out costs moves by the lateness that the horizon sees, as the builder counts it."""

    day: str
    kind: ClassVar[str] = "due date"

    def lay(self, draft: Draft) -> None:
        """Due day and what hangs on it."""
        order = self._record(draft)
        if order.id in draft.register.statutory:
            raise Refused("order", f"{order.id} is statutory: {LAW}; leave it out or change its work instead")
        days = len(draft.base.days)
        due = (as_date(self.day, "day") - as_date(draft.base.days[0].date, "day")).days
        if not -3660 <= due <= 3660:
            raise Refused("day", f"{self.day} is more than ten years away: give a nearer day")
        more = order.late_cost * (_late_days(due, days) - _late_days(order.due_day, days))
        draft.orders[order.id] = replace(order, due_day=due, left_out_cost=min(MOST_CENTS, max(0, order.left_out_cost + more)))

    def said(self, problem: Problem) -> str:
        """When."""
        return f"{order_said(problem, self.order)} due {self.day}"

    def cure(self, problem: Problem) -> str:
        """The order's due date."""
        return f"give order {self.order} the due date {self.day} (Orders)"

    def part(self, problem: Problem) -> Any:
        """The due day."""
        order = self._in(problem)
        return order and order.due_day


def _late_days(due: int, days: int) -> int:
    """Days of lateness that leaving out pays for: those the horizon would have seen, and those before it."""
    return max(0, days - max(0, due)) + max(0, -due)


@dataclass(frozen=True)
class AllowedDays(OrderChange):
    """The days on which it may be worked, in place of those the register gives."""

    days: tuple[str, ...]
    kind: ClassVar[str] = "allowed days"

    def lay(self, draft: Draft) -> None:
        """These and no others."""
        order = self._record(draft)
        draft.allowed[order.id] = draft.day_indexes(self.days)

    def said(self, problem: Problem) -> str:
        """Which."""
        return f"{order_said(problem, self.order)} only on {days_said(problem, self.days)}"

    def cure(self, problem: Problem) -> str:
        """Whatever closes the days."""
        return (
            f"end whatever closes {days_said(problem, self.days)} for order {self.order}: hold, closure, parts, booking or gate"
        )

    def part(self, problem: Problem) -> Any:
        """Days that this asks for and that are not there."""
        order = self._in(problem)
        there = {problem.days[day].date for day in order.days} if order else set()
        return sorted(set(self.days) & there)


@dataclass(frozen=True)
class LeftOutCost(OrderChange):
    """What leaving it out costs, in the currency."""

    cost: float
    kind: ClassVar[str] = "left out cost"

    def lay(self, draft: Draft) -> None:
        """In whole cents."""
        order = self._record(draft)
        draft.orders[order.id] = replace(order, left_out_cost=cents(self.cost, "cost"))

    def said(self, problem: Problem) -> str:
        """How much."""
        return f"leaving {order_said(problem, self.order)} out costs {self.cost:,.0f} {problem.currency}"

    def part(self, problem: Problem) -> Any:
        """The cost."""
        order = self._in(problem)
        return order and order.left_out_cost


@dataclass(frozen=True)
class OrderMode(OrderChange):
    """How it is done: a team of `team` people and the work minutes of its visits; without minutes, the mode it has for them."""

    team: int
    visits_min: tuple[int, ...] = ()
    kind: ClassVar[str] = "order mode"

    def lay(self, draft: Draft) -> None:
        """This mode only."""
        order, least = self._record(draft), draft.base.rules.min_team
        if self.team < least:
            raise Refused(
                "team", f"{self.team}: never fewer than {least} people up a turbine, not even to try; give {least} or more"
            )
        whole(self.team, least, 20, "team", "people")
        for number, minutes in enumerate(self.visits_min):
            whole(minutes, 1, 24 * 60, f"visits_min[{number}]", "minutes")
        draft.orders[order.id] = replace(order, modes=(self._mode(order),))

    def _mode(self, order: Order) -> Mode:
        if self.visits_min:
            return Mode(self.team, self.visits_min)
        kept = [mode for mode in order.modes if mode.team == self.team]
        if not kept:
            sizes = ", ".join(str(mode.team) for mode in order.modes)
            raise Refused("team", f"{order.id} has no mode for {self.team} people; it has {sizes}: give visits_min for another")
        return kept[0]

    def said(self, problem: Problem) -> str:
        """People and minutes."""
        visits = f" in {' + '.join(str(one) for one in self.visits_min)} min" if self.visits_min else ""
        return f"{order_said(problem, self.order)} by {self.team} people{visits}"

    def cure(self, problem: Problem) -> str:
        """Effort left and team sizes."""
        if not self.visits_min:
            return ""
        effort = self.team * sum(self.visits_min) / 60
        return (
            f"set the effort left of order {self.order} to {effort:g} person-hours, and the team of its procedure to {self.team}"
        )

    def part(self, problem: Problem) -> Any:
        """Whether the order may be done so."""
        order = self._in(problem)
        return any(one.team == self.team and self.visits_min in ((), one.visits_min) for one in order.modes) if order else None


@dataclass(frozen=True)
class LeftOutByHand(OrderChange):
    """It is not planned in these days."""

    kind: ClassVar[str] = "left out by hand"

    def lay(self, draft: Draft) -> None:
        """No day is left for it; pins on it fall with it."""
        draft.by_hand.add(self._record(draft).id)

    def said(self, problem: Problem) -> str:
        """Which."""
        return f"{order_said(problem, self.order)} left out by hand"

    def part(self, problem: Problem) -> Any:
        """Nothing stands against it."""
        return None


@dataclass(frozen=True)
class PinLifted(OrderChange):
    """Its visits and people are free again."""

    kind: ClassVar[str] = "pin lifted"

    def lay(self, draft: Draft) -> None:
        """No pins of time or people."""
        order = self._record(draft)
        draft.orders[order.id] = replace(order, pins=(), crew=())

    def said(self, problem: Problem) -> str:
        """Which."""
        return f"{order_said(problem, self.order)} no longer pinned"

    def cure(self, problem: Problem) -> str:
        """The lock."""
        return f"take the pin off order {self.order}"

    def part(self, problem: Problem) -> Any:
        """Its pins."""
        order = self._in(problem)
        return order and (order.pins, order.crew)


@dataclass(frozen=True)
class PartsEarlier(OrderChange):
    """Its parts are there from this day on: days open that nothing else closes."""

    day: str
    kind: ClassVar[str] = "parts earlier"

    def lay(self, draft: Draft) -> None:
        """Lift what the parts close."""
        order = self._record(draft)
        first = draft.day_index(self.day)
        waiting = [int(day) for day, whats in draft.register.closed.get(order.id, {}).items() if "parts" in whats]
        if not waiting:
            raise Refused("order", f"{order.id} does not wait for parts in these days: there is nothing to bring forward")
        draft.lift(order.id, "parts", range(first, len(draft.base.days)))

    def said(self, problem: Problem) -> str:
        """From when."""
        return f"parts of {order_said(problem, self.order)} there from {days_said(problem, (self.day,))}"

    def cure(self, problem: Problem) -> str:
        """The delivery."""
        return f"have the parts of order {self.order} delivered by {self.day} and enter the delivery (Register, Parts)"

    def part(self, problem: Problem) -> Any:
        """The days from then on."""
        order = self._in(problem)
        return [day for day in order.days if problem.days[day].date >= self.day] if order else None
