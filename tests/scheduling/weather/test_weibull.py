from __future__ import annotations

import pytest
from scipy import stats

from scheduling.weather import weibull


@pytest.mark.parametrize(("scale", "shape"), [(8.0, 2.0), (6.5, 1.7), (10.1, 2.4)])
def test_closed_forms_agree_with_scipy(scale: float, shape: float) -> None:
    theirs = stats.weibull_min(shape, scale=scale)
    assert weibull.mean_mps(scale, shape) == pytest.approx(theirs.mean())
    assert weibull.median_mps(scale, shape) == pytest.approx(theirs.median())
    assert weibull.share_above(12.0, scale, shape) == pytest.approx(theirs.sf(12.0))
    assert weibull.energy_pattern_factor(shape) == pytest.approx(theirs.moment(3) / theirs.mean() ** 3)


def test_parameters_must_be_above_zero() -> None:
    with pytest.raises(ValueError, match="scale and shape"):
        weibull.mean_mps(8.0, 0.0)
