"""How long calms and storms last, and how long one waits: closed forms that counts on a series are checked against.

A calm is an unbroken stretch in which the limit holds, a storm one in which it does not. "The chance of a window" can mean
three things (`exponential_chances`), which differ by a third: say which one is meant. Closed forms rest on assumptions
(lengths exponential or Weibull, one stretch independent of the next, no seasons, no nights); a figure taken from one is an
estimate and must be named as such. Kuwashima and Hogben (Coastal Engineering 9, 1986, 563-590; abstract only read) estimate
lengths from the distribution alone, but with constants fitted to waves, so theirs is not used for wind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scheduling.access.windows import BoolArray


def mean_lengths_h(total_h: float, share: float, calms: int) -> tuple[float, float]:
    """(mean calm, mean storm) in hours of a record of `total_h` with `calms` calms and that share of calm: T P / N and
    T (1 - P) / N. 720 h, 0.7, 24 calms: 21 and 9 h.
    """
    if not total_h > 0 or not 0 <= share <= 1 or calms < 1:
        raise ValueError("record: give hours above 0, a share from 0 to 1 and one calm or more")
    return total_h * share / calms, total_h * (1.0 - share) / calms


def calm_shorter_than(hours: float, scale_h: float, shape: float) -> float:
    """Share of calms no longer than `hours`, lengths two-parameter Weibull: 1 - exp(-(t/rho)^beta)."""
    _positive(scale=scale_h, shape=shape)
    return -math.expm1(-((hours / scale_h) ** shape))


def weibull_time_in_calms(stay_h: float, share: float, mean_calm_h: float, shape: float = 0.8) -> float:
    """Share of all time that counts as access for a stay, calms Weibull with that mean: P exp(-Cp (L/tc)^a), with
    Cp = Gamma(1 + 1/a)^a (Walker et al. 2013; Stallard, EquiMar D7.4.1; formulas from memory). Shape 0.8 is what they
    take for waves.
    """
    _positive(mean_calm_h=mean_calm_h, shape=shape)
    factor = math.gamma(1.0 + 1.0 / shape) ** shape
    return share * math.exp(-factor * (stay_h / mean_calm_h) ** shape)


@dataclass(frozen=True)
class Chances:
    """Three meanings of "the chance of a window" of length L; calms exponential with mean tc, calm for a share P of time.

    of_calms      share of calms long enough: e^(-L/tc)
    random_start  a random moment can start the stay: P e^(-L/tc)
    time_inside   share of time inside calms long enough: P (1 + L/tc) e^(-L/tc)
    """

    of_calms: float
    random_start: float
    time_inside: float


def exponential_chances(stay_h: float, share: float, mean_calm_h: float) -> Chances:
    """The three chances for exponential calms."""
    _positive(mean_calm_h=mean_calm_h)
    long_enough = math.exp(-stay_h / mean_calm_h)
    return Chances(long_enough, share * long_enough, share * (1.0 + stay_h / mean_calm_h) * long_enough)


def exponential_wait_h(stay_h: float, mean_calm_h: float, mean_storm_h: float) -> float:
    """Expected wait from a random moment to the start of a stay, exponential calms and storms taking turns.

    With p = e^(-L/tc): a calm too short lasts m = tc - L p/(1 - p) in the mean; from the beginning of a storm one waits
    W = ts/p + tc (1 - p)/p - L; from a random moment E = Pc (1 - p)(m + W) + (1 - Pc) W, Pc = tc/(tc + ts). Derived here
    and held against simulation: 21/9/6 h give 6.621 h, 21/9/12 h give 13.82 h.
    """
    _positive(mean_calm_h=mean_calm_h, mean_storm_h=mean_storm_h)
    if stay_h <= 0:
        return mean_storm_h**2 / (mean_calm_h + mean_storm_h)
    p = math.exp(-stay_h / mean_calm_h)
    if p == 0.0:
        return math.inf
    too_short = mean_calm_h + stay_h * p / math.expm1(-stay_h / mean_calm_h)
    from_storm = mean_storm_h / p + mean_calm_h * (1.0 - p) / p - stay_h
    calm = mean_calm_h / (mean_calm_h + mean_storm_h)
    return calm * (1.0 - p) * (too_short + from_storm) + (1.0 - calm) * from_storm


@dataclass(frozen=True)
class Markov:
    """A first-order chain of calm and storm steps: the chance that calm follows calm, and that calm follows storm."""

    calm_calm: float
    storm_calm: float

    @property
    def share(self) -> float:
        """Share of steps that are calm in the long run."""
        return self.storm_calm / (self.storm_calm + 1.0 - self.calm_calm)

    def wait_steps(self, steps: int) -> float:
        """Expected steps from a random step to the first of `steps` calm ones in a row; lengths are geometric.

        From a calm step the run lasts n < L more steps with a^(n-1)(1-a), then a storm of mean 1/b: with
        M = sum n a^(n-1)(1-a), Wc = (M + (1 - a^(L-1))/b)/a^(L-1) and Ws = 1/b + Wc. Derived here.
        """
        a, b = self.calm_calm, self.storm_calm
        fits = a ** (steps - 1)
        if fits == 0.0 or b == 0.0:
            return math.inf
        short = sum(n * a ** (n - 1) * (1.0 - a) for n in range(1, steps))
        from_calm = (short + (1.0 - fits) / b) / fits
        return from_calm + (1.0 - self.share) / b


def markov_of(good: BoolArray, known: BoolArray) -> Markov:
    """The chain fitted to bool [n] by counting moves between neighbouring known steps.

    Raises ValueError where the record never leaves calm or never leaves storm: then there is nothing to fit.
    """
    both = known[:-1] & known[1:]
    before, after = good[:-1][both], good[1:][both]
    calm, storm = int(before.sum()), int((~before).sum())
    if not calm or not storm or not (after & ~before).any() or not (before & ~after).any():
        raise ValueError("record: it holds no change from calm to storm and back; no chain can be fitted")
    return Markov(float((before & after).sum() / calm), float((after & ~before).sum() / storm))


@dataclass(frozen=True)
class Spells:
    """What a record says of its calms: hours known, share calm, number of calms, mean calm and storm in hours."""

    known_h: float
    share: float
    calms: int
    mean_calm_h: float
    mean_storm_h: float


def spells_of(good: BoolArray, known: BoolArray, step_h: float) -> Spells | None:
    """Counted on bool [n]; None where the known steps are all calm or all storm. A gap ends a calm."""
    known_h = float(known.sum()) * step_h
    starts = int((np.diff(np.r_[0, (good & known).astype(np.int8)]) == 1).sum())
    if not known_h or not starts or not (known & ~good).any():
        return None
    share = float((good & known).sum()) * step_h / known_h
    return Spells(known_h, share, starts, *mean_lengths_h(known_h, share, starts))


def chance_of_a_day(chance: float, days: int) -> float:
    """At least one workable day in `days`, days independent: 1 - (1 - p)^n."""
    return 1.0 - (1.0 - chance) ** days


def days_to_offer(wanted: int, chance: float, confidence: float) -> int:
    """Fewest calendar days that hold `wanted` workable ones at the confidence, days independent (binomial).

    One day at 0.4 and 90 %: 5. 20 days at 0.65 and 90 %: 36. Raises ValueError for chances outside (0, 1].
    """
    if wanted < 1 or not 0 < chance <= 1 or not 0 < confidence < 1:
        raise ValueError("days: give one day or more, a chance above 0 and up to 1, and a confidence between 0 and 1")
    days = wanted
    while _at_least(wanted, days, chance) < confidence:
        days += 1
    return days


def _at_least(wanted: int, days: int, chance: float) -> float:
    fewer = (math.comb(days, n) * chance**n * (1.0 - chance) ** (days - n) for n in range(wanted))
    return 1.0 - math.fsum(fewer)


def _positive(**numbers: float) -> None:
    for name, value in numbers.items():
        if not value > 0:
            raise ValueError(f"{name}: give a number above 0, not {value:g}")
