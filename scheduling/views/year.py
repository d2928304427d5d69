"""Year: the round laid into weeks, against people and the wind climate."""

from __future__ import annotations

from datetime import date
from typing import Any

from planner.models import Base
from planner.views.formats import money, number, share, weekday
from planner.views.marks import mark
from scheduling.choices import RunKind
from scheduling.models import Round, RoundItem, Run
from scheduling.selectors.plans import round_current, round_items
from scheduling.selectors.rounds import round_about
from scheduling.views.plan_lines import cost_lines
from scheduling.views.round_lines import PART_WORDS, climate_of, curve_of, grid_of, months_of, weeks_of
from scheduling.views.run_lines import currency_of
from scheduling.views.solving import SolvingPage


class YearPage(SolvingPage):
    """One base's newest round, and the run that makes the next one."""

    template = "scheduling/year.html"
    title = "Year"
    name = "year"
    kind = RunKind.YEAR.value
    usual_days = 364

    def base_context(self, base: Base) -> dict[str, Any]:
        """The round with its drawings and tables."""
        currency = currency_of(base)
        made = round_current(base)
        shown = self._round_context(made, base, currency) if made else None
        return {**self.run_context(base, currency), "round": shown}

    def _round_context(self, made: Round, base: Base, currency: str) -> dict[str, Any]:
        items = list(round_items(made).filter(turbine__site__in=self.sites_of(base)))
        problem = Run.objects.filter(pk=made.run_id).values("problem__weeks", "problem__workable_share").get()
        mondays = [date.fromisoformat(week["monday"]) for week in problem["problem__weeks"] or []]
        limit, climate = climate_of(problem["problem__workable_share"] or {})
        weeks = weeks_of(made.about)
        return {
            "pk": made.pk,
            "mark": mark(made.state),
            "days": f"{weekday(made.first_day)} to {weekday(made.last_day)}",
            "warnings": round_about(made, sites=self.sites_of(base)).get("warnings", []),
            "facts": _facts(made, currency),
            "parts": cost_lines(made.about.get("parts", {}), currency, PART_WORDS),
            "limit": limit,
            "grid": grid_of(items, mondays, weeks, climate),
            "curve": curve_of(made.about, mondays),
            "months": months_of(items, mondays, weeks, climate),
            "left_out": [_left_out(item) for item in items if item.week is None],
            "told": made.run.text,
        }


def _facts(made: Round, currency: str) -> list[tuple[str, str]]:
    about = made.about
    history = about.get("history", 0)
    rows = [
        ("Past weather years", str(history) if history else "none known"),
        ("Lost energy", f"{number(about.get('lost_mwh_mean'), 'MWh')} in the mean of the past years") if history else ("", ""),
        ("In a bad year", f"{number(about.get('lost_mwh_p90'), 'MWh')}, not exceeded in 9 of 10 past years")
        if history
        else ("", ""),
        ("Finished by", _finish(about, "finish_p50", "half")) if history else ("", ""),
        ("And nearly surely by", _finish(about, "finish_p90", "9 of 10")) if history else ("", ""),
        ("Cost", money(made.run.value, currency)),
        ("Proven least", money(made.run.bound, currency)),
        ("Gap", share(made.run.gap, 1)),
    ]
    return [(name, value) for name, value in rows if name]


def _finish(about: dict[str, Any], key: str, years: str) -> str:
    day = about.get(key, "")
    return f"{weekday(date.fromisoformat(day))} in {years} of the past years" if day else "not within this year"


def _left_out(item: RoundItem) -> dict[str, str]:
    return {
        "turbine": item.turbine.code,
        "work": item.interval.procedure.name,
        "due": weekday(item.due_on),
        "closes": weekday(item.closes_on),
        "reason": item.reason,
    }
