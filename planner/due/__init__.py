"""Due work, pure: interval + history + readings + today -> dates, state and a reason.

States, computed from one ``today`` (the site's own day) and never stored:

========  ==========================================================================
not open  today is before ``opens`` (the due day less ``early_days``)
open      from ``opens`` up to the day before the due day
due       the due day itself, the whole of it: work done that day is in time
late      after the due day, up to and including ``closes`` (due + ``late_days``)
overdue   after ``closes``; with no late tolerance that is the day after the due day
========  ==========================================================================

A lapse stops its gates when the state is overdue. A statutory interval has no late tolerance, so its gates
shut on the day after its due day.

*Floating*: next = day done + every. *Fixed*: occurrences lie on a chain of due dates; work done counts for
every occurrence that had opened by that day, and the next due is the first one that had not opened. So work
done too early does not count, late work never moves the chain, and skipped periods are stepped over.

No clock, no database: the caller passes today, and gives one asset's own rows.
"""

from __future__ import annotations

from planner.due.absorb import absorb, visit_closes
from planner.due.certificates import Certificate, Renewal, extend_online, renew
from planner.due.find import earliest, find_due, shortest, state_on
from planner.due.model import (
    FIRST_YEAR,
    GATES,
    LAST_YEAR,
    STATES,
    TRIGGERS,
    CounterReading,
    Done,
    Due,
    Gate,
    Interval,
    Key,
    State,
    Trigger,
)
from planner.due.months import add_months, tolerance_days

__all__ = [
    "FIRST_YEAR",
    "GATES",
    "LAST_YEAR",
    "STATES",
    "TRIGGERS",
    "Certificate",
    "CounterReading",
    "Done",
    "Due",
    "Gate",
    "Interval",
    "Key",
    "Renewal",
    "State",
    "Trigger",
    "absorb",
    "add_months",
    "earliest",
    "extend_online",
    "find_due",
    "renew",
    "shortest",
    "state_on",
    "tolerance_days",
    "visit_closes",
]
