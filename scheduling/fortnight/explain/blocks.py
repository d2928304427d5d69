"""The tests of reasons.py, one a rule: each gives (code, sentence, numbers) when nothing is left, else None."""

from __future__ import annotations

from scheduling.fortnight.explain.case import Case
from scheduling.fortnight.explain.hours import Group
from scheduling.fortnight.explain.words import day_text, days_text, hours, money, named, percent, time_text
from scheduling.fortnight.plan import Visit
from scheduling.fortnight.problem import Need, Person

Block = tuple[str, str, dict[str, float]]


def days(case: Case) -> Block | None:
    """Enough allowed days for the mode's visits."""
    asked, left = len(case.mode.visits_min), len(set(case.order.days))
    if left >= asked:
        return None
    text = f"Parts, permits or closures leave {days_text(case.problem, case.order.days)}; {asked} allowed day(s) are needed."
    return "no allowed day", text, {"days": float(left), "asked": float(asked)}


def access(case: Case) -> Block | None:
    """A day on which somebody may climb."""
    if case.days_to_climb:
        return None
    text = f"Climbing {case.order.turbine} is shut on {days_text(case.problem, case.order.days)}, and this work does not open it."
    return "no access", text, {"days": float(len(case.order.days))}


def equipment_days(case: Case) -> Block | None:
    """A day on which every piece of equipment is there."""
    if case.days:
        return None
    pieces = [case.room.view.equipment[piece] for piece in case.order.equipment]
    there = "; ".join(f"{piece.name} is there on {days_text(case.problem, piece.days)}" for piece in pieces)
    text = f"It may be worked on {days_text(case.problem, case.days_to_climb)}, but {there or 'it is pinned to another day'}."
    return "equipment away", text, {"days": float(len(case.days_to_climb))}


def length(case: Case) -> Block | None:
    """A day long enough for the stay."""
    stays = [(case.stays[day], case.problem.days[day].slots) for day in case.days]
    if any(stay.slots <= slots for stay, slots in stays):
        return None
    minutes = min(stay.minutes for stay, _ in stays)
    longest = max(slots for _, slots in stays) * case.problem.slot_min
    text = f"One visit takes {hours(minutes)} with the way up and down; the longest day has {hours(longest)}."
    return "too long", text, {"stay_min": float(minutes), "day_min": float(longest)}


def chance(case: Case) -> Block | None:
    """A start with enough chance."""
    if len(case.starts):
        return None
    at = int(case.chance.argmax())
    best = float(case.chance[at])
    when = (int(case.around.days[at]), case.slot(at)) if best > 0 else (case.days[0], 0)
    asked = case.problem.rules.confidence
    where = (
        f"the best is {percent(best)} on {time_text(case.problem, *when, case.clock)}"
        if best > 0
        else f"the whole stay fits nowhere on {days_text(case.problem, case.days)}"
    )
    text = f"No start has enough chance: {where}, {percent(asked)} is asked for.{_without_also(case)}"
    return "no chance", text, {"chance": best, "asked": asked, "day": float(when[0]), "slot": float(when[1])}


def _without_also(case: Case) -> str:
    """A sentence about the further limits where the order's own would leave a start."""
    best = float(case.chances((case.order.window,)).max()) if case.order.also else 0.0
    if best < case.problem.rules.confidence:
        return ""
    return f" Its own limits would leave {percent(best)}; those of its equipment take that away."


def crew_away(case: Case) -> Block | None:
    """A start at which everybody named for the visit can come."""
    asked = case.named
    if not asked:
        return None
    drafts = [case.draft(column) for column in case.starts]
    missing, draft = min(((case.empty.cannot_come(case.order, draft), draft) for draft in drafts), key=lambda one: len(one[0]))
    if not missing:
        return None
    everybody = named(case.room.view.people[person].name for person in asked)
    text = f"{everybody} must go there, but never all of them can on the starts with enough chance: "
    text += f"{day_text(case.problem, draft.day)}, {_why_missing(case, draft.day, missing)}."
    return "crew away", text, {"people": float(len(asked) - len(missing)), "asked": float(len(asked)), "day": float(draft.day)}


def people(case: Case) -> Block | None:
    """Enough fit people on shift."""
    group = max((group for _, group in case.staff), key=lambda one: len(one.people))
    able, day = group.people, group.day
    if len(able) >= case.mode.team:
        return None
    text = f"On the days with enough chance at most {len(able)} of {case.mode.team} people are there for the whole time: "
    missing = [p for p in case.problem.people if p not in able and not p.learner]
    text += f"{day_text(case.problem, day)}, {_why_missing(case, day, missing)}."
    return "too few people", text, {"people": float(len(able)), "asked": float(case.mode.team), "day": float(day)}


def _why_missing(case: Case, day: int, rest: list[Person]) -> str:
    view = case.room.view
    off = [p.name for p in rest if (p.id, day) not in view.shifts]
    unfit = [p.name for p in rest if (p.id, day) in view.shifts and day not in p.fit_days]
    short = [p.name for p in rest if (p.id, day) in view.shifts and day in p.fit_days]
    groups = (("off", off), ("without a valid certificate", unfit), ("shift too short", short))
    return "; ".join(f"{what}: {named(names)}" for what, names in groups if names) or "there are no more people"


def rescuers(case: Case) -> Block | None:
    """Enough rescue-capable people among them."""
    asked = case.problem.rules.rescue_pair
    best = max(group.rescuers for _, group in case.staff)
    if best >= asked:
        return None
    text = f"On the days with enough chance at most {best} of {asked} rescue-capable people are there."
    return "too few rescuers", text, {"people": float(best), "asked": float(asked)}


def skills(case: Case) -> Block | None:
    """Enough holders of each skill among them."""
    for need in case.order.needs:
        best = max(group.holders(need) for _, group in case.staff)
        if best < need.count:
            return _no_skill(case, need, best)
    return None


def _holders(case: Case, need: Need, among: list[Person], day: int) -> list[Person]:
    return [p for p in among if case.room.view.holds(p, need.skill, need.level, day)]


def _no_skill(case: Case, need: Need, best: int) -> Block:
    ever = [p.name for p in case.problem.people if any(h.skill == need.skill and h.level >= need.level for h in p.skills)]
    numbers = {"people": float(best), "asked": float(need.count)}
    if not ever:
        return "no skill", f"Nobody holds {need.skill} at level {need.level} in this fortnight.", numbers
    on = days_text(case.problem, case.days_to_start)
    text = f"On the days with enough chance ({on}) {best} of {need.count} people with {need.skill} level {need.level} are there; "
    return "no skill", f"{text}it is held by {named(ever)}.", numbers


def vehicle(case: Case) -> Block | None:
    """A vehicle that seats the team."""
    seats = max((vehicle.seats for vehicle in case.problem.vehicles), default=0)
    if seats >= case.mode.team:
        return None
    text = f"The largest vehicle has {seats} seats, the team has {case.mode.team} people."
    return "no vehicle", text, {"seats": float(seats), "asked": float(case.mode.team)}


def team(case: Case) -> Block | None:
    """A set of people that suits in all ways at once."""
    if len(case.crewed_alone):
        return None
    text = "There are people enough and each skill is there, but no team has all of it at once "
    text += "(pairs, people named, rescue, weekly hours)."
    return "no team", text, {"starts": float(len(case.starts))}


def place(case: Case) -> Block | None:
    """A start at which turbine, equipment and site are free beside the plan."""
    if len(case.placed):
        return None
    view, room, order = case.room.view, case.room, case.order
    starts = [case.draft(column) for column in case.crewed_alone]
    numbers = {"starts": float(len(starts))}
    if not any(room.is_after_others(order, draft) for draft in starts):
        gap = f" by {hours(order.after_gap_min)}" if order.after_gap_min else ""
        opens = f" and on a later day than {named(order.behind)}, which opens the way" if order.behind else ""
        return "comes after", f"No start that would do lies after {named(order.after)}{gap}{opens}.", numbers
    rows = [room.rows[turbine] for turbine in order.stops]
    free = [d for d in starts if not room.worked[rows, view.columns(d)].any()]
    free = [d for d in free if not room.closed[room.rows[order.turbine], view.columns(d)].any()]
    if not free:
        others = [o for day in sorted({d.day for d in starts}) for o in _orders_on(case, day)]
        text = f"At every start that would do {order.turbine} or a turbine it stops is worked on or isolated ({named(others)})."
        return "turbine busy", text, numbers
    if not any(room.is_equipment_free(order, view.columns(draft)) for draft in free):
        pieces = named(view.equipment[piece].name for piece in order.equipment)
        return "equipment taken", f"At every start that would do {pieces} is used by others.", numbers
    site = view.turbines[order.turbine].site
    return "too many stopped", f"At every start that would do enough turbines of {site} stand still already.", numbers


def _orders_on(case: Case, day: int) -> list[str]:
    near = set(case.order.stops)
    visits = [v for v in case.room.days[day] if v.turbine in near or case.order.turbine in case.room.view.stops(v)]
    return [job.order for visit in visits for job in visit.jobs]


def crew(case: Case) -> Block | None:
    """A team that is out already, or people and a vehicle that are not, at one of the starts left."""
    if next(case.crewed(case.placed), None) is not None:
        return None
    shortages = ((_shortage(case, column, free), column) for column, free in case.staff_beside)
    (missing, what, kind), column = min(shortages, key=lambda one: one[0][0])
    best = case.draft(column)
    seats = max((seats for seats, _ in case.room.vehicles_left(best.day)), default=0)
    if missing == 0 and seats < case.mode.team:
        return _vehicles_out(case, best)
    return _people_busy(case, best, missing, what, kind)


Wanted = tuple[int, str, Need | str | None]
"""People missing, what they are, and how to tell them: a need, "rescue", "named" or None for anybody fit."""


def _shortage(case: Case, column: int, free: Group) -> Wanted:
    """What is most short among the people who are free."""
    missing = len(case.room.cannot_come(case.order, case.draft(column))) if case.named else 0
    short: list[Wanted] = [(missing, "people named for it", "named")]
    short.append((case.mode.team - len(free.people), "people", None))
    short += [
        (need.count - free.holders(need), f"people with {need.skill} level {need.level}", need) for need in case.order.needs
    ]
    short.append((case.problem.rules.rescue_pair - free.rescuers, "rescue-capable people", "rescue"))
    missing, what, kind = max(short, key=lambda one: one[0])
    return (missing, what, kind) if missing > 0 else (0, "people", None)


def _people_busy(case: Case, draft: Visit, missing: int, what: str, kind: Need | str | None) -> Block:
    day, asked = draft.day, kind.count if isinstance(kind, Need) else case.mode.team
    asked = case.problem.rules.rescue_pair if kind == "rescue" else asked
    asked = len(case.named) if kind == "named" else asked
    wanted = _who_would_do(case, kind, case.empty.free_people(draft), day)
    others = case.orders_out(day, {person.id for person in wanted})
    price = sum(case.room.view.orders[order].left_out_cost for order in others)
    own, person_min = case.order.left_out_cost, case.mode.team * draft.slots * case.problem.slot_min
    dearer = "There was room only at the cost of dearer work" if price > own else "The people are out on other work"
    free = f"{asked - missing} of {asked} {what} are free" if missing else "those who are free make no full team"
    text = f"{dearer}: {time_text(case.problem, day, draft.start, case.clock)} {free} for {hours(person_min)} of work; "
    text += (
        f"out that day {named(others)}, together {money(case.problem, price)} to leave out, this one {money(case.problem, own)}."
    )
    numbers = {"day": day, "slot": draft.start, "free": asked - missing, "asked": asked, "person_min": person_min}
    numbers |= {"others_cents": price, "left_out_cents": own}
    return "people busy", text, {name: float(number) for name, number in numbers.items()}


def _who_would_do(case: Case, kind: Need | str | None, people: list[Person], day: int) -> list[Person]:
    if isinstance(kind, Need):
        return _holders(case, kind, people, day)
    if kind == "named":
        return [case.room.view.people[person] for person in case.named]
    return [p for p in people if day in p.rescue_days] if kind == "rescue" else people


def _vehicles_out(case: Case, draft: Visit) -> Block:
    out = {visit.vehicle for visit in case.room.days[draft.day]}
    text = f"There was room only at the cost of other work: {day_text(case.problem, draft.day)} every vehicle for "
    text += f"{case.mode.team} people is out ({named(sorted(out))}) on {named(case.orders_out(draft.day))}."
    return "vehicles out", text, {"day": float(draft.day), "vehicles": float(len(out))}
