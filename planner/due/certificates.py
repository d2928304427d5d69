"""Certificates of people: validity, renewal before the end, online part refreshers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from planner.due.months import add_months, check_day


@dataclass(frozen=True, slots=True)
class Certificate:
    """A kind of certificate with its first and last valid day, both included."""

    kind: str
    valid_from: date
    valid_until: date

    def __post_init__(self) -> None:
        check_day(self.valid_from, "valid_from")
        check_day(self.valid_until, "valid_until")
        if self.valid_until < self.valid_from:
            raise ValueError(f"valid_until {self.valid_until} is before valid_from {self.valid_from}: correct one of them.")


@dataclass(frozen=True, slots=True)
class Renewal:
    """Last valid day after a refresher. full_course_needed: it came too late and changed nothing."""

    valid_until: date
    full_course_needed: bool


def renew(expiry: date, done_on: date, validity_months: int = 24, early_months: int = 2) -> Renewal:
    """Return the new last valid day after a refresher on done_on.

    Up to early_months before the expiry the old date is kept: expiry + validity. Earlier: done_on + validity.
    After the expiry a refresher does not renew: the old date stands and the full course is needed.
    Source of the defaults: GWO Basic Safety Training standard V20, section 5.5. Raises ValueError for
    months that are not positive.
    """
    _check_months("validity_months", validity_months, least=1)
    _check_months("early_months", early_months, least=0)
    check_day(done_on, "done_on")
    if done_on > expiry:
        return Renewal(expiry, full_course_needed=True)
    keeps_date = done_on >= add_months(expiry, -early_months)
    return Renewal(add_months(expiry if keeps_date else done_on, validity_months), full_course_needed=False)


def extend_online(expiry: date, done_on: date, months: int = 6) -> Renewal:
    """Return the new last valid day after an online part refresher: existing expiry + months.

    After the expiry it does not count. Source: GWO BSTR-P standard V3 (2023), table 4.6.1.
    """
    _check_months("months", months, least=1)
    check_day(done_on, "done_on")
    if done_on > expiry:
        return Renewal(expiry, full_course_needed=True)
    return Renewal(add_months(expiry, months), full_course_needed=False)


def _check_months(field: str, months: int, least: int) -> None:
    if isinstance(months, bool) or not isinstance(months, int) or months < least:
        raise ValueError(f"{field} {months!r} is not a span: use whole months, {least} or more.")
