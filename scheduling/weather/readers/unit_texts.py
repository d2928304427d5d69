"""Units as files spell them, to the names of `units.py`: an exact table, nothing is matched by likeness."""

from __future__ import annotations

from scheduling.weather.readers.report import ReadRefused
from scheduling.weather.recipe import IN_TEXT, Column
from scheduling.weather.units import unit_choices

#: our unit -> spellings met in forecast files, WMO unit codes and CF attributes; small letters, blanks and "_" taken out
_SPELLINGS: dict[str, tuple[str, ...]] = {
    "m/s": ("m/s", "ms-1", "ms**-1", "ms^-1", "m.s-1", "m/sec", "mps", "metrespersecond", "meterspersecond", "metersec-1"),
    "km/h": ("km/h", "kmh-1", "kmh**-1", "kmh", "kph", "km/hr", "kmhr-1", "kilometresperhour", "kilometersperhour"),
    "kn": ("kn", "kt", "kts", "knot", "knots"),
    "mph": ("mph", "mi/h", "mih-1", "mileh-1", "milesperhour"),
    "degC": ("degc", "°c", "celsius", "degreecelsius", "degreescelsius", "degreec", "degreesc", "degrees_celsius", "c"),
    "K": ("k", "kelvin", "degk", "kelvins"),
    "degF": ("degf", "°f", "fahrenheit", "degreefahrenheit", "degreesfahrenheit", "degreef", "degreesf", "f"),
    "Pa": ("pa", "pascal", "pascals", "nm-2"),
    "hPa": ("hpa", "hectopascal", "hectopascals", "mbar", "mb", "millibar", "millibars"),
    "kPa": ("kpa", "kilopascal", "kilopascals"),
    "deg": ("deg", "°", "degree", "degrees", "degree(angle)", "degreetrue", "degreestrue", "degt"),
    "%": ("%", "percent", "pct"),
    "fraction": ("1", "fraction", "(0-1)"),
    "mm/h": ("mm/h", "mmh-1", "mmh**-1", "mmhr-1", "mm/hr"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "km": ("km", "kilometre", "kilometres", "kilometer", "kilometers"),
    "ft": ("ft", "foot", "feet"),
    "s": ("s", "sec", "second", "seconds"),
}
_UNITS: dict[str, str] = {spelling.replace("_", ""): unit for unit, spellings in _SPELLINGS.items() for spelling in spellings}


def unit_of(text: str, variable: str) -> str | None:
    """Our name of a unit as a file spells it ("wmoUnit:km_h-1", "m s**-1", "Celsius"), if it fits the variable.

    None for a spelling that is not in the table or a unit of another kind. A prefix up to a colon is a code
    list's name and is passed over. Case counts for nothing but SI prefixes, of which the table holds none twice.
    """
    plain = text.rpartition(":")[2].strip().lower().replace(" ", "").replace("_", "")
    found = _UNITS.get(plain)
    return found if found in unit_choices(variable) else None


def agreed_unit(text: str, column: Column, place: str) -> str:
    """The unit the file names for a column. Where its spelling is not known, the unit that the recipe states.

    Raises ReadRefused when the recipe states another unit than the file, or none where the spelling is not known.
    """
    unit = unit_of(text, column.variable)
    if unit is None and column.unit == IN_TEXT:
        raise ReadRefused(f"{place}: the unit {text!r} is not known for {column.variable}; {_cure(column)}")
    if unit is not None and column.unit not in (IN_TEXT, unit):
        raise ReadRefused(f"{place}: the file says {unit}, the recipe {column.unit}; state {IN_TEXT!r} or correct one of them")
    return unit or column.unit


def stated_unit(column: Column, place: str) -> str:
    """The recipe's unit, for a file that names none. Raises ReadRefused when the recipe looks to the file for it."""
    if column.unit == IN_TEXT:
        raise ReadRefused(f"{place}: the file names no unit for it; {_cure(column)}")
    return column.unit


def _cure(column: Column) -> str:
    return f"state one in the recipe: {', '.join(unit_choices(column.variable))}"
