"""A plan held against the register as it is now: what was right when it was solved may be forbidden since."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from django.db.models import QuerySet

from planner.errors import ConflictError, PlannerError
from scheduling.builders.fortnight import AsItIs, fortnight_as_it_is
from scheduling.choices import PlanState
from scheduling.fortnight.check import CHECKS
from scheduling.fortnight.check.view import View
from scheduling.fortnight.explain import day_text
from scheduling.fortnight.plan import Plan as Solution
from scheduling.fortnight.plan import Violation, Visit
from scheduling.fortnight.problem import Problem
from scheduling.models import Plan, VisitJob
from workorders.choices import TO_PLAN
from workorders.models import Order
from workorders.selectors.orders import open_holds

OF_THE_PLAN = ("known", "complete", "stay", "value")
"""Rules that the stored problem decides, or that are told here in other words."""

OF_A_PERSON = ("certificate", "shift")
OF_THE_TEAM = ("team size", "rescue", "skill")
"""What follows from somebody who is missing is not told again, nor is what an order's day tells already."""

OF_THE_DAY = ("access", "equipment")

MOST = 5


def refuse_what_changed(plan: Plan, stored: Problem, solution: Solution, now: datetime) -> None:
    """Hold the visits that lie ahead against people, gates, orders, closures, equipment and forecasts of this moment.

    Raises ConflictError with one sentence for each breach; `extra["violations"]` has them all. Visits that have begun are
    past changing. More than the solve knew is no breach: an opened lift leaves the longer stay as it is.
    """
    told = list(dict.fromkeys(_Held(plan, stored, solution, now).breaches()))
    if told:
        more = f" (and {len(told) - MOST} more)" if len(told) > MOST else ""
        text = f"Plan {plan.pk} no longer holds: {'; '.join(told[:MOST])}{more}. "
        raise ConflictError(text + "Solve again, or put right by hand what is named.", extra={"violations": told})


class _Held:
    """One plan and the problem as it is now. `told` has (day, order) of visits whose team, or day, was refused already."""

    def __init__(self, plan: Plan, stored: Problem, solution: Solution, now: datetime) -> None:
        self.plan, self.stored, self.now = plan, stored, now
        self.ahead = [visit for visit in solution.visits if self._starts_at(visit) > now]
        self.visits = solution.visits
        self.told_team: set[tuple[int, str]] = set()
        self.told_day: set[tuple[int, str]] = set()

    def _starts_at(self, visit: Visit) -> datetime:
        minutes = self.stored.days[visit.day].start_min + visit.start * self.stored.slot_min
        return datetime.fromisoformat(self.stored.origin) + timedelta(minutes=minutes)

    def breaches(self) -> Iterator[str]:
        """Every sentence; orders first, then people and vehicles that are gone, then the rules."""
        if not self.ahead:
            return
        self.fresh = self._as_it_is()
        self.problem = self.fresh.problem
        self.view = View(self.problem, Solution(self.visits, ()))
        yield from self._orders()
        yield from self._gone()
        self.view = View(self.problem, self._laid())
        yield from self._longer()
        first = (*OF_A_PERSON, "day allowed")
        for name in (*first, *(name for name in CHECKS if name not in (*first, *OF_THE_PLAN))):
            yield from (text for violation in CHECKS[name](self.view) if (text := self._sentence(violation)))

    def _as_it_is(self) -> AsItIs:
        run = self.plan.run
        try:
            return fortnight_as_it_is(base=run.base, first_day=run.first_day, days=run.days, now=self.now, seed=run.seed)
        except (PlannerError, ValueError) as error:
            raise ConflictError(f"Plan {self.plan.pk} cannot be held against the register: {error}") from error

    # --- what is gone ---------------------------------------------------------------------------------------------

    def _orders(self) -> Iterator[str]:
        gone = {job.order: visit for visit in self.ahead for job in visit.jobs if not self._is_here(job.order, visit)}
        if not gone:
            return
        rows = Order.objects.filter(number__in=gone, turbine__site__base=self.plan.base).prefetch_related(open_holds())
        found = {row.number: row for row in rows}
        elsewhere = {number: (day, plan) for number, day, plan in self._elsewhere(list(gone))}
        for number, visit in gone.items():
            why = _why_gone(found.get(number), elsewhere.get(number), number in self.view.orders)
            yield f"{number} {why}, and the plan has it at {self._where(visit)}"

    def _is_here(self, number: str, visit: Visit) -> bool:
        order = self.view.orders.get(number)
        return order is not None and order.turbine == visit.turbine

    def _elsewhere(self, numbers: list[str]) -> QuerySet[VisitJob, tuple[str, object, int]]:
        jobs = VisitJob.objects.filter(order__number__in=numbers, visit__plan__state=PlanState.PUBLISHED)
        jobs = jobs.filter(visit__plan__base=self.plan.base).exclude(visit__plan=self.plan).order_by("-visit__day")
        return jobs.values_list("order__number", "visit__day", "visit__plan_id")

    def _gone(self) -> Iterator[str]:
        names = {person.id: person.name for person in self.stored.people}
        for visit in self.ahead:
            for person in visit.people:
                if person not in self.view.people:
                    self._tell_team(visit)
                    yield f"{names[person]} is no active technician of {self.plan.base} any more: {self._where(visit)}"
            if visit.vehicle not in self.view.vehicles:
                yield f"vehicle {visit.vehicle} is no vehicle of {self.plan.base} any more: {self._where(visit)}"
            for lodging in sorted({visit.starts_from, visit.ends_at} - {"", *self.view.lodgings}):
                yield f"{lodging} is no lodging of {self.plan.base} any more: {self._where(visit)}"

    # --- the plan on today's grid ---------------------------------------------------------------------------------

    def _laid(self) -> Solution:
        """The visits in the slots of the problem as it is now, with the way up and the chance that hold now."""
        kept = [self._moved(visit) for visit in self.visits if visit.turbine in self.view.turbines]
        known = [visit for visit in kept if visit.jobs and visit.people and self.view.is_known(visit)]
        now = [replace(visit, by=self.view.stay_of(visit).by, chance=self.view.chance(visit)) for visit in known]
        self.stated_by = {new: visit.by for new, visit in zip(now, known, strict=True)}
        return Solution(tuple(now), ())

    def _moved(self, visit: Visit) -> Visit:
        gap = datetime.fromisoformat(self.stored.origin) - datetime.fromisoformat(self.problem.origin)
        since = self.stored.days[visit.day].start_min - self.problem.days[visit.day].start_min + gap // timedelta(minutes=1)
        return replace(
            visit,
            start=visit.start + since // self.problem.slot_min,
            jobs=tuple(job for job in visit.jobs if self._is_here(job.order, visit)),
            people=tuple(person for person in visit.people if person in self.view.people),
        )

    # --- the rules ------------------------------------------------------------------------------------------------

    def _longer(self) -> Iterator[str]:
        for visit in self._laid_ahead():
            asked, slot_min = self.view.stay_of(visit), self.problem.slot_min
            shut = asked.by == "ladder" and self.stated_by[visit] == "lift"
            if shut or (asked.slots > visit.slots and asked.by != "none"):
                way = "the lift is shut that day" if shut else f"access is by {asked.by}"
                takes = f"the stay takes {asked.slots * slot_min} min, {visit.slots * slot_min} are planned"
                yield f"{self._where(visit)}: {way}, {takes}"

    def _laid_ahead(self) -> list[Visit]:
        first = datetime.fromisoformat(self.problem.origin)
        day_min = [day.start_min for day in self.problem.days]
        slot = self.problem.slot_min
        return [v for v in self.view.visits if first + timedelta(minutes=day_min[v.day] + v.start * slot) > self.now]

    def _sentence(self, found: Violation) -> str:
        """The violation in a planner's words; "" if it is over, or told already."""
        if found.rule == "pin":
            return self._pin_told(found)
        ahead = [v for v in self._laid_ahead() if found.day in (None, v.day) and self._concerns(found, v)]
        if not ahead:
            return ""
        keys = {(v.day, job.order) for v in ahead for job in v.jobs}
        if found.rule in OF_A_PERSON:
            self.told_team |= keys
        if found.rule in OF_THE_TEAM and keys <= self.told_team:
            return ""
        if found.rule == "day allowed":
            return self._day_refused(found)
        if found.rule in OF_THE_DAY and keys <= self.told_day:
            return ""
        text = re.sub(r"slot (\d+)(?=:)", lambda slot: self._clock(found.day or 0, int(slot.group(1))), found.text)
        return f"by the newest forecast, {text}" if found.rule == "window" else text

    def _pin_told(self, found: Violation) -> str:
        """A pin that the plan does not keep, be it set since; with the clock's time. Pins that lie behind are over."""
        day = found.day or 0
        slot = re.search(r"slot (\d+)$", found.text)
        starts = datetime.fromisoformat(self.problem.origin) + timedelta(minutes=self.problem.days[day].start_min)
        starts += timedelta(minutes=self.problem.slot_min) * (int(slot.group(1)) if slot else 0)
        text = re.sub(r"slot (\d+)$", lambda at: self._clock(day, int(at.group(1))), found.text)
        return f"{text}, and the plan does not have it there" if starts > self.now else ""

    def _concerns(self, found: Violation, visit: Visit) -> bool:
        orders = not found.orders or any(job.order in found.orders for job in visit.jobs)
        return orders and (not found.people or bool({*found.people} & {*visit.people}))

    def _day_refused(self, found: Violation) -> str:
        day, texts = found.day or 0, []
        for number in found.orders:
            why = self.fresh.why_not(number, day)
            if why:
                self.told_day.add((day, number))
                where = f"{self.view.orders[number].turbine} on {day_text(self.problem, day)}"
                texts.append(f"{number} may not be worked at {where}: {why.rstrip('.')}")
        return "; ".join(texts)

    def _tell_team(self, visit: Visit) -> None:
        self.told_team |= {(visit.day, job.order) for job in visit.jobs}

    def _where(self, visit: Visit) -> str:
        return f"{visit.turbine} on {day_text(self.stored, visit.day)}"

    def _clock(self, day: int, slot: int) -> str:
        minutes = self.problem.days[day].start_min + slot * self.problem.slot_min
        moment = datetime.fromisoformat(self.problem.origin) + timedelta(minutes=minutes)
        return f"{moment.astimezone(self.plan.base.zone):%H:%M}"


def _why_gone(row: Order | None, elsewhere: tuple[object, int] | None, moved: bool) -> str:
    """Why an order of the plan is no order to plan any more; starts with a verb."""
    if row is None:
        return "is gone from the register"
    if row.state not in TO_PLAN:
        return f"is {row.get_state_display()}"
    if moved:
        return "is at another turbine"
    if row.open_holds:  # type: ignore[attr-defined]  # by open_holds
        hold = row.open_holds[0]  # type: ignore[attr-defined]
        return f"is on hold ({hold.kind}: {hold.reason})"
    if elsewhere is not None:
        return f"is planned on {elsewhere[0]} in plan {elsewhere[1]}, which is published"
    if row.effort_left_h <= 0:
        return "has no work left"
    return "may not be planned in these days any more"
