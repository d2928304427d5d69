from __future__ import annotations

from dataclasses import dataclass

import pytest

from scheduling.codec import from_json, to_json


@dataclass(frozen=True)
class Inner:
    name: str
    size: float = 1.0


@dataclass(frozen=True)
class Outer:
    items: tuple[Inner, ...]
    pair: tuple[int, str]
    table: dict[str, tuple[int, ...]]
    note: str | None = None


WHOLE = Outer((Inner("a", 2.5), Inner("b")), (1, "x"), {"k": (1, 2)})


def test_round_trip() -> None:
    assert from_json(Outer, to_json(WHOLE)) == WHOLE


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"items": [{"name": 7}]}, r"problem\.items\[0\]\.name: expected a text, got 7"),
        ({"pair": [True, "x"]}, r"problem\.pair\[0\]: expected a whole number"),
        ({"pair": [1]}, r"problem\.pair: expected 2 values, got 1"),
        ({"extra": 1}, r"problem: unknown field 'extra'"),
        ({"items": [{"name": "a", "size": float("nan")}]}, r"size: expected a finite number"),
        ({"table": []}, r"problem\.table: expected an object"),
        ({"items": "a"}, r"problem\.items: expected a list"),
    ],
)
def test_what_does_not_fit_is_named_with_its_path(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        from_json(Outer, to_json(WHOLE) | change)


def test_a_missing_field_is_named() -> None:
    with pytest.raises(ValueError, match="field 'pair' is missing"):
        from_json(Outer, {"items": [], "table": {}})
