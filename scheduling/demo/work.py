"""History, counters and the orders raised by hand."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from django.contrib.auth import get_user_model

from planner import models as m
from planner.due import add_months
from workorders.models import Order, OrderLink
from workorders.services.orders import order_raise_by_hand

if TYPE_CHECKING:
    from scheduling.demo.scenario import Loaded

SPREAD = (37, 101)
"""Two primes: turbine t's interval i was last due (37 t + 101 i) parts into its period, so that work spreads over the year."""

MARGIN_DAYS = 10
"""Kept free at the end of a period, so that work due then was last done some days ago and not tomorrow."""


def load(loaded: Loaded) -> None:
    """Lay history, counter readings and hand-raised orders."""
    _history(loaded)
    _counters(loaded)
    _orders(loaded)


def _history(loaded: Loaded) -> None:
    exceptions = {(row["interval"], row["turbine"]): row["due"] for row in loaded.data["done"]["exceptions"]}
    intervals = [one for one in loaded.intervals.values() if one.trigger == "months"]
    rows = []
    for at, interval in enumerate(intervals):
        turbines = [one for one in loaded.turbines.values() if one.type_id == interval.turbine_type_id]
        for number, turbine in enumerate(turbines):
            ahead = exceptions.get((interval.code, turbine.code))
            next_due = _spread(loaded, interval, number, at) if ahead is None else loaded.day(ahead)
            last = add_months(next_due, -int(interval.every))
            if last > turbine.commissioned_on:
                rows.append(m.WorkDone(interval=interval, turbine=turbine, done_on=last, due_on=last, note="before Lull"))
    m.WorkDone.objects.bulk_create(rows)


def _spread(loaded: Loaded, interval: m.Interval, number: int, at: int) -> date:
    """The next due day of an interval, spread over its period: never already passed, and last done before today."""
    days = int(interval.every * 30.4) - MARGIN_DAYS
    return loaded.day(3 + (SPREAD[0] * number * days // 365 + SPREAD[1] * at) % days)


def _counters(loaded: Loaded) -> None:
    rows = []
    for counter, rule in loaded.data["counters"].items():
        for number, turbine in enumerate(loaded.turbines.values()):
            step = rule["readings_every_days"]
            now = rule["near"].get(turbine.code, 12_000 + 900 * number)
            for back in range(4, -1, -1):
                day = loaded.first_day - timedelta(days=back * step + 1)
                value = now - back * step * rule["hours_a_day"]
                rows.append(m.CounterReading(turbine=turbine, counter=counter, read_on=day, value=round(value, 1)))
    m.CounterReading.objects.bulk_create(rows)


def _orders(loaded: Loaded) -> None:
    planner = get_user_model().objects.get(username=loaded.data["users"][0][0])
    made: list[Order] = []
    for row in loaded.data["orders"]:
        order = order_raise_by_hand(
            turbine=loaded.turbines[row["turbine"]],
            procedure=loaded.procedures[row["procedure"]],
            klass=row["class"],
            due_on=loaded.day(row["due"]),
            note=row["note"],
            by=planner,
        )
        made.append(order)
        for at, gap_h in [row["after"]] if "after" in row else []:
            OrderLink.objects.create(earlier=made[at], later=order, least_gap_h=gap_h)
