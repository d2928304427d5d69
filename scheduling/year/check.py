"""A second pair of eyes on a round: every rule and every part of the cost, reckoned from the problem alone.

Shares no code with the solver's tables and model; plain loops over the definitions of rules.py.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from math import ceil

from scheduling.year.plan import Placement, Plan, Violation
from scheduling.year.problem import EVERYBODY, Item, Problem

TOLERANCE_H = 1e-5
ROUNDING_CENTS = 1


def check(problem: Problem, plan: Plan) -> tuple[Violation, ...]:
    """Every breach of rules.RULES; empty for a round that may be issued."""
    broken = tuple(_known(problem, plan))
    if broken:
        return broken
    round_ = _Round(problem, plan)
    rules = (_complete, _weeks, _statutory, _pins, _absorbed, _equipment, _most_down, _fit, _value)
    return tuple(violation for rule in rules for violation in rule(round_))


def recomputed_parts(problem: Problem, plan: Plan) -> dict[str, int]:
    """The parts of the cost of a round whose names are all known, in whole cents."""
    r = _Round(problem, plan)
    w = problem.weights
    energy = [r.energy_cents(s) for s in r.years]
    overload = [w.overload_per_person_h * sum(r.undone(s, week) for week in range(len(problem.weeks))) for s in r.years]
    costs = [a + b for a, b in zip(energy, overload, strict=True)]
    mean = sum(costs) / len(costs)
    used = {(e, p.week) for p in r.alone for e in r.items[p.item].equipment}
    price = {e.id: e.week_cost for e in problem.equipment}
    found = {
        "lost energy": sum(energy) / len(energy),
        "lateness": sum(r.late_weeks(p) * r.late_cost(r.items[p.item]) for p in plan.placements),
        "left out": sum(r.left_out_cost(r.items[item]) for item in plan.left_out),
        "overload": sum(overload) / len(overload),
        "bad tail": w.tail_share * (_tail(costs, w.quantile) - mean),
        "equipment": sum(price[e] for e, _ in used),
        "change": sum(item.move_cost for item in problem.items if item.previous not in (None, r.week.get(item.id))),
    }
    if not problem.scenarios:
        early = (max(0, r.items[p.item].due - p.week) for p in plan.placements)
        found["away from due"] = sum(early) * w.away_from_due
    return {name: round(cents) for name, cents in found.items()}


class _Round:
    """A round with the look-ups that several rules need."""

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem, self.plan = problem, plan
        self.items = {item.id: item for item in problem.items}
        self.turbines = {turbine.id: turbine for turbine in problem.turbines}
        self.years = range(max(1, len(problem.scenarios)))
        self.alone = [p for p in plan.placements if not p.with_item]
        self.week = {p.item: p.week for p in plan.placements}

    def share(self, item: Item, s: int, week: int) -> float:
        return self.problem.workable_share[item.limit][s][week] if self.problem.scenarios else 1.0

    def late_cost(self, item: Item) -> int:
        if item.statutory and item.closes < 0:
            return max(item.late_cost, self.problem.weights.statutory_late)
        return item.late_cost

    def late_weeks(self, p: Placement) -> int:
        return max(0, p.week - max(0, self.items[p.item].due))

    def left_out_cost(self, item: Item) -> int:
        if item.statutory and item.closes < 0:
            return max(item.left_out_cost, self.problem.weights.statutory_late * len(self.problem.weeks))
        return item.left_out_cost

    def hours(self, item: Item, group: str) -> float:
        part = 1.0 if group == EVERYBODY else item.skills.get(group, 0) / item.team
        return item.effort_person_h * part

    def undone(self, s: int, week: int, items: list[Item] | None = None) -> float:
        there = [self.items[p.item] for p in self.alone if p.week == week] if items is None else items
        groups = {EVERYBODY} | {skill for item in there for skill in item.skills}
        worst = 0.0
        for group in groups:
            capacity = self.problem.weeks[week].capacity_h.get(group, 0.0)
            for level in {self.share(item, s, week) for item in there}:
                load = sum(self.hours(item, group) for item in there if self.share(item, s, week) <= level)
                worst = max(worst, load - capacity * level)
        return worst

    def stop_cents(self, item: Item, s: int, week: int) -> float:
        if not self.problem.scenarios:
            return 0.0
        turbine = self.turbines[item.turbine]
        prices = self.problem.price_cents[turbine.site]
        price = prices[s][week] if len(prices) > 1 else prices[0][week]
        return self.problem.lost_mwh_per_stop_h[turbine.energy][s][week] * price

    def energy_cents(self, s: int) -> float:
        total = sum(self.items[p.item].stop_h * self.stop_cents(self.items[p.item], s, p.week) for p in self.alone)
        alone = {p.item: p.week for p in self.alone}
        for pair in self.problem.together:
            if pair.first in alone and pair.second in alone and alone[pair.first] == alone[pair.second]:
                total -= pair.saved_stop_h * self.stop_cents(self.items[pair.first], s, alone[pair.first])
        return total


def _tail(costs: list[float], quantile: float) -> float:
    left = mass = (1.0 - quantile) * len(costs)
    total = 0.0
    for cost in sorted(costs, reverse=True):
        part = min(1.0, left)
        total, left = total + part * cost, left - part
    return total / mass


def _known(problem: Problem, plan: Plan) -> Iterator[Violation]:
    items = {item.id for item in problem.items}
    named = [p.item for p in plan.placements] + list(plan.left_out)
    for name, times in Counter(named).items():
        if name not in items:
            yield Violation("known", f"{name} is not an item of the problem", (name,))
        elif times > 1:
            yield Violation("known", f"{name} stands {times} times in the round", (name,), amount=times - 1)
    for p in plan.placements:
        if p.with_item and p.with_item not in items:
            yield Violation("known", f"{p.item} is absorbed by {p.with_item}, which is not an item", (p.item,))
        if not 0 <= p.week < len(problem.weeks):
            yield Violation("known", f"{p.item} stands in week {p.week}, outside the horizon", (p.item,), p.week)


def _complete(r: _Round) -> Iterator[Violation]:
    for name in r.items:
        if name not in r.week and name not in r.plan.left_out:
            yield Violation("complete", f"{name} is neither placed nor listed as left out", (name,))


def _weeks(r: _Round) -> Iterator[Violation]:
    for p in r.plan.placements:
        item = r.items[p.item]
        if p.week not in item.weeks or p.week < item.opens:
            yield _at("week allowed", p, f"{p.item} may not be done in {_name(r, p.week)}")


def _statutory(r: _Round) -> Iterator[Violation]:
    for p in r.plan.placements:
        item = r.items[p.item]
        if item.statutory and 0 <= item.closes < p.week:
            late = p.week - item.closes
            yield _at("statutory", p, f"{p.item} stands {late} weeks after its statutory close", late)


def _pins(r: _Round) -> Iterator[Violation]:
    for item in r.problem.items:
        if item.pinned is not None and r.week.get(item.id) != item.pinned:
            yield Violation("pin", f"{item.id} does not stand in {_name(r, item.pinned)}", (item.id,), item.pinned)


def _absorbed(r: _Round) -> Iterator[Violation]:
    alone = {p.item: p.week for p in r.alone}
    for p in r.plan.placements:
        if p.with_item and (p.item not in r.items[p.with_item].absorbs or alone.get(p.with_item) != p.week):
            yield _at("absorb", p, f"{p.with_item} does not absorb {p.item} in {_name(r, p.week)}")


def _equipment(r: _Round) -> Iterator[Violation]:
    for e in r.problem.equipment:
        users: dict[int, list[str]] = defaultdict(list)
        for p in r.alone:
            if e.id in r.items[p.item].equipment:
                users[p.week].append(p.item)
        for week, names in users.items():
            over = len(names) - (e.capacity if week in e.weeks else 0)
            if over > 0:
                text = f"{e.id} serves {over} items too many in {_name(r, week)}"
                yield Violation("equipment", text, tuple(names), week, over)


def _most_down(r: _Round) -> Iterator[Violation]:
    down: dict[tuple[str, int], set[str]] = defaultdict(set)
    for p in r.alone:
        item = r.items[p.item]
        if item.stop_h > 0:
            down[r.turbines[item.turbine].site, p.week].add(item.turbine)
    for (site, week), turbines in down.items():
        over = len(turbines) - r.problem.rules.max_down.get(site, len(turbines))
        if over > 0:
            yield Violation("most down", f"{over} turbines of {site} too many down in {_name(r, week)}", (), week, over)


def _fit(r: _Round) -> Iterator[Violation]:
    need = max(1, ceil(r.problem.rules.fit_share * len(r.years) - 1e-9))
    for week in range(len(r.problem.weeks)):
        if _years_that_fit(r, week, None) >= need:
            continue
        pinned = [item for item in r.problem.items if item.pinned == week]
        others = tuple(p.item for p in r.alone if p.week == week and r.items[p.item].pinned is None)
        if not others and _years_that_fit(r, week, pinned) < need:
            continue
        years = _years_that_fit(r, week, None)
        text = f"the work of {_name(r, week)} fits in {years} of {len(r.years)} past years, asked are {need}"
        yield Violation("fit", text, others, week, need - years)


def _years_that_fit(r: _Round, week: int, items: list[Item] | None) -> int:
    return sum(r.undone(s, week, items) <= TOLERANCE_H for s in r.years)


def _value(r: _Round) -> Iterator[Violation]:
    found = recomputed_parts(r.problem, r.plan)
    for name in sorted(set(found) | set(r.plan.parts)):
        off = abs(found.get(name, 0) - r.plan.parts.get(name, 0))
        if off > ROUNDING_CENTS:
            text = f"part {name!r} is stated as {r.plan.parts.get(name, 0)}, recomputed {found.get(name, 0)}"
            yield Violation("value", text, amount=off)


def _at(rule: str, p: Placement, text: str, amount: float = 0.0) -> Violation:
    return Violation(rule, text, (p.item,), p.week, amount)


def _name(r: _Round, week: int) -> str:
    return r.problem.weeks[week].label
