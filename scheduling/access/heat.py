"""Work and rest in the heat: how much of an hour may be work at a WBGT."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from scheduling.access.derived import Floats

#: ISO 7243: metabolic rate of each class, W: resting, low, moderate, high, very high (2017 edition, from memory).
CLASS_W = (115.0, 180.0, 300.0, 415.0, 520.0)
#: ISO 7243: reference WBGT of each class for people used to the heat, and for those not (2017 edition, from memory).
REFERENCE_C = {True: (33.0, 30.0, 28.0, 26.0, 25.0), False: (32.0, 29.0, 26.0, 23.0, 20.0)}
#: Shares of an hour that are work, longest first: continuous, 45/15, 30/30, 15/45 minutes of work and rest.
SHARES = (1.0, 0.75, 0.5, 0.25)


def reference_wbgt_c(metabolic_class: int, acclimatised: bool, share: float = 1.0) -> float:
    """The WBGT, degC, up to which a class of work may go on for `share` of each hour, with rest in the same air between.

    Rest counts as class 0, so the hour's mean metabolic rate is share M + (1 - share) 115 W (ISO 7243: mean weighted by
    time); between the classes the reference is read off along log M, the way the standard's curves run. Class 2, used to
    the heat: 28.0, 28.7, 29.4, 30.7 for 1, 0.75, 0.5, 0.25. Raises ValueError for a class outside 0..4 or a share outside
    0..1.
    """
    if metabolic_class not in range(len(CLASS_W)):
        raise ValueError(f"metabolic_class: {metabolic_class} is not known; give 0 (resting) to 4 (very high)")
    if not 0 <= share <= 1:
        raise ValueError(f"share: give a share of work from 0 to 1, not {share}")
    mean_w = share * CLASS_W[metabolic_class] + (1.0 - share) * CLASS_W[0]
    return float(np.interp(np.log(mean_w), np.log(CLASS_W), REFERENCE_C[acclimatised]))


def work_rest_share(wbgt_c: ArrayLike, metabolic_class: int, acclimatised: bool) -> Floats:
    """The largest share of each hour that may be work: 1, 0.75, 0.5, 0.25 or 0; NaN where the WBGT is unknown.

    wbgt_c          of any shape, at the place of work, clothing counted in (ISO 7243: coveralls add nothing)
    metabolic_class 0 resting, 1 low, 2 moderate, 3 high, 4 very high; most work in a turbine is 2

    A limit on `work_share` names the least share accepted, in percent: `work_share >= 50` closes every slot in which less
    than 30 minutes of an hour may be work. Where it accepts less than 100, the work takes up to 100 / share times as long
    and the stay with it: `rest.slots_with_rest` counts by how much from each start.
    """
    given = np.asarray(wbgt_c, dtype=float)
    found = np.zeros_like(given)
    for share in reversed(SHARES):
        found = np.where(given <= reference_wbgt_c(metabolic_class, acclimatised, share), share, found)
    return np.where(np.isnan(given), np.nan, found)
