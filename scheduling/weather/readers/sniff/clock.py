"""The pattern a column of time stamps follows, told from all of its texts."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scheduling.weather.readers.stamps.fixed import fixed_width
from scheduling.weather.readers.stamps.patterns import ISO, moment_of
from scheduling.weather.series import BoolArray

#: A pattern must read this share of the texts to be the pattern of the column.
ENOUGH = 0.6
_SAMPLE = 60

_DATE = r"(?P<a>\d{1,4})(?P<s>[-./])(?P<b>\d{1,2}|[A-Za-z]{3})(?P=s)(?P<c>\d{1,4})"
_TIME = r"(?P<h>\d{1,2}):\d{2}(?P<sec>:\d{2})?(?P<frac>\.0+)?(?P<p> ?[AaPp][Mm])?(?P<z> ?(?:Z|[+-]\d{2}:?\d{2}))?"
_WRITTEN = re.compile(rf"{_DATE}(?P<gap>[ T]){_TIME}")
_ISO = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.0+)?)?(?:Z|[+-]\d{2}:?\d{2})?")
#: Digits only, or nearly so.
_COMPACT = (
    (re.compile(r"\d{10}"), "%Y%m%d%H"),
    (re.compile(r"\d{12}"), "%Y%m%d%H%M"),
    (re.compile(r"\d{14}"), "%Y%m%d%H%M%S"),
    (re.compile(r"\d{8}:\d{4}"), "%Y%m%d:%H%M"),
    (re.compile(r"\d{8}[ ]\d{4}"), "%Y%m%d %H%M"),
    (re.compile(r"\d{8}[ ]\d{1,2}:\d{2}"), "%Y%m%d %H:%M"),
    (re.compile(r"\d{8}T\d{4}"), "%Y%m%dT%H%M"),
    (re.compile(r"\d{8}T\d{6}"), "%Y%m%dT%H%M%S"),
    (re.compile(r"\d{8}T\d{4}Z"), "%Y%m%dT%H%M%z"),
    (re.compile(r"\d{8}T\d{6}Z"), "%Y%m%dT%H%M%S%z"),
)


@dataclass(frozen=True)
class Pattern:
    """The formats that read the texts equally well: one, or several when day and month cannot be told apart.

    share   of the texts that they read; offsets: whether they hold an offset from UTC
    told    why this order of day and month, where it was in question
    """

    formats: tuple[str, ...]
    share: float
    offsets: bool
    told: str = ""


def find_pattern(texts: Sequence[str], hint: str = "") -> Pattern | None:
    """The pattern of the texts; None when they are no times. `hint` is the header's text: "Date (MM/DD/YYYY)"."""
    candidates = _candidates([text.strip() for text in spread(texts, _SAMPLE)])
    shares = {form: share_read(texts, form) for form in candidates}
    best = max(shares.values(), default=0.0)
    if best < ENOUGH:
        return None
    formats = tuple(form for form in candidates if shares[form] == best)
    told = "" if len(candidates) == 1 else "only this order of day and month reads all rows"
    if len(formats) > 1:
        formats, told = _settled(formats, hint)
    return Pattern(formats, best, "%z" in formats[0] or (formats[0] == ISO and _has_offset(texts)), told)


def _settled(formats: tuple[str, ...], hint: str) -> tuple[tuple[str, ...], str]:
    """By what the header says, or by the dots that only dates with the day first are written with."""
    order = re.search(r"(?i)\b(dd|mm)[-./ ](dd|mm)[-./ ]y{2,4}\b", hint)
    if order is not None:
        first = "%d" if order[1].lower() == "dd" else "%m"
        return tuple(form for form in formats if form.startswith(first)), f"the header says {order[0]}"
    dotted = tuple(form for form in formats if form.startswith("%d.%m."))
    if dotted:
        return dotted, "dates with dots have the day first"
    return formats, ""


def share_read(texts: Sequence[str], form: str) -> float:
    """The share of the texts that a format reads."""
    return float(which_read(texts, form).mean()) if texts else 0.0


def which_read(texts: Sequence[str], form: str) -> BoolArray:
    """bool [n]: the texts that a format reads."""
    _, _, good = fixed_width(texts, form)
    for row in np.flatnonzero(~good).tolist():
        good[row] = _reads(texts[row], form)
    return good


def spread(texts: Sequence[str], count: int) -> list[str]:
    """At most `count` of the texts, evenly from first to last."""
    if len(texts) <= count:
        return list(texts)
    return [texts[at] for at in np.linspace(0, len(texts) - 1, count).astype(int).tolist()]


def _reads(text: str, form: str) -> bool:
    try:
        moment_of(text, form)
    except ValueError:
        return False
    return True


def _has_offset(texts: Sequence[str]) -> bool:
    with_offset = [bool(re.search(r"(?:Z|[+-]\d{2}:?\d{2})\s*$", text[10:])) for text in spread(texts, _SAMPLE)]
    return sum(with_offset) > len(with_offset) / 2


def _candidates(sample: Sequence[str]) -> list[str]:
    found: dict[str, int] = {}
    for text in sample:
        for form in _forms(text):
            found[form] = found.get(form, 0) + 1
    return [form for form, count in found.items() if count >= ENOUGH / 2 * len(sample)]


def _forms(text: str) -> list[str]:
    if _ISO.fullmatch(text):
        return [ISO]
    for pattern, form in _COMPACT:
        if pattern.fullmatch(text):
            return [form]
    written = _WRITTEN.fullmatch(text)
    if written is None:
        return []
    return [f"{date}{written['gap']}{_time(written)}" for date in _dates(written)]


def _dates(written: re.Match[str]) -> list[str]:
    sign = written["s"]
    if len(written["a"]) == 4:
        return [f"%Y{sign}%m{sign}%d"]
    year = "%Y" if len(written["c"]) == 4 else "%y"
    if written["b"].isalpha():
        return [f"%d{sign}%b{sign}{year}"]
    forms = [f"%d{sign}%m{sign}{year}", f"%m{sign}%d{sign}{year}"]
    return forms if year == "%Y" or sign == "." else [*forms, f"%y{sign}%m{sign}%d"]


def _time(written: re.Match[str]) -> str:
    hour = "%I" if written["p"] else "%H"
    seconds = ":%S" if written["sec"] else ""
    half = f"{written['p'][:-2]}%p" if written["p"] else ""
    offset = f"{' ' if written['z'].startswith(' ') else ''}%z" if written["z"] else ""
    return f"{hour}:%M{seconds}{written['frac'] or ''}{half}{offset}"
