"""Energy lost per hour of standstill: air density, power curve, price."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

#: Density a power curve is stated for, kg/m3.
REFERENCE_DENSITY = 1.225
#: Gas constants of dry air and water vapour, J/(kg K); IEC 61400-12-1 uses 287.05.
R_DRY = 287.05
R_VAPOUR = 461.5
KELVIN = 273.15
#: Standard atmosphere (ISA, from memory): temperature at sea level, its fall with height; and gravity, m/s2.
STANDARD_DEGC = 15.0
LAPSE_K_PER_M = 0.0065
GRAVITY = 9.80665
#: No turbine is rated beyond this: a curve above it was given in watts.
MAX_KW = 30_000.0
HOURS_A_DAY = 24

Number = TypeVar("Number", float, NDArray[Any])
FloatArray = NDArray[np.float64]


def dry_density(pressure_pa: Number, temperature_c: Number) -> Number:
    """Dry air's density in kg/m3: p/(R T), R = 287.05 (IEC 61400-12-1). 101325 Pa, 15 C: 1.2250."""
    return pressure_pa / (R_DRY * (temperature_c + KELVIN))


def moist_density(pressure_pa: Number, temperature_c: Number, humidity_pct: Number) -> Number:
    """Moist air's density in kg/m3, form of IEC 61400-12-1 (constants from memory).

    humidity_pct is relative humidity in per cent; numbers or arrays that broadcast, NaN stays NaN.
    101325 Pa, 20 C, 50 %: 1.1990.
    """
    kelvin = temperature_c + KELVIN
    vapour_pa = 0.0000205 * np.exp(0.0631846 * kelvin)
    result: Number = (pressure_pa / R_DRY - humidity_pct / 100.0 * vapour_pa * (1.0 / R_DRY - 1.0 / R_VAPOUR)) / kelvin
    return result


def standard_air(altitude_m: float) -> tuple[float, float]:
    """(pressure in Pa, density in kg/m3) of the standard atmosphere (ISA, from memory). 500 m: 95 461 Pa,
    1.1673.

    Used where no temperature and pressure are known. Raises ValueError outside -500..9000 m.
    """
    if not -500 <= altitude_m <= 9000:
        raise ValueError("altitude_m: give metres above sea level between -500 and 9000")
    pressure = 101325.0 * (1.0 - 2.25577e-5 * altitude_m) ** 5.25588
    return pressure, dry_density(pressure, STANDARD_DEGC - LAPSE_K_PER_M * altitude_m)


def air_density(
    altitude_m: float,
    pressure_pa: NDArray[Any] | float | None = None,
    temperature_c: NDArray[Any] | float | None = None,
    humidity_pct: NDArray[Any] | float | None = None,
    *,
    up_m: float = 0.0,
) -> FloatArray:
    """float64 [...]: density in kg/m3 from whatever is known, for each value by itself.

    altitude_m      of the site: the standard atmosphere stands in for an unknown pressure or temperature
    pressure_pa, temperature_c, humidity_pct
                    numbers or arrays that broadcast, NaN or None where unknown; unknown humidity counts as dry air, which
                    is heavier by less than 2 % up to 30 C; beyond 0..100 % it is taken for 0 or 100
    up_m            how far the hub lies above the barometer: pressure falls by its own weight of air, temperature by
                    6.5 K/km (ISA, from memory)

    Raises ValueError outside -500..9000 m.
    """
    standard_pa, _ = standard_air(altitude_m)
    pressure = _known(pressure_pa, standard_pa)
    celsius = _known(temperature_c, STANDARD_DEGC - LAPSE_K_PER_M * altitude_m)
    humidity = np.clip(_known(humidity_pct, 0.0), 0.0, 100.0)
    middle = celsius + KELVIN - LAPSE_K_PER_M * up_m / 2.0
    at_hub = pressure * np.exp(-GRAVITY * up_m / (R_DRY * middle))
    density: FloatArray = moist_density(at_hub, celsius - LAPSE_K_PER_M * up_m, humidity)
    return density


def _known(values: NDArray[Any] | float | None, otherwise: float) -> FloatArray:
    given = np.asarray(np.nan if values is None else values, dtype=np.float64)
    return np.where(np.isfinite(given), given, otherwise)


def at_reference_density(wind_mps: Number, density_kg_m3: Any) -> Number:
    """The wind that carries the same power at 1.225 kg/m3: V (rho/1.225)^(1/3), IEC 61400-12-1 (from memory)."""
    result: Number = wind_mps * np.cbrt(density_kg_m3 / REFERENCE_DENSITY)
    return result


@dataclass(frozen=True)
class PowerCurve:
    """Power over hub wind at 1.225 kg/m3: nothing below the first speed and above the last (cut-out).

    speeds_mps must rise strictly, except that the last speed may stand twice with power 0 the second time
    (the step at cut-out). Every speed has its power in kW; a blank is refused, not taken for 0.
    """

    speeds_mps: tuple[float, ...]
    power_kw: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.speeds_mps) != len(self.power_kw) or len(self.speeds_mps) < 2:
            raise ValueError("power curve: give as many powers as speeds, at least two")
        for speed, power in zip(self.speeds_mps, self.power_kw, strict=True):
            _check_point(speed, power)
        rises = np.diff(self.speeds_mps)
        step_at_end = rises[-1] == 0 and self.power_kw[-1] == 0
        if not (rises[:-1] > 0).all() or not (rises[-1] > 0 or step_at_end):
            at = int(np.flatnonzero(rises <= 0)[0])
            raise ValueError(
                f"power curve: speed {self.speeds_mps[at + 1]:g} m/s follows {self.speeds_mps[at]:g}; speeds must rise"
            )
        if max(self.power_kw) == 0:
            raise ValueError("power curve: every power is 0; give kW")

    @property
    def rated_kw(self) -> float:
        """The largest power of the curve."""
        return max(self.power_kw)

    @property
    def cut_in_mps(self) -> float:
        """The first speed with power, or the speed from which power rises above 0."""
        at = int(np.flatnonzero(np.array(self.power_kw) > 0)[0])
        return self.speeds_mps[max(0, at - 1)] if self.power_kw[0] == 0 else self.speeds_mps[at]

    def kw(self, wind_mps: NDArray[Any]) -> FloatArray:
        """float64 like `wind_mps` (at reference density): kW by straight lines; NaN stays NaN."""
        speeds, power = np.array(self.speeds_mps), np.array(self.power_kw)
        if speeds[-1] == speeds[-2]:
            speeds, power = speeds[:-1], power[:-1]
        power_kw: FloatArray = np.interp(wind_mps, speeds, power, left=0.0, right=0.0)
        return power_kw


def _check_point(speed: Any, power: Any) -> None:
    for name, value in (("speed", speed), ("power", power)):
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not number or not math.isfinite(value) or value < 0:
            raise ValueError(f"power curve: {name} {value!r} at {speed!r} m/s; give a number of 0 or more, no blank")
    if power > MAX_KW:
        raise ValueError(f"power curve: {power:g} kW at {speed:g} m/s is more than any turbine makes; divide watts by 1000")


def lost_mwh_per_hour(
    wind_mps: NDArray[Any],
    curve: PowerCurve,
    *,
    density_kg_m3: Any = REFERENCE_DENSITY,
    cap_kw: Any = None,
) -> FloatArray:
    """float64 [..., m, t]: MWh that an hour of standstill loses in each member and slot.

    wind_mps        [..., m, t] at the hub; NaN stays NaN (unknown)
    density_kg_m3   number or array that broadcasts; cut-out is judged on the wind itself, not on the
                    corrected one
    cap_kw          most the grid takes from the turbine (number or [t]); None: no limit
    """
    wind = np.asarray(wind_mps, dtype=np.float64)
    cut_out = curve.speeds_mps[-1]
    corrected: FloatArray = at_reference_density(wind, density_kg_m3)
    power = np.where(wind > cut_out, 0.0, curve.kw(np.minimum(corrected, cut_out)))
    if cap_kw is not None:
        power = np.minimum(power, np.asarray(cap_kw, dtype=np.float64))
    return power / 1000.0


def lost_mwh(lost_per_hour: FloatArray, slot_min: int, start: int, end: int) -> float:
    """Expected MWh lost in slots [start, end): mean over members of float64 [m, t].

    NaN when a slot is unknown.
    """
    if not 0 <= start <= end <= lost_per_hour.shape[-1]:
        raise ValueError(f"start and end: slots {start}..{end} are not inside the {lost_per_hour.shape[-1]} slots")
    return float(lost_per_hour[:, start:end].sum(axis=-1).mean() * slot_min / 60.0)


def prices(price: float | Sequence[float], local_hours: NDArray[np.int64]) -> FloatArray:
    """float64 [t]: price per MWh in each slot, from one price or 24 by local hour; local_hours holds 0..23 of
    each slot.

    Negative prices are real and allowed. Raises ValueError for a list that is not 24 long or anything not
    finite.
    """
    table = np.atleast_1d(np.asarray(price, dtype=np.float64))
    if table.shape not in ((1,), (HOURS_A_DAY,)) or not np.isfinite(table).all():
        raise ValueError("energy price: give one finite number, or 24, one for each local hour")
    by_hour = np.broadcast_to(table, (HOURS_A_DAY,))
    return np.array(by_hour[local_hours])


def swept_area_m2(rotor_m: float) -> float:
    """Area of a rotor of diameter `rotor_m`."""
    return math.pi * rotor_m**2 / 4.0


def tip_speed_mps(rotor_m: float, rpm: float) -> float:
    """Speed of the blade tip at `rpm` turns a minute."""
    return math.pi * rotor_m * rpm / 60.0


def wind_power_kw(rotor_m: float, wind_mps: float, density_kg_m3: float = REFERENCE_DENSITY) -> float:
    """Power in the wind through the rotor, kW; 16/27 of it is the most any rotor can take (Betz)."""
    return 0.5 * density_kg_m3 * swept_area_m2(rotor_m) * wind_mps**3 / 1000.0
