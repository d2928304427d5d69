"""The rules of the crewing model, one small function each, listed in `RULES` under the planner's words."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from ortools.sat.python import cp_model

from scheduling.fortnight import crewing_people as company
from scheduling.fortnight import crewing_site as site
from scheduling.fortnight.columns import Field, Kind

if TYPE_CHECKING:
    from scheduling.fortnight.crewing import Crewing

FAR = 100_000


@dataclasses.dataclass(eq=False)
class Node:
    """A kind on a day in the model, with its variables."""

    kind: Kind
    day: int
    field: Field
    present: cp_model.IntVar
    at: list[cp_model.IntVar] = dataclasses.field(default_factory=list)
    start: Any = None
    first: Any = None
    last: Any = None
    size: Any = None
    interval: Any = None
    leaves: Any = None
    rested: Any = None
    people: dict[int, cp_model.IntVar] = dataclasses.field(default_factory=dict)
    begins_with: dict[int, cp_model.IntVar] = dataclasses.field(default_factory=dict)
    ends_with: dict[int, cp_model.IntVar] = dataclasses.field(default_factory=dict)


def _all(model: cp_model.CpModel, *literals: Any) -> cp_model.IntVar:
    """A literal that is true when all others are (and false otherwise)."""
    both = model.new_bool_var("")
    model.add_bool_or([both, *(~x for x in literals)])
    for x in literals:
        model.add_implication(both, x)
    return both


def complete(m: Crewing) -> None:
    """Each order is left out, or every visit of one mode is made once."""
    by_job: dict[tuple[int, int, int], list[Node]] = {}
    for node in m.every:
        for job in node.kind.jobs:
            by_job.setdefault(job, []).append(node)
    m.by_job = by_job
    m.mode = {}
    for order in m.orders:
        modes = []
        for k, mode in enumerate(m.facts.problem.orders[order].modes):
            chosen = m.model.new_bool_var(f"mode {order} {k}")
            m.mode[order, k] = chosen
            modes.append(chosen)
            for visit in range(len(mode.visits_min)):
                m.model.add(sum(n.present for n in by_job.get((order, k, visit), [])) == chosen)
        m.model.add_exactly_one([m.left[order], *modes])
        if order in m.must:
            m.model.add(m.left[order] == 0)


def sequence(m: Crewing) -> None:
    """Visits on later days one after the other, within the longest gap; orders that come first are finished first."""
    days = m.facts.days
    m.day_of = {job: cp_model.LinearExpr.sum([n.day * n.present for n in nodes]) for job, nodes in m.by_job.items()}
    for (order, k), chosen in m.mode.items():
        o = m.facts.problem.orders[order]
        for visit in range(1, len(o.modes[k].visits_min)):
            if (order, k, visit) not in m.by_job or (order, k, visit - 1) not in m.by_job:
                continue
            step = m.day_of[order, k, visit] - m.day_of[order, k, visit - 1]
            m.model.add(step >= 1).only_enforce_if(chosen)
            m.model.add(step <= (days if o.max_gap_days is None else o.max_gap_days)).only_enforce_if(chosen)


def after(m: Crewing) -> None:
    """An order that waits for another is planned only with it, and starts when it has ended and its wait is over."""
    slot_min, days = m.facts.problem.slot_min, m.facts.problem.days
    for order in m.orders:
        for other in m.facts.after[order]:
            if other not in m.left:
                continue
            m.model.add_implication(m.left[other], m.left[order])
            first = [n for n in m.every if any(o == order and v == 0 for o, _, v in n.kind.jobs)]
            last = [n for n in m.every if _closes(m, n, other)]
            begin = [(days[n.day].start_min + slot_min * n.start, n.present) for n in first]
            ends = [(_ended(m, order, other, n), n.present) for n in last]
            for start, here in begin:
                for end, there in ends:
                    m.model.add(start >= end).only_enforce_if([here, there])


def _ended(m: Crewing, later: int, earlier: int, node: Node) -> int:
    return m.facts.waited(later, earlier, node.day, node.start + node.field.slots)


def _closes(m: Crewing, node: Node, order: int) -> bool:
    modes = m.facts.problem.orders[order].modes
    return any(o == order and v == len(modes[k].visits_min) - 1 for o, k, v in node.kind.jobs)


def who_goes(m: Crewing) -> None:
    """Team size, certificates, rescue, skills and pairs kept apart at each visit."""
    for n in m.every:
        for go in n.people.values():
            m.model.add_implication(go, n.present)
        m.model.add(n.size >= n.kind.team * n.present)
        if any(m.facts.learners >> p & 1 for p in n.people):
            fit = [n.people[p] for p in m.facts.members_of(m.facts.fit[n.day])]
            m.model.add(sum(fit) >= n.kind.team * n.present)
        asked = [(m.facts.rescue[n.day], m.facts.problem.rules.rescue_pair)]
        asked += [(m.facts.holders(s, level, n.day), count) for s, level, count in n.kind.needs]
        for mask, count in asked:
            m.model.add(sum(n.people[p] for p in m.facts.members_of(mask)) >= count * n.present)
        for a, b in m.facts.apart:
            if a in n.people and b in n.people:
                m.model.add_at_most_one(n.people[a], n.people[b])


def chains(m: Crewing) -> None:
    """Teams' routes: a visit is the first of a route or follows another after the hop; the people stay the same."""
    f, slot_min, w = m.facts, m.facts.problem.slot_min, m.facts.problem.weights
    for nodes in m.nodes.values():
        into: dict[int, list[Any]] = {i: [n.first] for i, n in enumerate(nodes)}
        out: dict[int, list[Any]] = {i: [n.last] for i, n in enumerate(nodes)}
        for n in nodes:
            n.leaves, n.rested = m.model.new_int_var(-FAR, FAR, ""), m.model.new_bool_var("")
        for i, n in enumerate(nodes):
            m.model.add(n.leaves == n.start * slot_min - f.base_min[n.kind.turbine]).only_enforce_if(n.first)
            m.model.add(n.rested <= int(n.field.has_break)).only_enforce_if(n.first)
            m.pay_per_person(n, n.first, f.base_min[n.kind.turbine] * w.travel_per_person_min)
            m.pay_per_person(n, n.last, f.base_min[n.kind.turbine] * w.travel_per_person_min)
            m.cost(n.first, float(w.team_day))
            for j, k in enumerate(nodes):
                if i != j and not {o for o, _, _ in n.kind.jobs} & {o for o, _, _ in k.kind.jobs}:
                    step = _step(m, n, k)
                    out[i].append(step)
                    into[j].append(step)
        for i, n in enumerate(nodes):
            m.model.add(sum(into[i]) == n.present)
            m.model.add(sum(out[i]) == n.present)


def _step(m: Crewing, a: Node, b: Node) -> cp_model.IntVar:
    f, p = m.facts, m.facts.problem
    t, u = a.kind.turbine, b.kind.turbine
    step = m.model.new_bool_var("")
    m.model.add(b.start >= a.start + a.field.slots + f.hop_slots[t][u]).only_enforce_if(step)
    m.model.add(b.leaves == a.leaves).only_enforce_if(step)
    for person, go in a.people.items():
        m.model.add(go == b.people[person]).only_enforce_if(step)
    paused = m.model.new_bool_var("")
    long_enough = (b.start - a.start - a.field.slots) * p.slot_min >= f.hop_min[t][u] + p.rules.break_min
    m.model.add(long_enough).only_enforce_if([step, paused])
    m.model.add(b.rested <= a.rested + paused + int(b.field.has_break)).only_enforce_if(step)
    m.pay_per_person(b, step, f.hop_min[t][u] * p.weights.travel_per_person_min)
    return step


def one_team(m: Crewing) -> None:
    """A person is in one team a day; who begins and who ends a route."""
    for nodes in m.nodes.values():
        for n in nodes:
            n.begins_with = {p: _all(m.model, n.first, go) for p, go in n.people.items()}
            n.ends_with = {p: _all(m.model, n.last, go) for p, go in n.people.items()}
        for person in nodes[0].people:
            m.model.add_at_most_one(n.begins_with[person] for n in nodes)


def aborts(m: Crewing) -> None:
    """Likely aborts of people beyond the least team (the least team is in the visit's own cost)."""
    for n in m.every:
        per_person = m.facts.abort_cents[n.day]
        for chance in sorted({float(c) for c in n.field.chance}):
            if chance < 1.0:
                extra = m.model.new_int_var(0, len(n.people), "")
                m.cost(extra, (1.0 - chance) * per_person)
                for c, x in zip(n.field.chance, n.at, strict=True):
                    if float(c) == chance:
                        m.model.add(extra >= n.size - n.kind.team).only_enforce_if(x)


def shift(m: Crewing) -> None:
    """The time away inside everybody's shift, and overtime."""
    f, p = m.facts, m.facts.problem
    for n in m.every:
        hop = f.base_slots[n.kind.turbine]
        for person, go in n.people.items():
            s = f.shift[person][n.day]
            m.model.add(n.start >= s.start + hop).only_enforce_if(go)
            m.model.add(n.start + n.field.slots <= s.end - hop).only_enforce_if(go)
            back = (n.start + n.field.slots) * p.slot_min + f.base_min[n.kind.turbine]
            if p.weights.overtime_per_person_min and s.regular_end < s.end:
                over, all_of_it = (
                    m.model.new_int_var(0, 2000, ""),
                    m.model.new_bool_var(""),
                )  # all: who leaves after the regular end
                m.model.add(over >= back - s.regular_end * p.slot_min).only_enforce_if([n.ends_with[person], ~all_of_it])
                m.model.add(over >= back - n.leaves).only_enforce_if([n.ends_with[person], all_of_it])
                m.cost(over, float(p.weights.overtime_per_person_min))


def breaks(m: Crewing) -> None:
    """A team away longer than break_after_min has its break."""
    f, p = m.facts, m.facts.problem
    for n in m.every:
        back = (n.start + n.field.slots) * p.slot_min + f.base_min[n.kind.turbine]
        m.model.add(back - n.leaves <= p.rules.break_after_min).only_enforce_if([n.last, ~n.rested])


def weekly_hours(m: Crewing) -> None:
    """Minutes away per person and week; rest between days away."""
    f, p = m.facts, m.facts.problem
    for person in range(len(p.people)):
        weeks: dict[str, list[Any]] = {}
        for day, nodes in m.nodes.items():
            if person in nodes[0].people:
                away = m.model.new_int_var(0, 2000, "")
                for n in nodes:
                    back = (n.start + n.field.slots) * p.slot_min + f.base_min[n.kind.turbine]
                    m.model.add(away >= back - n.leaves).only_enforce_if(n.ends_with[person])
                weeks.setdefault(p.days[day].week, []).append(away)
        for week, days in weeks.items():
            m.model.add(sum(days) <= max(0, m.around.left_min[person][week]))
        _rest(m, person)


def _rest(m: Crewing, person: int) -> None:
    f, p = m.facts, m.facts.problem
    outside = m.around.away[person]
    for day, nodes in m.nodes.items():
        if person not in nodes[0].people:
            continue
        for n in nodes:
            back = (n.start + n.field.slots) * p.slot_min + f.base_min[n.kind.turbine]
            for other, (leaves, returns) in outside.items():
                apart = p.days[other].start_min - p.days[day].start_min
                if 0 < other - day <= 2:
                    m.model.add(apart + leaves - back >= p.rules.rest_min).only_enforce_if(n.ends_with[person])
                if 0 < day - other <= 2:
                    m.model.add(n.leaves - returns - apart >= p.rules.rest_min).only_enforce_if(n.begins_with[person])
            for later in (day + 1, day + 2):
                for k in m.nodes.get(later, []):
                    apart = p.days[later].start_min - p.days[day].start_min
                    if person in k.people and apart + k.field.starts.min() * p.slot_min - 1440 < p.rules.rest_min:
                        both = [n.ends_with[person], k.begins_with[person]]
                        m.model.add(apart + k.leaves - back >= p.rules.rest_min).only_enforce_if(both)


RULES: dict[str, Callable[[Crewing], None]] = {
    "complete": complete,
    "sequence": sequence,
    "after": after,
    "team size, certificate, rescue, skill": who_goes,
    "travel, break inside a route": chains,
    "one team": one_team,
    "vehicle": site.vehicles,
    "likely aborts": aborts,
    "shift, overtime": shift,
    "break": breaks,
    "weekly hours, rest": weekly_hours,
    "climbs": site.climbs,
    "crew": company.crew,
    "people told": company.told,
    "hired people": company.hired,
    "pairs apart": company.pairs_apart,
    "hand-over": company.hand_over,
    "together": site.together,
    "one team per turbine, isolation": site.turbines,
    "equipment": site.equipment,
    "most stopped": site.most_stopped,
}
