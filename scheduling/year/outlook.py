"""What a round means: load against capacity, energy lost, and how sure its dates are, all over the past years."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from scheduling.year.money import lost_mwh, undone_table, week_load
from scheduling.year.plan import Plan
from scheduling.year.problem import Problem
from scheduling.year.replay import Replay, replay
from scheduling.year.tables import Floats, Tables, tables


@dataclass(frozen=True)
class WeekOutlook:
    """One week of a round.

    load_h, capacity_h  group -> person-hours laid in, and on shift
    fill                per past year: work against the hours in which it can be done, 1 = just fits; None = no such hours
    fits_share          share of the past years in which the week's work fits
    undone_mean_h       person-hours that do not fit, mean over the past years
    """

    label: str
    load_h: dict[str, float]
    capacity_h: dict[str, float]
    fill: tuple[float | None, ...]
    fits_share: float
    undone_mean_h: float


@dataclass(frozen=True)
class Outlook:
    """A round over the past years. Weeks are indexes; a date is the last day (Sunday) of its week, "" = not this year.

    lost_mwh         per past year; `lost_mwh_p90` is not exceeded in 90 % of them
    finish_p50/p90   date by which all placed work is finished in 50 / 90 % of the past years
    met_share        item id -> share of the past years in which it is finished by its close (the horizon at most)
    done_mean        per week: share of the placed person-hours' items finished by its end, mean over the past years
    done_p10         the same, reached or passed in 90 % of the past years
    history          number of past years; 0 = none known, one undisturbed year stands in
    """

    weeks: tuple[WeekOutlook, ...]
    lost_mwh: tuple[float, ...]
    lost_mwh_mean: float
    lost_mwh_p90: float
    finish_p50: str
    finish_p90: str
    finish_weeks: tuple[int, ...]
    met_share: dict[str, float]
    done_mean: tuple[float, ...]
    done_p10: tuple[float, ...]
    history: int


def outlook(problem: Problem, plan: Plan) -> Outlook:
    """Work out the outlook of a round that keeps the rules."""
    t = tables(problem)
    again = replay(problem, plan)
    lost = lost_mwh(t, plan.placements)
    done = _done(t, again)
    ends = again.round_finish()
    return Outlook(
        weeks=_weeks(t, plan),
        lost_mwh=tuple(lost.tolist()),
        lost_mwh_mean=float(lost.mean()),
        lost_mwh_p90=_reached(lost, 0.9),
        finish_p50=_date(problem, _reached(ends, 0.5)),
        finish_p90=_date(problem, _reached(ends, 0.9)),
        finish_weeks=tuple(ends.tolist()),
        met_share={item.id: again.met_share(item.id, item.closes) for item in problem.items if item.id in again.finish},
        done_mean=tuple(done.mean(axis=0).tolist()),
        done_p10=tuple(_reached(-done[:, w], 0.9) * -1.0 for w in range(done.shape[1])),
        history=len(problem.scenarios),
    )


def _reached(values: NDArray[np.float64] | NDArray[np.int64], share: float) -> float:
    """The least value that is not exceeded in `share` of the years; -1 of none."""
    if not len(values):
        return -1.0
    return float(np.sort(values)[int(np.ceil(share * len(values) - 1e-9)) - 1])


def _date(problem: Problem, week: float) -> str:
    if not 0 <= week < len(problem.weeks):
        return ""
    return (date.fromisoformat(problem.weeks[int(week)].monday) + timedelta(days=6)).isoformat()


def _weeks(t: Tables, plan: Plan) -> tuple[WeekOutlook, ...]:
    load = week_load(t, plan.placements)
    undone = undone_table(t, load)
    found = []
    for w, week in enumerate(t.problem.weeks):
        hours = load[w].sum(axis=0)
        found.append(
            WeekOutlook(
                label=week.label,
                load_h=dict(zip(t.groups, hours.tolist(), strict=True)),
                capacity_h=dict(zip(t.groups, t.capacity[w].tolist(), strict=True)),
                fill=tuple(_fill(t.share[:, s, w], t.capacity[w], load[w]) for s in range(t.scenarios)),
                fits_share=float((undone[:, w] == 0).mean()),
                undone_mean_h=float(undone[:, w].mean()),
            )
        )
    return tuple(found)


def _fill(share: Floats, capacity: Floats, load: Floats) -> float | None:
    """Largest ratio of work to usable hours over groups and levels of share in one year's week."""
    worst = 0.0
    for level in set(share.tolist()):
        work, room = load[share <= level].sum(axis=0), capacity * level
        if (work > room)[room == 0].any():
            return None
        ratios = work[room > 0] / room[room > 0]
        worst = max(worst, float(ratios.max(initial=0.0)))
    return worst


def _done(t: Tables, again: Replay) -> Floats:
    """[scenarios, weeks] share of the placed effort that is finished by the end of each week; absorbed items have none."""
    effort = {item.id: item.effort_person_h for item in t.problem.items}
    total = sum(effort[item] for item in again.finish)
    weeks = np.arange(len(t.problem.weeks))
    done = np.zeros((t.scenarios, len(weeks)))
    for item, finish in again.finish.items():
        done += (finish[:, None] <= weeks) * (effort[item] / total)
    return done
