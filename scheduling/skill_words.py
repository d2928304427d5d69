"""How good the calls were, in plain sentences; too few calls give numbers to count, never a share."""

from __future__ import annotations

from scheduling.selectors.stay_calls import LEAST_CALLS, Skill
from scheduling.weather.scores import Bin


def skill_sentences(skill: Skill) -> list[str]:
    """What the calls rest on, then one sentence for each band of chances that was called. Likeliest first."""
    return [_rest(skill), *(band_sentence(one, skill.score.lead_day) for one in reversed(skill.bands) if one.n)]


def band_sentence(band: Bin, lead_day: int | None = None) -> str:
    """Of 63 stays called 70-90 %, 51 (81 %) could be done; the mean call was 79 %."""
    done, said = round(band.share_fitted * band.n), f"{100 * band.low:.0f}-{100 * band.high:.0f} %"
    share = f"{done} ({100 * band.share_fitted:.0f} %)" if band.n >= LEAST_CALLS else f"{done}"
    end = f"the mean call was {100 * band.mean_chance:.0f} %" if band.n >= LEAST_CALLS else "too few for a share"
    if lead_day is None:
        return f"Of {_counted(band.n, None)} of {said}, the stay could be done in {share}; {end}."
    return f"Of {_counted(band.n, lead_day)} called {said}, {share} could be done; {end}."


def _rest(skill: Skill) -> str:
    score = skill.score
    if not score.calls.n:
        return "No call has an outcome yet: it takes published stays, and wind measured at the site while they lasted."
    said = f"These are {_counted(score.calls.n, score.lead_day)}"
    if score.lead_day is None:
        said += f" of {score.stays} stay{'s' if score.stays != 1 else ''}, one for each day of lead"
    if not score.enough:
        return f"{said}: too few to say how good they are. It takes {LEAST_CALLS}."
    return f"{said}; over all of the site's stays {100 * score.climate:.0f} % could be done."


def _counted(n: int, lead_day: int | None) -> str:
    """With one lead day a call is a stay; over all of them a stay has several calls."""
    noun = "call" if lead_day is None else "stay"
    return f"{n} {noun}{'s' if n != 1 else ''}"
