"""The hard rules of a year and the parts of its cost: names and exact definitions, no code.

Definitions that both the solver and the checker build on (each by code of its own):

may stand  an item may stand in a week of its `weeks` from `opens` on; a statutory item not after `closes`, unless its close
           has passed (closes < 0); a pinned item only in its pinned week.
load       an item done by itself loads EVERYBODY with effort_person_h and each of its skills with effort_person_h * count /
           team. An absorbed item loads nothing and stops nothing.
undone     person-hours of a week that do not fit in a past year. Limit sets are taken as nested: in hours in which a strict
           one holds, the looser ones hold too, and calm hours go to the work that needs them. So for each group and each
           share v of that year and week: the load of all items whose workable share is at most v, less capacity * v; the
           undone work is the largest of these, at least 0. With one limit set this is load - capacity * share, that is
           load / share against capacity.
fits       a week's work fits in a past year if its undone work is 0 (to 1e-6 person-hours). A week without load fits always.
energy     sum over items done by themselves of stop_h * lost MWh per stop hour * price of its week, turbine and year, less
           the same for saved_stop_h of each pair of Together done by themselves in one week.
lateness   weeks after `due` (after the first week if that is past: what is late already cannot be helped) * late_cost; for a
           statutory item with closes < 0, late_cost is at least statutory_late, and its left_out_cost at least that for
           every week of the horizon, so that it is done as early as possible rather than left out.
bad tail   mean of the worst (1 - quantile) of the past years' energy plus overload, less the mean of all of them, times
           tail_share. The year on the border counts with the part of it that lies in the tail.
no history without scenarios, one year with every share 1 and no lost energy stands in; nothing is invented.
"""

from __future__ import annotations

RULES: dict[str, str] = {
    "known": "every item named in the round exists, and none is named twice",
    "complete": "every item is placed in one week, absorbed, or left out and listed",
    "week allowed": "an item stands in a week in which it may stand",
    "statutory": "a statutory item is never placed after its close, unless the close lies before the first week",
    "pin": "a pinned item stands in its pinned week (by itself or absorbed)",
    "absorb": "an absorbed item stands in the week of an item that absorbs it and is done by itself",
    "equipment": "items done by themselves with a piece of equipment: only in its weeks, at most its capacity a week",
    "most down": "different turbines of a site with a stop in one week: at most max_down of the site",
    "fit": "the work of a week fits in at least fit_share of the past years; where pinned work alone does not, the week takes "
    "no other work",
    "value": "the round's parts are the recomputed parts",
}

PARTS: dict[str, str] = {
    "lost energy": "mean energy over the past years",
    "lateness": "lateness of every placed item",
    "left out": "left_out_cost of every item left out",
    "overload": "mean undone person-hours of all weeks * overload_per_person_h",
    "bad tail": "see the definition",
    "equipment": "week_cost for each piece of equipment and week in which an item done by itself uses it",
    "change": "move_cost of each item with a previous week that stands elsewhere or is left out",
    "away from due": "weeks before `due` * away_from_due of every placed item; only without weather history",
}
"""Each part is rounded to whole cents once, after summing over the whole round."""
