"""Reading forms: one sentence with field and cure."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from rest_framework.exceptions import ValidationError

from planner.due import FIRST_YEAR, LAST_YEAR
from planner.errors import PlannerError
from planner.rest.fields import OffsetTime, StrictDate
from planner.views import forms


def test_good_values_are_read() -> None:
    form = {"text": " oil leak ", "day": "2026-06-10", "value": "2.5", "days": "14", "kind": "parts"}
    assert forms.text_in(form, "text", "Text") == "oil leak"
    assert forms.day_in(form, "day", "Day") == date(2026, 6, 10)
    assert forms.number_in(form, "value", "Value") == 2.5
    assert forms.whole_or_none(form, "days", "Days") == 14
    assert forms.choice_in(form, "kind", "Kind", ["parts"]) == "parts"


def test_what_may_be_empty_is_none() -> None:
    assert forms.day_or_none({"day": " "}, "day", "Day") is None
    assert forms.whole_or_none({}, "days", "Days") is None
    assert forms.words_in({"note": " "}, "note", "Note") == ""


@pytest.mark.parametrize(
    ("reader", "value", "said"),
    [
        (forms.text_in, "", "fill it in"),
        (forms.text_in, "x" * 2001, "at most 2000"),
        (forms.text_in, "a\x00b", "write it again"),
        (forms.day_in, "", "2026-06-10"),
        (forms.day_in, "2026-02-31", "is no day"),
        (forms.day_in, "0001-01-01", "between 1900 and 2200"),
        (forms.words_in, "a\x00b", "write it again"),
        (forms.number_in, "12,5", "12.5"),
        (forms.number_in, "nan", "is no number"),
        (forms.number_in, "inf", "is no number"),
        (forms.number_in, "", "is no number"),
        (forms.whole_or_none, "-1", "whole number"),
        (forms.whole_or_none, "²", "whole number"),
        (forms.whole_or_none, "9" * 30, "whole number"),
    ],
)
def test_a_bad_value_is_one_sentence_with_field_and_cure(reader: Callable[..., Any], value: str, said: str) -> None:
    with pytest.raises(PlannerError) as refused:
        reader({"one": value}, "one", "The field")
    assert refused.value.field == "one"
    assert refused.value.message.startswith("The field")
    assert said in refused.value.message


def test_an_unknown_choice_names_the_known_ones() -> None:
    with pytest.raises(PlannerError, match="choose one of parts, access"):
        forms.choice_in({"kind": "mood"}, "kind", "Kind", ["parts", "access"])


@pytest.mark.parametrize("day", [date(FIRST_YEAR, 1, 1), date(LAST_YEAR, 12, 31)])
def test_a_form_and_the_api_take_the_same_first_and_last_day(day: date) -> None:
    assert forms.day_in({"day": f"{day}"}, "day", "Day") == day
    assert StrictDate().to_internal_value(f"{day}") == day
    assert OffsetTime().to_internal_value(f"{day}T12:00:00Z").date() == day


@pytest.mark.parametrize("text", [f"{FIRST_YEAR - 1}-12-31", f"{LAST_YEAR + 1}-01-01"])
def test_a_form_and_the_api_refuse_the_days_beyond(text: str) -> None:
    with pytest.raises(PlannerError, match=f"between {FIRST_YEAR} and {LAST_YEAR}"):
        forms.day_in({"day": text}, "day", "Day")
    with pytest.raises(ValidationError, match=f"from {FIRST_YEAR} to {LAST_YEAR}"):
        StrictDate().to_internal_value(text)
    with pytest.raises(ValidationError, match=f"from {FIRST_YEAR} to {LAST_YEAR}"):
        OffsetTime().to_internal_value(f"{text}T12:00:00Z")
