"""What every change has in common, and the copy of a problem that changes are laid on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any, ClassVar

from scheduling.fortnight.explain.words import days_text
from scheduling.fortnight.problem import Equipment, Order, Person, Problem, PublishedVisit, Vehicle

MOST_CENTS = 2**31 // 4
"""As in validate.py: what an order may cost at most."""


class Refused(ValueError):
    """A change that cannot be laid on this problem: the field, and one sentence with what is wrong and the cure."""

    def __init__(self, where: str, text: str) -> None:
        super().__init__(f"{where}: {text}" if where else text)
        self.where, self.text = where, text


@dataclass(frozen=True)
class Register:
    """What the register says beside the problem, frozen with it.

    statutory  orders whose dates are the law's
    closed     order -> day index (as a text) -> what closes the day for it: "parts", "equipment NAME", "hold", "closure",
               "gate", "opens", "lock", "order" (one it comes after). A day on which all that closes it is lifted opens.
    waits_for  order -> the parts it waits for, for a sentence
    limits     limit set -> variable -> limit (m/s), as they were
    made_for   limit set -> variable -> limit (m/s) for which `workable` was made
    workable   tables in place of Problem.workable, for changed limits
    """

    statutory: tuple[str, ...] = ()
    closed: dict[str, dict[str, tuple[str, ...]]] = field(default_factory=dict)
    waits_for: dict[str, tuple[str, ...]] = field(default_factory=dict)
    limits: dict[str, dict[str, float]] = field(default_factory=dict)
    made_for: dict[str, dict[str, float]] = field(default_factory=dict)
    workable: dict[str, str] = field(default_factory=dict)


class Draft:
    """The changed copy on the way. Handlers change its tables; `problem()` puts them together, whatever order they came in."""

    def __init__(self, problem: Problem, register: Register) -> None:
        self.base, self.register = problem, register
        self.people: dict[str, Person] = {one.id: one for one in problem.people}
        self.vehicles: dict[str, Vehicle] = {one.id: one for one in problem.vehicles}
        self.equipment: dict[str, Equipment] = {one.id: one for one in problem.equipment}
        self.orders: dict[str, Order] = {one.id: one for one in problem.orders}
        self.published: tuple[PublishedVisit, ...] = problem.published
        self.rules, self.weights, self.workable = problem.rules, problem.weights, dict(problem.workable)
        self.allowed: dict[str, set[int]] = {}
        self.lifted: dict[str, set[tuple[str, int]]] = {}
        self.shut: dict[str, set[int]] = {}
        self.without: dict[str, set[int]] = {}
        self.by_hand: set[str] = set()
        self.new_limits: dict[str, dict[str, float]] = {}

    def problem(self) -> Problem:
        """The changed problem; its own checks run as it is made."""
        self._lay_limits()
        orders = tuple(self._with_days(order) for order in self.orders.values())
        return replace(
            self.base,
            people=tuple(self.people.values()),
            vehicles=tuple(self.vehicles.values()),
            equipment=tuple(self.equipment.values()),
            orders=orders,
            published=self.published,
            rules=self.rules,
            weights=self.weights,
            workable=self.workable,
        )

    def lift(self, order: str, what: str, days: Iterable[int]) -> None:
        """Something no longer closes these days for an order."""
        self.lifted.setdefault(order, set()).update((what, day) for day in days)

    def take(self, order: str, days: Iterable[int]) -> None:
        """Something it needs is not there on these days."""
        self.without.setdefault(order, set()).update(days)

    def _with_days(self, order: Order) -> Order:
        if order.id in self.by_hand:
            return replace(order, days=(), pins=(), crew=())
        days = self.allowed.get(order.id, {*order.days, *self._opened(order)})
        days = days - self.shut.get(order.turbine, set()) - self.without.get(order.id, set())
        lost = sorted({day for _, day, _ in order.pins if day in order.days} - days)
        if lost:
            when = self.base.days[lost[0]].date
            raise Refused("", f"{order.id} is pinned to {when}, which is taken away: lift its pin too, or leave it that day")
        return order if days == set(order.days) else replace(order, days=tuple(sorted(days)))

    def _opened(self, order: Order) -> set[int]:
        lifted = self.lifted.get(order.id, set())
        closed = self.register.closed.get(order.id, {})
        return {int(day) for day, whats in closed.items() if whats and all((what, int(day)) in lifted for what in whats)}

    def _lay_limits(self) -> None:
        for code, values in self.new_limits.items():
            if self.register.made_for.get(code) != values:
                raise Refused("", f"the weather tables of limit set {code} were not made for these limits: make them anew")
            for key in self.workable:
                if limit_set_in(key) == code:
                    self._lay_table(code, key)

    def _lay_table(self, code: str, key: str) -> None:
        if key not in self.register.workable:
            raise Refused("", f"limit set {code} has no new weather table for {key}: make the tables anew")
        self.workable[key] = self.register.workable[key]

    # --- finding what a change names ------------------------------------------------------------------------------

    def day_indexes(self, dates: Iterable[str], where: str = "days") -> set[int]:
        """Day indexes of local dates inside the horizon, at least one."""
        found = {self.day_index(text, f"{where}[{number}]") for number, text in enumerate(dates)}
        if not found:
            raise Refused(where, "names no day: give at least one such as 2026-06-10")
        return found

    def day_index(self, text: str, where: str = "day") -> int:
        """Day index of a local date inside the horizon."""
        for index, day in enumerate(self.base.days):
            if day.date == text:
                return index
        as_date(text, where)
        first, last = self.base.days[0].date, self.base.days[-1].date
        raise Refused(where, f"{text} is not one of these days: give one from {first} to {last}")


class Change:
    """One change. `kind` names it in JSON; `said` tells it in a sentence, `cure` what to change in the register to make it true.

    `targets` names what the change decides alone: two changes may not decide the same. `part` is what it decides in a problem,
    by which a register is found to say the same already.
    """

    kind: ClassVar[str] = ""

    def lay(self, draft: Draft) -> None:
        """Change the draft, or raise Refused."""
        raise NotImplementedError

    def said(self, problem: Problem) -> str:
        """The change as a planner says it."""
        raise NotImplementedError

    def cure(self, problem: Problem) -> str:
        """Which row of the register to change so that this is true; "" where nothing in the register stands against it."""
        return ""

    def caution(self, problem: Problem, register: Register) -> str:
        """What to mind where this asks less of the weather than the register does; "" otherwise."""
        return ""

    def targets(self, problem: Problem) -> tuple[str, ...]:
        """What this change decides alone."""
        return ()

    def part(self, problem: Problem) -> Any:
        """What it decides, as it stands in a problem."""
        raise NotImplementedError


def found(table: Mapping[str, Any], name: str, where: str, what: str) -> Any:
    """The record of that id; Refused with the ids there are."""
    if name in table:
        return table[name]
    known = list(table)
    more = f" and {len(known) - 8} more" if len(known) > 8 else ""
    there = f"there are {', '.join(known[:8])}{more}" if known else "there is none"
    raise Refused(where, f"{name!r} is no {what} of this problem; {there}")


def new_name(table: Mapping[str, Any], name: str, where: str, what: str) -> str:
    """A name that is not taken yet."""
    if not name.strip() or len(name) > 80 or not name.isprintable():
        raise Refused(where, f"{name!r} is no name: give 1 to 80 printable characters")
    if name in table:
        raise Refused(where, f"{name!r} is a {what} already: give another name")
    return name


def as_date(text: str, where: str) -> date:
    """A local date written as 2026-06-10."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Refused(where, f"{text!r} is no day: give one such as 2026-06-10") from None


def whole(value: int, least: int, most: int, where: str, unit: str) -> int:
    """A whole number inside its bounds."""
    if not least <= value <= most:
        raise Refused(where, f"{value} {unit}: give {least} to {most}")
    return value


def cents(amount: float, where: str, most: int = MOST_CENTS) -> int:
    """An amount of currency as whole cents."""
    value = round(amount * 100)
    if not 0 <= value <= most:
        raise Refused(where, f"{amount:g}: give an amount of 0 to {most / 100:,.0f}")
    return value


def limit_set_in(key: str) -> str:
    """The limit set's code at the end of a key of Problem.workable."""
    return key.rsplit("/", 1)[-1]


def days_said(problem: Problem, dates: Iterable[str]) -> str:
    """Dates as words, runs joined; those outside the problem as they stand."""
    index = {day.date: number for number, day in enumerate(problem.days)}
    wanted = list(dates)
    return days_text(problem, {index[one] for one in wanted if one in index}) if wanted else "every day"


def order_said(problem: Problem, number: str) -> str:
    """An order by number and label."""
    label = next((order.label for order in problem.orders if order.id == number), "")
    return f"{number} ({label})" if label else number
