"""Calls and outcomes in plain sentences."""

from __future__ import annotations

import pytest

from scheduling.skill_words import band_sentence
from scheduling.weather.scores import Bin

MANY = Bin(0.7, 0.9, 0.79, 51 / 63, 63, 0.7, 0.89)


@pytest.mark.parametrize(
    ("band", "lead_day", "sentence"),
    [
        (MANY, 2, "Of 63 stays called 70-90 %, 51 (81 %) could be done; the mean call was 79 %."),
        (MANY, None,
         "Of 63 calls of 70-90 %, the stay could be done in 51 (81 %); the mean call was 79 %."),
        (Bin(0.9, 1.0, 0.95, 18 / 19, 19, 0.7, 1.0), 1, "Of 19 stays called 90-100 %, 18 could be done; too few for a share."),
        (Bin(0.0, 0.5, 0.3, 0.0, 1, 0.0, 0.8), None, "Of 1 call of 0-50 %, the stay could be done in 0; too few for a share."),
    ],
)  # fmt: skip
def test_a_band_of_chances(band: Bin, lead_day: int | None, sentence: str) -> None:
    assert band_sentence(band, lead_day) == sentence
