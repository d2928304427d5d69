"""Checks of single fields; each sentence names what to give instead."""

from __future__ import annotations

import itertools
import zoneinfo
from typing import Any

from django.core.exceptions import ValidationError

from planner.choices import Gate
from planner.worth import LEFT_OUT


def known_zone(value: str) -> None:
    """An IANA zone such as Europe/Berlin."""
    if value not in zoneinfo.available_timezones():
        raise ValidationError(f"{value!r} is no known time zone: give an IANA name such as Europe/Berlin.")


def power_curve(value: Any) -> None:
    """A list of [wind speed m/s, power kW] pairs: at least two, speeds rising, no blanks, no negative power."""
    pairs = value if isinstance(value, list) else []
    fits = len(pairs) >= 2 and all(
        isinstance(pair, list) and len(pair) == 2 and all(_number(x) for x in pair) and pair[1] >= 0 for pair in pairs
    )
    if not fits:
        raise ValidationError("Give a list of [m/s, kW] pairs, at least two, with numbers of 0 or more.")
    speeds = [pair[0] for pair in pairs]
    if any(later <= earlier for earlier, later in itertools.pairwise(speeds)):
        raise ValidationError("The wind speeds of the power curve must rise from pair to pair.")


def hourly_prices(value: Any) -> None:
    """Either empty or 24 numbers, one for each local hour."""
    if value and not (isinstance(value, list) and len(value) == 24 and all(_number(x) for x in value)):
        raise ValidationError("Give 24 prices, one for each local hour, or leave it empty for the flat price.")


def money_table(value: Any) -> None:
    """A table of class of order to a number of 0 or more."""
    fits = isinstance(value, dict) and all(_number(amount) and amount >= 0 for amount in value.values())
    if not fits:
        raise ValidationError('Give a table such as {"statutory": 9000} with numbers of 0 or more.')
    unknown = sorted(set(value) - set(LEFT_OUT))
    if unknown:
        raise ValidationError(f"{unknown[0]!r} is no class of order: give some of {', '.join(LEFT_OUT)}.")


def money_list(value: Any) -> None:
    """A list of numbers of 0 or more, one a day."""
    if not isinstance(value, list) or not all(_number(amount) and amount >= 0 for amount in value):
        raise ValidationError("Give a list of amounts of 0 or more, one a day ahead, such as [400, 300, 150, 100].")


def weekdays(value: Any) -> None:
    """A non-empty list of ISO weekdays, 1 (Monday) to 7."""
    fits = isinstance(value, list) and value and all(isinstance(day, int) and 1 <= day <= 7 for day in value)
    if not fits or len(set(value)) != len(value):
        raise ValidationError("Give the working weekdays as a list of 1 (Monday) to 7 (Sunday), each once.")


def gate_list(value: Any) -> None:
    """A list of gate names, each once."""
    known = set(Gate.values)
    texts = isinstance(value, list) and all(isinstance(one, str) for one in value)
    if not texts or not set(value) <= known or len(set(value)) != len(value):
        raise ValidationError(f"Give a list of what a lapse stops, from: {', '.join(sorted(known))}.")


def _number(value: Any) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < float("inf")
