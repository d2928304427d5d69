"""The parts of an order's page."""

from __future__ import annotations

from typing import Any

import pytest

from tests.farm import Farm
from tests.page_rows import build_order
from workorders.lifecycle import MOVES, moves_from
from workorders.models import Hold
from workorders.views.order_parts import SAID, facts, hold_lines, move_lines, step_lines


def test_every_move_of_the_table_has_its_words() -> None:
    assert set(SAID) == set(MOVES)


@pytest.mark.parametrize("role", ["planner", "technician", "viewer", ""])
def test_moves_are_those_of_the_table(role: str) -> None:
    assert [line["name"] for line in move_lines("prepared", role)] == list(moves_from("prepared", role))


def test_only_what_is_known_is_told(farm: Farm) -> None:
    told = dict(facts(build_order(farm.h1, farm)))
    assert told["Due"] == "Sat 20 Jun 2026"
    assert not {"Component", "Done on", "Note", "Tolerance ends"} & set(told)


def test_open_holds_come_first(farm: Farm) -> None:
    order = build_order(farm.h1, farm)
    hold: dict[str, Any] = {"order": order, "kind": "parts", "since": "2026-06-01"}
    Hold.objects.create(reason="over", cleared_on="2026-06-02", **hold)
    Hold.objects.create(reason="still", **hold)
    assert [(line["reason"], line["open"]) for line in hold_lines(order)] == [("still", True), ("over", False)]


def test_a_value_on_its_limit_is_inside(farm: Farm) -> None:
    order = build_order(farm.h1, farm)
    step = order.procedure.steps.get(kind="reading")
    for value, outside in ((1.5, False), (3.0, False), (1.49, True), (3.01, True)):
        order.results.update_or_create(step=step, defaults={"value": value, "at": "2026-06-10T06:00:00Z"})
        (line,) = [line for line in step_lines(order, farm.hill.zone) if line["kind"] == "reading"]
        assert line["outside"] is outside
