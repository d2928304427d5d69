"""How often the calls were right, ready to show: the diagram, its table, scores by lead day, and the last stays."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import Any

from planner.models import Site
from planner.views.formats import chance, clock, moment, number, share, short_day
from scheduling.builders.measured import NOTHING_CAME
from scheduling.drawings.reliability import Point, reliability_diagram
from scheduling.models import StayCall
from scheduling.selectors.forecast_error import ErrorInUse
from scheduling.selectors.stay_calls import LEAST_CALLS, Score, Skill
from scheduling.skill_words import skill_sentences
from scheduling.weather.scores import Bin

FITTED, NOT_FITTED, NOT_KNOWN = (
    {"word": "fitted", "shape": "✓", "tint": "done"},
    {"word": "did not fit", "shape": "×", "tint": "late"},
    {"word": "not known", "shape": "·", "tint": "draft"},
)
FEW = "too few"


def skill_lines(skill: Skill) -> dict[str, Any]:
    """The whole section; without any scored call only the sentence that says so."""
    n = skill.score.calls.n
    return {
        "sentences": skill_sentences(skill),
        "diagram": reliability_diagram("reliability", "Calls and outcomes", [_point(one) for one in skill.bins]) if n else "",
        "bins": [_bin_line(one) for one in skill.bins if one.n],
        "by_lead": [_score_line(one) for one in skill.by_lead],
        "days": [one.lead_day for one in skill.by_lead],
        "least": LEAST_CALLS,
    }


def _point(one: Bin) -> Point:
    if one.n < LEAST_CALLS:
        return Point(one.low, one.high, one.n, None, None, None, None)
    return Point(one.low, one.high, one.n, one.mean_chance, one.share_fitted, one.low_bound, one.high_bound)


def _bin_line(one: Bin) -> dict[str, str]:
    done = str(round(one.share_fitted * one.n))
    line = {"called": f"{100 * one.low:.0f}-{100 * one.high:.0f} %", "calls": str(one.n), "done": done}
    if one.n < LEAST_CALLS:
        return {**line, "share": FEW, "interval": "", "mean": "", "reading": ""}
    interval = f"{100 * one.low_bound:.0f}-{100 * one.high_bound:.0f} %"
    return {
        **line,
        "share": share(one.share_fitted),
        "interval": interval,
        "mean": share(one.mean_chance),
        "reading": _reading(one),
    }


def _reading(one: Bin) -> str:
    if one.low_bound <= one.mean_chance <= one.high_bound:
        return "in line"
    return "called too high" if one.mean_chance > one.share_fitted else "called too low"


def _score_line(score: Score) -> dict[str, str]:
    day, said = score.lead_day or 0, score.calls
    return {
        "day": f"day {day}",
        "lead": f"{24 * (day - 1)} to {24 * day} h",
        "calls": str(said.n),
        "brier": number(score.brier.score, digits=3) if score.enough else FEW,
        "reliability": number(score.brier.reliability, digits=3) if score.enough else FEW,
        "skill": _skill(score),
        "hits": str(said.hits),
        "false_go": str(said.false_go),
        "missed": str(said.missed),
        "right_no": str(said.right_no),
    }


def _skill(score: Score) -> str:
    if not score.enough:
        return FEW
    return f"{score.skill:.2f}" if isfinite(score.skill) else "nothing to beat"


def ended_lines(calls: Sequence[StayCall], site: Site) -> list[dict[str, Any]]:
    """The stays that ended last, with their last call and what was measured."""
    return [_ended(call, site) for call in calls]


def _ended(call: StayCall, site: Site) -> dict[str, Any]:
    told = call.about.get("measured", {})
    left_out = told.get("left_out", [])
    return {
        "day": short_day(call.starts_at.astimezone(site.zone).date()),
        "turbine": call.visit.turbine.code,
        "times": f"{clock(call.starts_at, site.zone)} to {clock(call.ends_at, site.zone)}",
        "called": chance(call.chance),
        "issued": moment(call.issued_at, site.zone),
        "mark": NOT_KNOWN if call.fitted is None else FITTED if call.fitted else NOT_FITTED,
        "why": "" if call.fitted is not None else told.get("why", NOTHING_CAME),
        "judged": told.get("judged", []),
        "left_out": f"not measured: {', '.join(left_out)}" if left_out and call.fitted is not None else "",
    }


def wind_lines(used: ErrorInUse) -> dict[str, Any]:
    """How far off the wind of past forecasts was, by lead day; no rows where no fit is in use."""
    scores = used.fit.model.get("wind_scores", []) if used.fit else []
    rows = [
        {
            "day": one["lead_day"],
            "hours": f"{one['hours']:,}",
            "members": f"{one['members_mps']:.1f} m/s",
            "forecast": f"{one['forecast_mps']:.1f} m/s",
        }
        for one in scores
    ]
    return {"text": used.text, "rows": rows}
