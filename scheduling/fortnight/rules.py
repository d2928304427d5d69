"""The hard rules of a fortnight and the parts of its cost: names and exact definitions, no code.

Definitions that both the solver and the checker build on (each by code of its own):

stay      minutes of a visit = up + sum of the jobs' work_min + sum of the jobs' orders' pack_min + down (+ break_min if
          that sum in whole slots and the hops from base and back are together more than break_after_min), rounded up to
          whole slots.
          up/down come from Turbine.access[day]; for an order that opens climbing, and on a day on which that is none for an order
          with `behind`, from Order.access (the slowest of them). The stay lies in one day: start >= 0, start + slots <=
          Day.slots.
chance    share of members in which, for every job's order, every slot of the stay is workable for its window and for each of
          `also`.
hop       minutes between two places = hop_fixed_min + ceil(60 * distance_km / speed_kmh), 0 between a turbine and itself.
          Base to turbine likewise with base_x_km/base_y_km. Hops are rounded up to whole slots wherever slots are compared.
team      people who share a vehicle on a day. Visits of one day with the same people are one team's route, in start order.
away      a team is away from its first start minus the hop from base until its last end plus the hop back to base.
break     a team that is away longer than break_after_min needs break_min in which it neither works, climbs nor drives: gaps
          between visits beyond the hop (minutes), or a break built into a stay (see `stay`).
counting  `fit` person on a day: day in fit_days, not a learner, has a shift that day.
people    a team may hold more people than a visit asks for; each of them costs travel, overtime and abort shares, and climbs.
slots     shift: first start - hop in whole slots >= Shift.start, last end + hop in whole slots <= Shift.end. Travel, overtime,
          breaks, rest and weekly hours count plain minutes (hop minutes not rounded up to slots).
gap       a break lies in one gap: start of the next visit - end of this one - hop >= break_min (minutes).
days      sequence and lateness count day indexes: max_gap_days 1 means the next day at the latest.
after     an order with `after` is planned only if those are planned and end before it starts (same day: end slot <= start slot),
          at least after_gap_min minutes before (real minutes: Day.start_min + slot * slot_min).
behind    the orders of `behind` open a gate (a lapsed inspection of ladder, entry, hoist or isolation): an order behind them is
          planned only after their last visit's day, from the next day on, for what they find must be accepted first. Nothing
          but `behind` tells a plan that a gate will be open: a lapsed lift stays shut for all days of the plan, every stay is
          a full climb, until a plan is made after its inspection was accepted. The morning judges the gates of that day.
crew      people named in Order.crew for a visit are all in its team; more may be, and the visit is made.
alone     an order that opens climbing rides along with no other order.
cover     asked where cover_min > 0, for every minute of every stay. A stay is covered on a day in standby_days if the hop from
          the base is at most cover_min. Else another team of the day that has two fit, rescue-capable people must be at most
          cover_min (minutes of the hop) from the stay's turbine. A team stands at the turbine of its stay while that runs;
          between two places (the one it sets out from and the one it ends at included) it counts as at the farther one;
          before it leaves and after it has returned it does not count. Common practice, no source: local rules, the rescue
          plan and the maker's manual prevail.
night     a team may end a day at a lodging instead of the base (Visit.ends_at, the same in all its visits that day); then the
          same people, no more and no fewer, are one team on the next day of the horizon, which is the next date, have the same
          vehicle and start from that lodging (Visit.starts_from). The first hop of that day and the last one of the day before
          are those to the lodging (as from the base); away, shift, rest, weekly hours, overtime, travel and cover count with
          them. How long a stay is does not depend on it. Nobody starts day 0 or ends the last day at a lodging.
stopped   "most stopped" counts, each turbine once, those in the stops of the stays that run in a slot and those that stay stopped
          between two visits of a stopped_between order.
"""

from __future__ import annotations

RULES: dict[str, str] = {
    "known": "every order, turbine, person, vehicle and day named in the plan exists; no job is planned twice",
    "complete": "an order is planned with all visits of one mode, in order, or is left out and listed",
    "team size": "at least min_team and at least the mode's team of fit people; everybody in the team is fit or a learner",
    "certificate": "everybody in the team has every base certificate on the day (day in fit_days)",
    "rescue": "at least rescue_pair people of the team are rescue-capable on the day",
    "cover": "while a team is up, another team that can rescue, or a group standing by at the base, is within cover_min",
    "skill": "for each need of each job, enough fit people of the team hold the skill at the level on the day",
    "one team": "a person is in one team a day; a team's visits do not overlap and leave the hop between them",
    "vehicle": "each team has one vehicle, no vehicle serves two teams a day, seats are enough",
    "shift": "the time away lies inside the shift of everybody in the team",
    "break": "a team away longer than break_after_min has its break",
    "rest": "between two days away a person has rest_min (minutes, from the days' real start times)",
    "weekly hours": "time away per person and week (minutes) is at most week_left_min of that week, else week_max_min",
    "stay": "the visit is as long as the definition of stay says, and lies inside its day",
    "window": "chance of the stay is at least the asked confidence; the chance stated is the recomputed one",
    "day allowed": "the visit's day is one of the order's days",
    "access": "nobody climbs where access is none, save for orders that open climbing or are behind those that do",
    "climbs": "visits a person makes on a day: at most climbs_a_day; by ladder at most ladder_climbs_a_day",
    "one team per turbine": "stays on the same turbine do not overlap (jobs that ride along are one visit)",
    "isolation": "a visit that stops other turbines does not overlap a visit on any of those",
    "equipment": "visits that use a piece of equipment at the same time: at most its capacity, on its days",
    "sequence": "visits of an order lie on different days in order, within max_gap_days; `after` orders are finished first, "
    "`behind` orders on an earlier day",
    "most stopped": "turbines of a site stopped at the same time: at most max_stopped of the site",
    "pin": "pinned visits stand where they are pinned",
    "crew": "people who are pinned to a visit are in its team",
    "together": "pairs that must not work together never do; pairs that must are in one team when both are out",
    "night": "a team that ends a day at a lodging, and only that team with its vehicle, starts there on the next day",
    "beds": "people who sleep at a lodging in one night: at most its beds",
    "nights in a row": "a person sleeps away at most nights_in_row nights in a row",
    "value": "the plan's parts are the recomputed parts",
}

PARTS: dict[str, str] = {
    "lost energy": "sum over visits and turbines in the orders' stops (each turbine once per visit): stop_mwh * price over the "
    "slots of the stay; plus, for stopped_between orders, the order's own turbine from the end of a visit to the start of the "
    "next one (columns between, and night_mwh * night_cents for each night between)",
    "lateness": "late_cost per day that the last visit lies after due_day (due_day below 0 counts from there)",
    "left out": "left_out_cost of every order left out",
    "likely aborts": "(1 - chance) * abort_per_person * people of the visit * day_weight of its day",
    "travel": "travel_per_person_min * minutes of the hops of a team's route (base, visits, base) * people of the team",
    "nights away": "night_cost of the lodging for each person and night",
    "teams": "team_day for each team and day",
    "overtime": "overtime_per_person_min * minutes away after regular_end, for each person",
    "equipment": "day_cost for each piece of equipment and day on which a visit uses it; mobilise_cost for each piece that is "
    "used",
    "change": "change_cost of each published visit that is left out or stands on another day or slot; crew_cost for each person "
    "of one that stands still who is not in its team",
    "hired people": "day_cost of each person and day in a team",
    "hand-over": "hand_over_cost for each visit of an order after the first whose team holds nobody of the visit before "
    "(learners do not count)",
    "pairs apart": "pair_apart for each preferred pair and day on which both are out in different teams",
}
"""Each part is rounded to whole cents once, after summing over the whole plan."""
