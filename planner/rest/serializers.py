"""Serializers that refuse unknown fields and ask the model itself whether a row is right."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError as DjangoValidationError
from django.db import models
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from planner.cautions import CAUTION
from planner.rest.errors import django_fields
from planner.rest.fields import OffsetTime, StrictDate, StrictFloat, StrictInteger, StrictJson, VisibleKey
from planner.services.rows import field_named


class StrictSerializer(serializers.Serializer):
    """Refuses fields it does not know, by name."""

    def to_internal_value(self, data: Any) -> Any:
        """Look at the names first."""
        if isinstance(data, Mapping):
            wrong = {name: self._why(name, data) for name in data if self._why(name, data)}
            if wrong:
                raise ValidationError(wrong)
        return super().to_internal_value(data)

    def _why(self, name: Any, data: Mapping[Any, Any]) -> str:
        field = self.fields.get(name)
        if field is None:
            return f"Unknown field: leave it out. Known are {', '.join(self._written())}."
        if field.read_only and not self._unchanged(name, data[name]):
            return "Lull fills this in itself: leave it out."
        return ""

    def _unchanged(self, name: str, value: Any) -> bool:
        """A row read and sent back whole may carry its read-only fields as they were."""
        row = self.instance
        return isinstance(row, models.Model) and self.to_representation(row).get(name, ...) == value

    def _written(self) -> list[str]:
        return [name for name, field in self.fields.items() if not field.read_only] or ["none"]


class RowSerializer(StrictSerializer, serializers.ModelSerializer):
    """A model's row: strict fields, related ids only of rows the caller sees, and the model's own full_clean.

    `children` names nested lists and what identifies a child in its list; see planner/rest/children.py.
    """

    children: dict[str, tuple[str, ...]] = {}
    parent_field = ""
    serializer_related_field = VisibleKey
    serializer_field_mapping = {
        **serializers.ModelSerializer.serializer_field_mapping,
        models.FloatField: StrictFloat,
        models.PositiveIntegerField: StrictInteger,
        models.PositiveSmallIntegerField: StrictInteger,
        models.JSONField: StrictJson,
        models.DateField: StrictDate,
        models.DateTimeField: OffsetTime,
    }

    def _unchanged(self, name: str, value: Any) -> bool:
        """A child is found by its key, so the id it was read with may stand beside it and says nothing."""
        return bool(self.parent_field) or super()._unchanged(name, value)

    def get_unique_together_validators(self) -> list[Any]:
        """None: full_clean knows the constraints, with their sentences."""
        return []

    def get_extra_kwargs(self) -> dict[str, Any]:
        """No unique validators of DRF's either: full_clean runs every validator of the field and asks the table once."""
        extra: dict[str, Any] = super().get_extra_kwargs()
        for field in self.Meta.model._meta.fields:
            if getattr(field, "unique", False) and not field.primary_key:
                extra.setdefault(field.name, {}).setdefault("validators", [])
        return extra

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Let the model judge the row as it would be saved."""
        row = self.row_with(attrs)
        try:
            row.full_clean(exclude={self.parent_field} - {""})
            self.judge(row, attrs)
        except DjangoValidationError as error:
            raise ValidationError(self._told(error)) from error
        return attrs

    def judge(self, row: Any, attrs: dict[str, Any]) -> None:
        """A place for rules over more than the row; raises Django's ValidationError."""

    def row_with(self, attrs: dict[str, Any]) -> Any:
        """The row as it would be saved; not saved."""
        row = copy.copy(self.instance) if isinstance(self.instance, models.Model) else self.Meta.model()
        many = {field.name for field in row._meta.many_to_many} | set(self.children)
        for name, value in attrs.items():
            if name not in many:
                setattr(row, name, value)
        return row

    def _told(self, error: DjangoValidationError) -> dict[str, list[str]]:
        told: dict[str, list[str]] = {}
        for item in django_fields(error):
            field = item["field"] or field_named(item["message"], self.fields) or "non_field_errors"
            told.setdefault(field, []).append(item["message"])
        return told


class Cautioned(serializers.Serializer):
    """A row that names a climb, with the caution."""

    caution = serializers.SerializerMethodField()

    def get_caution(self, row: Any) -> str:
        """Every answer that names a climb says who decides."""
        return CAUTION
