"""What a body or a resin feels, worked out from the weather that is there. Arrays of any shapes that broadcast, float out.

An unknown input (NaN) makes an unknown value, and so blocks. Humidity is relative and over water, in percent; a value
outside 0 < humidity <= 100 is taken for unknown, as no air has it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.floating[Any]]

#: Saturation over water, e = 6.112 hPa exp(17.62 t / (243.12 + t)), -45 to 60 degC: WMO Guide No. 8 (from memory).
_MAGNUS_A, _MAGNUS_B, _MAGNUS_HPA = 17.62, 243.12, 6.112
#: hPa per K and hPa of pressure, ventilated psychrometer: WMO Guide No. 8 (from memory).
_PSYCHROMETER = 6.53e-4
STANDARD_HPA = 1013.25

#: Wind chill is defined up to this temperature and from this wind on.
CHILL_MOST_C = 10.0
CHILL_LEAST_KMH = 4.8

#: Icing counts as possible in air this cold and this moist (common practice, no source). The degree above freezing is
#: for the hub: the air there is about 0.65 K colder per 100 m than the 2 m air of a forecast (standard atmosphere).
ICING_MOST_C = 1.0
ICING_LEAST_HUMIDITY = 95.0


def wind_chill_c(temperature_c: ArrayLike, wind_mps: ArrayLike) -> Floats:
    """Felt cold, degC: how cold still air would have to be to chill bare skin as fast.

    13.12 + 0.6215 T - 11.37 V^0.16 + 0.3965 T V^0.16 with V in km/h, the JAG/TI formula of 2001 that the weather services
    of Canada and the United States use (Osczevski and Bluestein 2005), valid for T <= 10 degC and V > 4.8 km/h. Below that
    wind the Canadian service's T + (-1.59 + 0.1345 T) V / 5 (from memory), which meets it there; above 10 degC there is no
    felt cold, and the air temperature comes back. -10 degC and 30 km/h: -19.5.

    The formula takes the wind 10 m above open ground. For people in the wind at a hub, give the wind at the hub.
    """
    wind = _floats(wind_mps)
    temperature, kmh = _floats(temperature_c).astype(wind.dtype), wind * wind.dtype.type(3.6)
    # x^0.16 by exp and log, which numpy has faster than the power for whole fleets of members.
    felt: Floats = np.exp(np.log(np.maximum(kmh, CHILL_LEAST_KMH)) * wind.dtype.type(0.16))
    felt *= 0.3965 * temperature - 11.37
    felt += 13.12 + 0.6215 * temperature
    light = kmh <= CHILL_LEAST_KMH
    if light.any():
        felt = np.where(light, temperature + (0.1345 * temperature - 1.59) / 5.0 * kmh, felt)
    felt = np.minimum(felt, temperature)
    mild = temperature > CHILL_MOST_C
    return np.where(mild & ~np.isnan(kmh), temperature, felt) if mild.any() else felt


def saturation_hpa(temperature_c: ArrayLike) -> Floats:
    """Vapour pressure of saturated air over water, hPa, by the Magnus formula above, -45 to 60 degC. 20 degC: 23.3."""
    temperature = np.asarray(temperature_c, dtype=float)
    full: Floats = _MAGNUS_HPA * np.exp(_MAGNUS_A * temperature / (_MAGNUS_B + temperature))
    return full


def dew_point_c(temperature_c: ArrayLike, humidity: ArrayLike) -> Floats:
    """Dew point, degC, of air at a temperature and relative humidity (%): the Magnus formula turned round.

    20 degC and 50 %: 9.3.
    """
    temperature = np.asarray(temperature_c, dtype=float)
    part = np.log(_moist(humidity) / 100.0) + _MAGNUS_A * temperature / (_MAGNUS_B + temperature)
    dew_point: Floats = _MAGNUS_B * part / (_MAGNUS_A - part)
    return dew_point


def humidity_pct(temperature_c: ArrayLike, dew_point: ArrayLike) -> Floats:
    """Relative humidity, %, from temperature and dew point (degC); 100 where the dew point is given as the higher."""
    return np.minimum(100.0, 100.0 * saturation_hpa(dew_point) / saturation_hpa(temperature_c))


def wet_bulb_c(temperature_c: ArrayLike, humidity: ArrayLike, pressure_hpa: ArrayLike = STANDARD_HPA) -> Floats:
    """Ventilated (psychrometric) wet bulb, degC, from temperature and relative humidity (%), for air above freezing.

    Solves e(T) RH = e(Tw) - 6.53e-4 p (T - Tw) by six steps of Newton's rule from above. 30 degC and 50 %: 22.0.
    """
    temperature = np.asarray(temperature_c, dtype=float)
    vapour = saturation_hpa(temperature) * _moist(humidity) / 100.0
    factor = _PSYCHROMETER * np.asarray(pressure_hpa, dtype=float)
    wet: Floats = temperature + np.zeros_like(vapour)
    for _ in range(6):
        full = saturation_hpa(wet)
        slope = full * _MAGNUS_A * _MAGNUS_B / np.square(_MAGNUS_B + wet) + factor
        wet = wet - (full - factor * (temperature - wet) - vapour) / slope
    return wet


def natural_wet_bulb_c(temperature_c: ArrayLike, humidity: ArrayLike, air_mps: float = 0.0) -> Floats:
    """Wet bulb of a thermometer left to itself without sun, degC: Ta - C (Ta - Tpwb) with the ventilated wet bulb Tpwb.

    C = 0.85 up to 0.03 m/s of air, 0.96 + 0.069 log10(v) up to 3 m/s, 1 above: Bernard and Pourmoghani 1999, in the form
    of Lemke and Kjellstrom 2012, whose 0.67 Tpwb + 0.33 Ta - 0.048 log10(v) (Ta - Tpwb) is the WBGT of the middle case.
    """
    temperature = np.asarray(temperature_c, dtype=float)
    share = 0.85 if air_mps <= 0.03 else 1.0 if air_mps > 3.0 else 0.96 + 0.069 * float(np.log10(air_mps))
    wet: Floats = temperature - share * (temperature - wet_bulb_c(temperature, humidity))
    return wet


def wbgt_c(temperature_c: ArrayLike, humidity: ArrayLike, offset_c: float = 0.0, air_mps: float = 0.0) -> Floats:
    """WBGT inside a nacelle without sun, degC: 0.7 natural wet bulb + 0.3 globe, the globe as warm as the air (ISO 7243).

    offset_c    by how much the nacelle is warmer than the air outside, whose temperature and humidity (%) are given; the
                nacelle's air holds the same vapour as the outside air and so is drier
    air_mps     movement of the air where people work; still air is the hotter, and so the safer, guess

    Heat from a gearbox or generator close by is not in it: measure there. 30 degC and 50 %: 24.6 in 1 m/s, 25.3 in still air.
    """
    outside = np.asarray(temperature_c, dtype=float)
    inside = outside + offset_c
    moist = _moist(humidity) * saturation_hpa(outside) / saturation_hpa(inside)
    wbgt: Floats = 0.7 * natural_wet_bulb_c(inside, moist, air_mps) + 0.3 * inside
    return wbgt


def dew_point_spread_c(temperature_c: ArrayLike, dew_point: ArrayLike) -> Floats:
    """How far the air is above its dew point, degC. A surface as cold as the dew point is wet."""
    spread: Floats = np.asarray(temperature_c, dtype=float) - np.asarray(dew_point, dtype=float)
    return spread


def icing_pct(temperature_c: ArrayLike, humidity: ArrayLike) -> Floats:
    """100 where ice may form on a turbine, else 0, in percent: at or below 1 degC in air of 95 % humidity or more.

    Common practice, no source. A given probability of icing is better: this rule knows nothing of cloud water.
    """
    temperature, moist = np.asarray(temperature_c, dtype=float), _moist(humidity)
    icy = (temperature <= ICING_MOST_C) & (moist >= ICING_LEAST_HUMIDITY)
    return np.where(np.isfinite(temperature + moist), np.where(icy, 100.0, 0.0), np.nan)


def _floats(values: ArrayLike) -> Floats:
    """As floats, single ones kept single: fleets of members are."""
    given = np.asarray(values)
    return given if given.dtype.kind == "f" else given.astype(float)


def _moist(humidity: ArrayLike) -> Floats:
    given = np.asarray(humidity, dtype=float)
    with np.errstate(invalid="ignore"):
        return np.where((given > 0.0) & (given <= 100.0), given, np.nan)
