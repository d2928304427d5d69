"""What a lapse stops, on a given day."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.due import Certificate, Due, Interval, absorb, find_due
from planner.gates import Lapse, access_on, opens_gate, person_fit, shut_gates, why_stopped

ANCHOR = date(2026, 1, 31)


def found(key: str, gate: str, every: int = 6, today: date = ANCHOR, **changes: object) -> Due:
    values = {"key": key, "name": key, "trigger": "months", "every": every, "anchor": ANCHOR, "stops": frozenset({gate})}
    return find_due(Interval(**{**values, **changes}), today=today)  # type: ignore[arg-type]


LIFT = found("lift exam", "lift", statutory=True)  # due 2026-07-31
LADDER = found("ladder check", "climbing", late_days=10)  # closes 2026-08-10
DOOR = found("door check", "entry", every=12)  # due 2027-01-31
HOIST = found("hoist exam", "hoist")
ALL = [LIFT, LADDER, DOOR, HOIST]


def test_a_gate_shuts_the_day_after_closes_even_if_not_lapsed_today() -> None:
    assert shut_gates(ALL, date(2026, 7, 31)) == {}
    assert sorted(shut_gates(ALL, date(2026, 8, 1))) == ["hoist", "lift"]
    assert sorted(shut_gates(ALL, date(2026, 8, 10))) == ["hoist", "lift"]
    assert sorted(shut_gates(ALL, date(2026, 8, 11))) == ["climbing", "hoist", "lift"]


def test_a_lapse_says_what_since_when_and_why() -> None:
    (lapse,) = shut_gates([LADDER], date(2026, 8, 12))["climbing"]
    assert (lapse.subject, lapse.gate, lapse.since) == ("ladder check", "climbing", date(2026, 8, 11))
    assert lapse.reason == "ladder check: due 2026-07-31, lapsed for 2 days on 2026-08-12; climbing is shut until it is done."


def test_oldest_lapse_first_and_one_interval_may_shut_two_gates() -> None:
    both = found("tower check", "lift", every=3, stops=frozenset({"lift", "hoist"}))
    shut = shut_gates([LIFT, both], date(2026, 9, 1))
    assert [lapse.subject for lapse in shut["lift"]] == ["tower check", "lift exam"]
    assert [lapse.subject for lapse in shut["hoist"]] == ["tower check"]


def test_an_absorbed_inspection_still_shuts_its_gate() -> None:
    larger = Interval(key="year", trigger="months", every=6, anchor=ANCHOR, absorbs=frozenset({"lift exam"}))
    dues = absorb([LIFT, find_due(larger, today=ANCHOR)], [larger])
    assert dues[0].absorbed_by == "year"
    assert list(shut_gates(dues, date(2026, 8, 1))) == ["lift"]


def test_a_due_without_a_date_or_a_gate_shuts_nothing() -> None:
    undated = found("wrench", "hoist", trigger="cycles", every=5000.0, stops=frozenset())
    assert shut_gates([undated, found("service", "lift", stops=frozenset())], date(2040, 1, 1)) == {}


def test_lift_shut_means_the_whole_way_by_ladder() -> None:
    day = date(2026, 8, 1)
    open_, shut = access_on(day, {}, has_lift=True), access_on(day, shut_gates(ALL, day), has_lift=True)
    assert (open_.by, open_.reasons) == ("lift", ())
    assert shut.by == "ladder"
    assert shut.reasons == ("lift exam: due 2026-07-31, lapsed for 1 day on 2026-08-01; lift is shut until it is done.",)


def test_no_lift_is_climbed_by_ladder() -> None:
    access = access_on(date(2026, 8, 1), shut_gates(ALL, date(2026, 8, 1)), has_lift=False)
    assert (access.by, access.reasons) == ("ladder", ("No lift in this turbine: the whole way is climbed.",))


@pytest.mark.parametrize(("key", "gate"), [("ladder check", "climbing"), ("door check", "entry")])
def test_climbing_or_entry_shut_leaves_only_the_inspection_that_opens_it(key: str, gate: str) -> None:
    day = date(2028, 1, 1)
    access = access_on(day, shut_gates([due for due in (LADDER, DOOR) if due.key == key], day), has_lift=True)
    assert access.by == "none"
    assert f"{gate} is shut" in access.reasons[0]
    assert access.opens_gate([key])
    assert not access.opens_gate([])
    assert not access.opens_gate(["annual"])
    assert not access.opens_gate([key, "annual"])  # nothing but the inspection


def test_entry_comes_before_climbing() -> None:
    shut = shut_gates(ALL, date(2028, 1, 1))
    assert opens_gate(shut, ["door check"])
    assert opens_gate(shut, ["door check", "ladder check"])
    assert not opens_gate(shut, ["ladder check"])
    assert not opens_gate(shut, ["lift exam"])


def test_nothing_to_open_when_nothing_is_shut() -> None:
    assert not opens_gate({}, ["door check"])


def test_a_lapse_that_begins_later_does_not_count_yet() -> None:
    later = {"climbing": [Lapse("finding 12", "climbing", date(2026, 8, 2), "Rung 14 is loose.")]}
    assert access_on(date(2026, 8, 1), later, has_lift=True).by == "lift"
    assert access_on(date(2026, 8, 2), later, has_lift=True).by == "none"


def test_work_waits_for_the_gates_it_needs() -> None:
    shut = shut_gates([HOIST], date(2026, 8, 1))
    assert why_stopped(shut, ["hoist"], ["annual"]) == [shut["hoist"][0].reason]
    assert why_stopped(shut, ["isolation"], ["annual"]) == []
    assert why_stopped(shut, ["hoist"], ["hoist exam"]) == []  # it is the inspection that opens it
    assert why_stopped(shut_gates([LIFT], date(2026, 8, 1)), ["lift"]) == []
    climbing = shut_gates([LADDER, HOIST], date(2026, 9, 1))
    assert why_stopped(climbing, []) == [climbing["climbing"][0].reason]
    assert why_stopped(climbing, [], ["ladder check"]) == []
    assert why_stopped(climbing, [], ["hoist exam"]) == [climbing["climbing"][0].reason]


def test_unknown_gates_and_stamps_are_refused() -> None:
    with pytest.raises(ValueError, match=r"needs crane is no gate: use lift, climbing"):
        why_stopped({}, ["crane"])
    with pytest.raises(ValueError, match=r"gate 'crane' is unknown: use one of lift"):
        Lapse(1, "crane", ANCHOR, "")
    for call in (lambda on: shut_gates(ALL, on), lambda on: access_on(on, {}, has_lift=True), lambda on: person_fit([], on, [])):
        with pytest.raises(ValueError, match=r"on must be a plain date"):
            call(datetime(2026, 8, 1, tzinfo=UTC))


@given(offset=st.integers(0, 3000))
def test_law_shut_gates_agree_with_the_due_of_that_day(offset: int) -> None:
    day = ANCHOR + timedelta(days=offset)
    on_the_day = [
        found("ladder check", "climbing", late_days=10, today=day),
        found("lift exam", "lift", statutory=True, today=day),
    ]
    assert set(shut_gates([LADDER, LIFT], day)) == {gate for due in on_the_day for gate in due.stops}
    assert shut_gates([LADDER, LIFT], day) == shut_gates(on_the_day, day)


HELD = Certificate("height", date(2024, 6, 1), date(2026, 5, 31))


@pytest.mark.parametrize(
    ("on", "reasons"),
    [
        (date(2024, 5, 31), ["height: not valid before 2024-06-01, the work is on 2024-05-31."]),
        (date(2024, 6, 1), []),
        (date(2026, 5, 31), []),  # the last valid day is included
        (date(2026, 6, 1), ["height: expired on 2026-05-31, the work is on 2026-06-01."]),
    ],
)
def test_a_certificate_holds_on_the_day_of_the_work(on: date, reasons: list[str]) -> None:
    assert person_fit([HELD], on, ["height"]) == reasons


def test_each_missing_kind_is_named_once() -> None:
    on = date(2026, 5, 1)
    assert person_fit([HELD], on, ["first aid", "height", "fire", "fire"]) == [
        "first aid: no certificate on record.",
        "fire: no certificate on record.",
    ]


def test_a_renewed_certificate_stands_beside_the_old_one() -> None:
    renewed = Certificate("height", date(2026, 7, 1), date(2028, 6, 30))
    assert person_fit([HELD, renewed], date(2026, 7, 1), ["height"]) == []
    assert person_fit([HELD, renewed], date(2026, 6, 15), ["height"]) == [
        "height: not valid before 2026-07-01, the work is on 2026-06-15."
    ]
