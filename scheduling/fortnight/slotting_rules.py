"""The rules of the slotting model, one small function each, listed in `RULES` under the planner's words.

Each function adds rows that every plan keeps; none may cut off a plan that rules.py allows.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from scheduling.fortnight.facts import Ints
from scheduling.fortnight.rows import INF

if TYPE_CHECKING:
    from scheduling.fortnight.slotting import Slotting

NONE = np.zeros(0, np.int64)


def complete(m: Slotting) -> None:
    """Each order is left out or done in one mode, with each visit of that mode once."""
    m.mode_column = {}
    for i, order in enumerate(m.facts.problem.orders):
        if all(len(mode.visits_min) == 1 for mode in order.modes):
            chosen = [m.candidates.get((i, k, 0), NONE) for k in range(len(order.modes))]
            m.rows.add_row(1.0, 1.0, np.concatenate([m.left[i : i + 1], *(m.x[c] for c in chosen)]))
            continue
        modes = m.rows.add_columns(len(order.modes), whole=True)
        m.rows.add_row(1.0, 1.0, np.concatenate([m.left[i : i + 1], modes]))
        for k, mode in enumerate(order.modes):
            m.mode_column[i, k] = int(modes[k])
            for visit in range(len(mode.visits_min)):
                row = m.rows.add_row(0.0, 0.0, m.x[m.candidates.get((i, k, visit), NONE)])
                m.rows.put(row, modes[k], -1.0)


def done_by(m: Slotting, job: tuple[int, int, int]) -> Ints:
    """Columns, one a day: the share of this visit that is done by the end of the day."""
    if job not in m.done:
        days = m.facts.days
        done = m.rows.add_columns(days)
        row = m.rows.add_rows(days, 0.0, 0.0)
        m.rows.put(row, done, 1.0)
        m.rows.put(row[1:], done[:-1], -1.0)
        chosen = m.candidates.get(job, NONE)
        m.rows.put(row[m.day[chosen]], m.x[chosen], -1.0)
        m.done[job] = done
    return m.done[job]


def sequence(m: Slotting) -> None:
    """Visits of an order on different days, in order, within its longest gap."""
    for i, order in enumerate(m.facts.problem.orders):
        for k, mode in enumerate(order.modes):
            for visit in range(1, len(mode.visits_min)):
                before, now = done_by(m, (i, k, visit - 1)), done_by(m, (i, k, visit))
                m.rows.add_row(0.0, 0.0, now[0])
                row = m.rows.add_rows(m.facts.days - 1, -1.0, 0.0)
                m.rows.put(row, now[1:], 1.0)
                m.rows.put(row, before[:-1], -1.0)
                gap = order.max_gap_days
                if gap is not None and gap < m.facts.days:
                    row = m.rows.add_rows(m.facts.days - gap, -1.0, 0.0)
                    m.rows.put(row, before[: m.facts.days - gap], 1.0)
                    m.rows.put(row, now[gap:], -1.0)


def after(m: Slotting) -> None:
    """An order that waits for another starts on its last day at the earliest, and only if it is planned."""
    for i, earlier in enumerate(m.facts.after):
        for other in earlier:
            m.rows.add_row(0.0, 1.0, np.array([m.left[i], m.left[other]]), np.array([1.0, -1.0]))
            row = m.rows.add_rows(m.facts.days, -1.0, 0.0)
            for k in range(len(m.facts.problem.orders[i].modes)):
                m.rows.put(row, done_by(m, (i, k, 0)), 1.0)
            for k, mode in enumerate(m.facts.problem.orders[other].modes):
                m.rows.put(row, done_by(m, (other, k, len(mode.visits_min) - 1)), -1.0)


def stay_on(m: Slotting) -> None:
    """A team that goes on to another visit on the same turbine saves the hop, in money and in time."""
    f, w = m.facts, m.facts.problem.weights
    for day in range(f.days):
        today = m.on_day(day)
        for t in sorted(set(m.turbine[today].tolist())):
            chosen = today[m.turbine[today] == t]
            teams = m.team_by_order(chosen)
            if len(teams) < 2:
                continue
            saved = m.floor.visit_min[t] * w.travel_per_person_min * sorted(teams.values())[-2]
            follow = int(m.rows.add_columns(1, cost=-saved, upper=f.problem.rules.climbs_a_day)[0])
            for order in teams:
                others = chosen[~m.carries(order, chosen)]
                m.rows.put(m.rows.add_row(-INF, 0.0, m.x[others], -1.0), follow, 1.0)
            _follow_slots(m, day, chosen, follow)


def _follow_slots(m: Slotting, day: int, chosen: Ints, follow: int) -> None:
    """In which slot the team goes on at once, so that the hop is not held for it there."""
    t, ends = int(m.turbine[chosen[0]]), m.start[chosen] + m.slots[chosen]
    wide = int(m.floor.slots[t])
    parts = []
    for slot in sorted(set(ends.tolist())):
        begins = chosen[(m.start[chosen] >= slot) & (m.start[chosen] < slot + wide)]
        if len(begins):
            part = int(m.rows.add_columns(1)[0])
            m.rows.put(m.rows.add_row(-INF, 0.0, m.x[chosen[ends == slot]], -1.0), part, 1.0)
            m.rows.put(m.rows.add_row(-INF, 0.0, m.x[begins], -1.0), part, 1.0)
            m.follow.setdefault(day, []).append((t, slot, part))
            parts.append(part)
    if parts:
        m.rows.put(m.rows.add_row(-INF, 0.0, parts), follow, -1.0)


def teams(m: Slotting) -> None:
    """Teams of a day: people, vehicles and their seats; visits at a time that need a team of at least this size."""
    f = m.facts
    seats = [v.seats for v in f.problem.vehicles]
    for day in range(f.days):
        columns = [m.team_count[day, size] for size in m.sizes]
        m.rows.add_row(-INF, f.fit[day].bit_count(), columns, m.sizes)
        m.rows.add_row(-INF, f.rescue[day].bit_count() // max(1, f.problem.rules.rescue_pair), columns)
        for size in m.sizes:
            m.rows.add_row(-INF, sum(s >= size for s in seats), m.teams_from(day, size))
            chosen = m.on_day(day)
            chosen = chosen[m.team[chosen] >= size]
            if len(chosen):
                most = np.full(f.slots[day], f.fit[day].bit_count() / size)
                use = m.running(day, chosen, np.ones(len(chosen)), most, longer=True)
                row = m.rows.add_rows(f.slots[day], -INF, 0.0)
                m.rows.put(row, use, 1.0)
                for column in m.teams_from(day, size):
                    m.rows.put(row, column, -1.0)


def people_on_shift(m: Slotting) -> None:
    """People at work in a slot: at most those whose shift covers it (where shifts differ within a day)."""
    f = m.facts
    for day in range(f.days):
        caps = m.on_shift_by_slot(f.fit[day], day)
        chosen = m.on_day(day)
        if len(chosen) and caps.min() < caps.max():
            m.running(day, chosen, m.team[chosen].astype(float), caps)


def skills(m: Slotting) -> None:
    """Skills (one or two together): people asked for in a slot are at most the holders on shift."""
    f = m.facts
    keys = sorted({(s, level) for kind in m.kinds for s, level, _ in kind.needs})
    groups = [*((key,) for key in keys), *combinations(keys, 2)]
    for group in groups:
        asked = m.per_kind([max((n for s, level, n in k.needs if (s, level) in group), default=0) for k in m.kinds])
        for day in range(f.days):
            holders = 0
            for skill, level in group:
                holders |= f.holders(skill, level, day)
            chosen = m.on_day(day)
            chosen = chosen[asked[chosen] > 0]
            caps = m.on_shift_by_slot(holders, day)
            if len(chosen) and caps.min() < f.fit[day].bit_count() * (0.5 if len(group) > 1 else 1.0):
                m.running(day, chosen, asked[chosen].astype(float), caps, longer=True)


def equipment(m: Slotting) -> None:
    """Equipment: visits at a time within its capacity; its day rate once for each day it is used."""
    f = m.facts
    for e, item in enumerate(f.problem.equipment):
        uses = m.per_kind([int(e in kind.equipment) for kind in m.kinds])
        for day in item.days:
            chosen = m.on_day(day)
            chosen = chosen[uses[chosen] > 0]
            if not len(chosen):
                continue
            used = m.rows.add_columns(1, cost=item.day_cost, whole=True)
            use = m.running(day, chosen, np.ones(len(chosen)), np.full(f.slots[day], float(item.capacity)))
            row = m.rows.add_rows(f.slots[day], -INF, 0.0)
            m.rows.put(row, use, 1.0)
            m.rows.put(row, used, -float(item.capacity))
            for order in range(len(f.problem.orders)):
                mine = chosen[m.carries(order, chosen)]
                if len(mine):
                    m.rows.put(m.rows.add_row(-INF, 0.0, m.x[mine]), used, -1.0)


def most_stopped(m: Slotting) -> None:
    """Turbines of a site stopped at a time: own turbines of the running visits are at most the limit."""
    f = m.facts
    for site, most in f.problem.rules.max_stopped.items():
        here = np.array([t.site == site for t in f.problem.turbines], bool)
        for day in range(f.days):
            chosen = m.on_day(day)
            chosen = chosen[here[m.turbine[chosen]]]
            if len(chosen):
                m.running(day, chosen, np.ones(len(chosen)), np.full(f.slots[day], float(most)))


def climbs(m: Slotting) -> None:
    """Visits of a day, and those by ladder, are at most what the teams' people may climb."""
    rules = m.facts.problem.rules
    for day in range(m.facts.days):
        everyone = m.on_day(day)
        for chosen, most in ((everyone, rules.climbs_a_day), (everyone[m.ladder[everyone]], rules.ladder_climbs_a_day)):
            for size in m.sizes:
                mine = chosen[m.team[chosen] >= size]
                if len(mine):
                    m.rows.put(m.rows.add_row(-INF, 0.0, m.x[mine]), m.teams_from(day, size), -float(most))


def weekly_hours(m: Slotting) -> None:
    """Minutes away in a week, stays and the least travel, are at most what everybody together has left."""
    f, p = m.facts, m.facts.problem
    for week in sorted({day.week for day in p.days}):
        days = [d for d, day in enumerate(p.days) if day.week == week]
        chosen = np.flatnonzero(np.isin(m.day, days))
        people = [i for i in range(len(f.problem.people)) if any(f.fit[d] >> i & 1 for d in days)]
        if len(chosen):
            left = float(sum(max(0, f.week_left(i, week)) for i in people))
            row = m.rows.add_row(-INF, left, m.x[chosen], m.slots[chosen] * p.slot_min * m.team[chosen])
            out = [(column, m.floor.team_min * size) for (d, size), column in m.team_count.items() if d in days]
            m.rows.put(row, [column for column, _ in out], [minutes for _, minutes in out])


RULES: dict[str, Callable[[Slotting], None]] = {
    "complete": complete,
    "sequence": sequence,
    "after": after,
    "travel": stay_on,
    "team size, vehicle, one team": teams,
    "shift": people_on_shift,
    "skill": skills,
    "equipment": equipment,
    "most stopped": most_stopped,
    "climbs": climbs,
    "weekly hours": weekly_hours,
}
