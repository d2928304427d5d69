"""Which lapsed inspection or certificate stops what, on a given day. Pure.

Gates: lift (then the tower is climbed by ladder), climbing and entry (then nothing is done but the inspection
that opens them), hoist and isolation (then work that needs them waits), person (see person_fit).
Lull plans; it never authorises: the competent person on site decides.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from planner.due.certificates import Certificate
from planner.due.model import GATES, Due, Gate, Key
from planner.due.months import check_day

AccessBy = Literal["lift", "ladder", "none"]
BLOCKING: tuple[Gate, ...] = ("entry", "climbing")  # in the order a team meets them


@dataclass(frozen=True, slots=True)
class Lapse:
    """One lapsed inspection: its interval's key, the gate it shuts, the first day shut, a sentence."""

    subject: Key
    gate: str
    since: date
    reason: str

    def __post_init__(self) -> None:
        if self.gate not in GATES:
            raise ValueError(f"gate {self.gate!r} is unknown: use one of {', '.join(GATES)}.")


Shut = Mapping[str, Sequence[Lapse]]


@dataclass(frozen=True, slots=True)
class Access:
    """How people get up a turbine on one day, and every reason why not otherwise."""

    by: AccessBy
    reasons: tuple[str, ...]
    shut: Shut

    def opens_gate(self, order_interval_keys: Collection[Key]) -> bool:
        """Whether an order is nothing but inspections that open entry or climbing (see opens_gate())."""
        return opens_gate(self.shut, order_interval_keys)


def shut_gates(dues: Iterable[Due], on: date) -> dict[str, list[Lapse]]:
    """Return the gates that one turbine's (or person's) dues shut on a day, with the lapses, oldest first.

    Every due is judged on that day whatever day it was found on: lapsed if its closes lies before.
    Absorbed dues count too: what a lapse stops does not depend on which visit does the work.
    """
    check_day(on, "on")
    shut: dict[str, list[Lapse]] = {}
    for due in dues:
        if due.closes is None or due.closes >= on:
            continue
        for gate in sorted(due.can_stop):
            shut.setdefault(gate, []).append(_lapse(due, due.closes, gate, on))
    return {gate: sorted(lapses, key=lambda lapse: lapse.since) for gate, lapses in sorted(shut.items())}


def access_on(on: date, shut: Shut, *, has_lift: bool) -> Access:
    """Return how a turbine can be reached on a day, from that day's shut_gates() (or lapses found on site).

    Entry or climbing shut: none. Lift shut or no lift built in: the whole way by ladder. A lapse that begins
    after the day does not count yet.
    """
    check_day(on, "on")
    today = {gate: lapses for gate, all_ in shut.items() if (lapses := [x for x in all_ if x.since <= on])}
    if blocked := [lapse.reason for gate in BLOCKING for lapse in today.get(gate, ())]:
        return Access("none", tuple(dict.fromkeys(blocked)), today)
    if not has_lift:
        return Access("ladder", ("No lift in this turbine: the whole way is climbed.",), today)
    if "lift" in today:
        return Access("ladder", tuple(lapse.reason for lapse in today["lift"]), today)
    return Access("lift", (), today)


def opens_gate(shut: Shut, order_interval_keys: Collection[Key]) -> bool:
    """Whether an order may go ahead although entry or climbing is shut, because it opens them.

    It must be nothing but inspections whose lapse shuts these gates, at least one of them for the gate met
    first: with entry shut, an inspection of the ladder alone must wait. False if neither gate is shut.
    """
    subjects = [{lapse.subject for lapse in shut.get(gate, ())} for gate in BLOCKING]
    first = next((found for found in subjects if found), set())
    keys = set(order_interval_keys)
    return bool(keys & first) and keys <= set().union(*subjects)


def why_stopped(shut: Shut, needs: Collection[str], order_interval_keys: Collection[Key] = ()) -> list[str]:
    """Return the sentences that stop an order on a day; empty if none does.

    needs: the gates the work goes through besides entry and climbing, which every order up a turbine needs
    (isolation, hoist). An order that inspects what has lapsed is not stopped by that lapse. The lift never
    stops an order: it changes the way up.
    """
    return list(dict.fromkeys(lapse.reason for lapse in stopping(shut, needs, order_interval_keys)))


def stopping(shut: Shut, needs: Collection[str], order_interval_keys: Collection[Key] = ()) -> list[Lapse]:
    """Return the lapses behind why_stopped(), the first one met first."""
    if unknown := sorted(set(needs) - set(GATES)):
        raise ValueError(f"needs {', '.join(unknown)} is no gate: use {', '.join(GATES)}.")
    found: list[Lapse] = []
    if not opens_gate(shut, order_interval_keys):
        found += [lapse for gate in BLOCKING for lapse in shut.get(gate, ())]
    for gate in sorted(set(needs) - {"lift", *BLOCKING}):
        found += [lapse for lapse in shut.get(gate, ()) if lapse.subject not in order_interval_keys]
    return found


def person_fit(certificates: Iterable[Certificate], on: date, required_kinds: Iterable[str]) -> list[str]:
    """Return why a person may not do work on a day, one sentence per missing kind; empty means fit.

    A certificate must hold on the day of the work itself; its first and last valid day are included.
    """
    check_day(on, "on")
    held = list(certificates)
    found = (_unfit(kind, [c for c in held if c.kind == kind], on) for kind in dict.fromkeys(required_kinds))
    return [reason for reason in found if reason]


def _unfit(kind: str, held: Sequence[Certificate], on: date) -> str:
    if any(c.valid_from <= on <= c.valid_until for c in held):
        return ""
    if later := [c.valid_from for c in held if c.valid_from > on]:
        return f"{kind}: not valid before {min(later)}, the work is on {on}."
    if held:
        return f"{kind}: expired on {max(c.valid_until for c in held)}, the work is on {on}."
    return f"{kind}: no certificate on record."


def _lapse(due: Due, closes: date, gate: str, on: date) -> Lapse:
    days = (on - closes).days
    past = "1 day" if days == 1 else f"{days} days"
    dated = f"{due.due}, estimated from its counter" if due.projected else f"{due.due}"
    reason = f"{due.name}: due {dated}, lapsed for {past} on {on}; {gate} is shut until it is done."
    return Lapse(due.key, gate, closes + timedelta(days=1), reason)
