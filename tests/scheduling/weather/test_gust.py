from __future__ import annotations

import pytest

from scheduling.weather.gust import (
    averaging_factor,
    beaufort,
    extreme_gusts_mps,
    peak_factor,
    turbulence_sigma_mps,
)


def test_longer_averages_hide_more() -> None:
    assert peak_factor(0.05) > peak_factor(10.0) > peak_factor(60.0) == 1.0
    assert averaging_factor(60.0, 10.0) == pytest.approx(1.0903, abs=1e-4)
    assert averaging_factor(10.0, 0.05) == pytest.approx(1.3573 / 1.0903, abs=1e-4)


def test_a_shorter_average_is_never_lowered() -> None:
    assert averaging_factor(10.0, 60.0) == 1.0
    assert averaging_factor(10.0, 10.0) == 1.0


@pytest.mark.parametrize(("over_min", "turbulence"), [(0.0, 0.1), (float("nan"), 0.1), (10.0, 12.0), (10.0, float("nan"))])
def test_nonsense_is_refused(over_min: float, turbulence: float) -> None:
    with pytest.raises(ValueError, match=r"averaging_min|turbulence"):
        peak_factor(over_min, turbulence)


def test_unknown_names_are_refused_with_the_choices() -> None:
    with pytest.raises(ValueError, match=r"choose one of A\+, A, B, C"):
        turbulence_sigma_mps("D", 15.0)
    with pytest.raises(ValueError, match="choose one of I, II, III"):
        extreme_gusts_mps("IV")


@pytest.mark.parametrize("wind", [-0.1, float("nan")])
def test_beaufort_refuses_what_is_no_wind(wind: float) -> None:
    with pytest.raises(ValueError, match="0 m/s or more"):
        beaufort(wind)
