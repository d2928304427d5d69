"""The demo's report as a page of text for a terminal of 110 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import datetime
from itertools import groupby
from typing import Any

from planner.cautions import CAUTION

WIDTH = 110
Row = dict[str, Any]


def page(report: Row) -> str:
    """The whole page."""
    parts = (_head, _due, _round, _plan, _left_out, _morning, _energy, _next)
    return "\n".join(line for part in parts for line in part(report)) + "\n"


def _title(text: str) -> list[str]:
    return ["", text.upper(), "-" * min(WIDTH, len(text))]


def _wrapped(text: str, indent: int) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2))


def _head(report: Row) -> Iterator[str]:
    yield f"Lull, {report['base']}: fortnight from {report['first_day']}"
    yield from _wrapped(CAUTION, 0)
    weather = report["weather"]
    read = f"Weather: {weather['rows_read']:,} rows read, {weather['first'][:10]} to {weather['last'][:10]}"
    flags = sum(run["rows"] for run in weather["flags"])
    yield f"{read}, every {weather['step_min']} min, {flags:,} values flagged and not used."


def _due(report: Row) -> Iterator[str]:
    rows = [row for row in report["due"] if row["state"] in ("overdue", "late")]
    yield from _title("Overdue or late, and what it stops")
    for row in rows:
        stops = f"  STOPS {', '.join(row['stops'])}" if row["stops"] else ""
        law = "statutory" if row["statutory"] else "maker's"
        over = f"{row['state']} by {row['days_over']} d" if row["days_over"] else row["state"]
        yield f"  {row['turbine']:<6}{row['what']:<42.42} {law:<10} due {row['due'] or 'unknown':<11} {over}{stops}"
    if not rows:
        yield "  Nothing."
    ahead = sum(row["state"] in ("open", "due") and not row["absorbed"] for row in report["due"])
    yield f"  {ahead} more are open, in time."


def _round(report: Row) -> Iterator[str]:
    found = report["round"]
    yield from _title("The year's round by month")
    most = max(found["by_month"].values(), default=1)
    for month, count in found["by_month"].items():
        yield f"  {month}  {count:>3}  {'#' * max(1, round(40 * count / most))}"
    gap = "unknown" if found["gap"] is None else f"{found['gap']:.2%}"
    lost = f"lost energy {found['lost_mwh_mean']:,.0f} MWh on the mean of {found['years']} weather years"
    yield f"  {found['items']} items; {lost}, {found['lost_mwh_p90']:,.0f} in a bad one (P90); gap {gap}"
    half, most_years = (found[name] or "no date this year" for name in ("finish_p50", "finish_p90"))
    yield f"  finished by {half} in half of the years, by {most_years} in nine of ten"
    tight = [week["week"] for week in found["weeks"] if week["fits_share"] < 0.8]
    yield from _wrapped(f"weeks that fit in fewer than 8 of 10 years: {', '.join(tight) or 'none'}", 2)
    for text in (*found["warnings"], *found["left_out"][:5]):
        yield from _wrapped(text, 2)


def _plan(report: Row) -> Iterator[str]:
    plan = report["plan"]
    yield from _title(f"The fortnight {plan['first_day']} to {plan['last_day']}")
    for day, rows in groupby(plan["visits"], key=lambda row: row["day"]):
        yield f"  {datetime.fromisoformat(day):%A %d %B}"
        for row in rows:
            what = "; ".join(order["what"] for order in row["orders"])
            times = f"{_clock(row['start'])}-{_clock(row['end'])} down by {_clock(row['down_by'])}"
            yield f"    {row['turbine']:<6}{times:<29}{row['chance']:>5.0%}  by {row['by']:<7}{what:<52.52}"
            yield f"          {', '.join(row['team'])} ({row['vehicle']})"
    gap = "unknown" if plan["gap"] is None else f"{plan['gap']:.1%}"
    cost = f"cost {plan['value']:,.0f} {plan['currency']}, proven bound {plan['bound']:,.0f}, gap {gap}"
    yield f"  {cost}, {plan['violations']} hard rules broken (checked by other code)"
    parts = ", ".join(f"{name} {amount:,.0f}" for name, amount in plan["parts"].items() if amount)
    yield from _wrapped(f"made of: {parts}", 2)


def _left_out(report: Row) -> Iterator[str]:
    yield from _title("Left out, and why")
    for row in report["plan"]["left_out"]:
        yield f"  {row['order']}  {row['label']}"
        yield from _wrapped(row["reason"] or "no reason was found", 14)
    if not report["plan"]["left_out"]:
        yield "  Nothing."


def _morning(report: Row) -> Iterator[str]:
    yield from _title(f"The morning of {report['morning_day']}")
    for row in report["morning"]:
        times = "no start today"
        if row["start"]:
            times = f"start {_clock(row['start'])}, everybody down by {_clock(row['down_by'])}"
        yield f"  {row['verdict'].upper():<6} {row['turbine']:<6} {times:<42} {row['team']}"
        limit = row["limit"]
        if limit is not None:
            value = "unknown" if limit["value"] is None else f"{limit['value']:.1f}"
            yield f"         tightest: {limit['name']} {value} of {limit['op']} {limit['limit']:g} {limit['unit']}"
        if row["verdict"] != "go":
            for text in row["reasons"]:
                yield from _wrapped(text, 9)
    ages = [row["forecast_age_h"] for row in report["morning"] if row["forecast_age_h"] is not None]
    if ages:
        yield f"  forecast {max(ages):.1f} h old"


def _energy(report: Row) -> Iterator[str]:
    ours, theirs = report["lost_energy_mwh"], report["lost_energy_mwh_due_date_order"]
    yield from _title("Lost energy")
    saved = f", {1 - ours / theirs:.0%} less" if theirs > 0 else ""
    total = report["plan"]
    both, held = total["orders_compared"], total["orders_planned_due_date_order"]
    yield f"  {ours:,.1f} MWh for {both} orders; the same work in due-date order loses {theirs:,.1f} MWh{saved}"
    cost = f"whole cost {total['value']:,.0f} {total['currency']}"
    yield f"  {cost}; in due-date order {total['value_due_date_order']:,.0f}, with {held} orders planned"


def _next(report: Row) -> Iterator[str]:
    yield from _title("Where to look next")
    yield "  python manage.py serve          then http://127.0.0.1:8000/ as planner, lead, technician or viewer,"
    yield "                                  password lull-demo"
    yield "  python manage.py go             this morning again        python manage.py due --state overdue"
    absent = next((name for row in report["plan"]["visits"] for name in row["team"]), "")
    if absent:
        change = f'{{"kind": "person away", "person": "{absent}", "days": ["{report["first_day"]}"]}}'
        yield f"  python manage.py whatif new try --first {report['first_day']} --add '{change}'"
        yield "  python manage.py whatif solve try                         then: python manage.py whatif compare try"
    yield "  python manage.py plan           solve a new fortnight     http://127.0.0.1:8000/api/v1/docs/"


def _clock(text: str | None) -> str:
    return datetime.fromisoformat(text).strftime("%H:%M") if text else "--:--"
