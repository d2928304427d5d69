"""Fields that take what they say and nothing near it."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime
from typing import Any

from django.contrib.auth import get_user_model
from django.utils.dateparse import parse_datetime
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from planner.due import FIRST_YEAR, LAST_YEAR
from planner.models import Base
from planner.rest.caller import caller_of
from planner.selectors.ownership import visible

NO_SUCH = "There is no such {name}, or it is not for you: give the id of one you can see."


class StrictFloat(serializers.FloatField):
    """A finite number; true, NaN and infinity are none."""

    def to_internal_value(self, data: Any) -> float:
        """Refuse what float() would take but is no measure."""
        value = math.nan if isinstance(data, bool) else super().to_internal_value(data)
        if not math.isfinite(value):
            raise ValidationError("Give a finite number, with a point for decimals.")
        return float(value)


class StrictInteger(serializers.IntegerField):
    """A whole number; true is none."""

    def to_internal_value(self, data: Any) -> int:
        """Refuse true, and say so."""
        if isinstance(data, bool):
            raise ValidationError("Give a whole number.")
        return int(super().to_internal_value(data))


class StrictJson(serializers.JSONField):
    """JSON without infinities and without NUL characters, which a database refuses later."""

    def to_internal_value(self, data: Any) -> Any:
        """Walk the value once, after a form's text is parsed."""
        value = super().to_internal_value(data)
        if not _storable(value):
            raise ValidationError("Numbers must be finite and texts free of NUL characters.")
        return value


class StrictDate(serializers.DateField):
    """A day between 1900 and 2200: what lies outside is a slip, and date arithmetic stays in range."""

    def to_internal_value(self, value: Any) -> date:
        """Check the year too."""
        day: date = super().to_internal_value(value)
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise ValidationError(f"Give a year from {FIRST_YEAR} to {LAST_YEAR}.")
        return day


class OffsetTime(serializers.DateTimeField):
    """An instant: ISO 8601 with its offset. Without one a local time may not exist, or exist twice, when clocks change."""

    def to_internal_value(self, value: Any) -> datetime:
        """Only a text with an offset."""
        moment = _parsed(value)
        if moment is None:
            raise ValidationError("Give a date and time such as 2026-03-29T01:30:00Z.")
        if moment.tzinfo is None:
            raise ValidationError(
                "Give the offset too, such as 2026-03-29T03:30:00+02:00 or ...Z: "
                "a local time alone may not exist, or exist twice, on the day the clocks change."
            )
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise ValidationError(f"Give a year from {FIRST_YEAR} to {LAST_YEAR}.")
        return moment.astimezone(UTC)


class VisibleKey(serializers.PrimaryKeyRelatedField):
    """The id of a row the caller can see. Others' rows and rows that are not there get the same answer."""

    def get_queryset(self) -> Any:
        """Only what the caller sees."""
        rows = super().get_queryset()
        request = self.context.get("request")
        return rows.none() if rows is None or request is None else visible(rows, caller_of(request))

    def to_internal_value(self, data: Any) -> Any:
        """A whole number, or digits."""
        fits = isinstance(data, int | str) and not isinstance(data, bool) and str(data).isascii() and str(data).isdigit()
        try:
            if fits and len(str(data)) < 19:
                return self.get_queryset().get(pk=int(data))
        except self.queryset.model.DoesNotExist:
            pass
        raise ValidationError(NO_SUCH.format(name=self.queryset.model._meta.verbose_name))


def _parsed(value: Any) -> datetime | None:
    if not isinstance(value, str) or len(value) < 16:
        return None
    try:
        return parse_datetime(value)
    except ValueError:
        return None


def _storable(value: Any) -> bool:
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, str):
        return "\x00" not in value
    if isinstance(value, dict):
        return all(_storable(key) and _storable(item) for key, item in value.items())
    if isinstance(value, list):
        return all(_storable(item) for item in value)
    return True


class OwnBase(VisibleKey):
    """The id of a base of the caller's sites; a base elsewhere is no such base, though its name is shared."""

    def __init__(self, **kwargs: Any) -> None:
        if not kwargs.get("read_only"):
            kwargs.setdefault("queryset", Base.objects.all())
        super().__init__(**kwargs)

    def get_queryset(self) -> Any:
        """Only where the caller has a site."""
        return super().get_queryset().filter(pk__in=caller_of(self.context["request"]).sites.values("base"))


class VisibleUser(serializers.SlugRelatedField):
    """A username, among the members of the sites where the caller plans."""

    def __init__(self, **kwargs: Any) -> None:
        if not kwargs.get("read_only"):
            kwargs.setdefault("queryset", get_user_model().objects.all())
        super().__init__(slug_field="username", **kwargs)

    def get_queryset(self) -> Any:
        """Only accounts the caller may name."""
        return visible(super().get_queryset(), caller_of(self.context["request"]))

    def to_internal_value(self, data: Any) -> Any:
        """An exact username."""
        if not isinstance(data, str) or "\x00" in data:
            raise ValidationError("Give a username.")
        user = self.get_queryset().filter(username=data).first()
        if user is None:
            raise ValidationError("No member of your sites has this username: give them a role at a site first.")
        return user


class UsernameOf(serializers.CharField):
    """Who did it, by username; null where nobody did, or the account is gone."""

    def __init__(self, who: str, **kwargs: Any) -> None:
        facts = {"source": f"{who}.username", "default": None, "allow_null": True, "read_only": True}
        super().__init__(**{**facts, **kwargs})


class NameOf(serializers.CharField):
    """How another row is called; "" where there is none. Give the row's attribute as `source`."""

    def __init__(self, **options: Any) -> None:
        super().__init__(read_only=True, **options)

    def get_attribute(self, instance: Any) -> str:
        """The row's own name."""
        row = super().get_attribute(instance)
        return "" if row is None else str(row)
