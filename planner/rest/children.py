"""Rows that live inside another: a procedure's steps, a technician's skills, a limit set's limits."""

from __future__ import annotations

from typing import Any

from django.db.models import ProtectedError
from rest_framework.exceptions import ValidationError

from planner.errors import ConflictError
from planner.rest.serializers import RowSerializer


class ParentSerializer(RowSerializer):
    """Saves a row with its lists. A list that is sent replaces the stored one; a list left out stays as it is.

    A child keeps its row where its key (say, the step's number) stays, so that what points at it still does.
    """

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """No key twice in one list."""
        for name, keys in self.children.items():
            seen = [tuple(child.get(key, _default(self, name, key)) for key in keys) for child in attrs.get(name, [])]
            if len(set(seen)) != len(seen):
                raise ValidationError({name: f"Two rows have the same {' and '.join(keys)}: give each once."})
        return super().validate(attrs)

    def create(self, validated_data: dict[str, Any]) -> Any:
        """The row, then its lists."""
        lists = {name: validated_data.pop(name) for name in self.children if name in validated_data}
        row = super().create(validated_data)
        return self._with(row, lists)

    def update(self, instance: Any, validated_data: dict[str, Any]) -> Any:
        """The row, then its lists."""
        lists = {name: validated_data.pop(name) for name in self.children if name in validated_data}
        row = super().update(instance, validated_data)
        return self._with(row, lists)

    def _with(self, row: Any, lists: dict[str, list[dict[str, Any]]]) -> Any:
        for name, wanted in lists.items():
            children_set(row, name, wanted, self.children[name])
        getattr(row, "_prefetched_objects_cache", {}).clear()
        return row


def children_set(parent: Any, name: str, wanted: list[dict[str, Any]], keys: tuple[str, ...]) -> None:
    """Make the parent's list `name` hold exactly `wanted`, keeping rows whose key stays. Call inside a transaction."""
    manager = getattr(parent, name)
    model, link = manager.model, manager.field.name
    columns = [model._meta.get_field(key).attname for key in keys]
    stored = {tuple(getattr(child, column) for column in columns): child for child in manager.all()}
    rows = []
    for attrs in wanted:
        fresh = model(**{link: parent}, **attrs)
        old = stored.pop(tuple(getattr(fresh, column) for column in columns), None)
        fresh.pk = old.pk if old else None
        fresh._state.adding = old is None
        rows.append((fresh, old))
    _remove(list(stored.values()), name)
    for fresh, old in rows:
        if old is None or _differs(fresh, old):
            fresh.save()


def _remove(rows: list[Any], name: str) -> None:
    try:
        for row in rows:
            row.delete()
    except ProtectedError as error:
        raise ConflictError(f"A row of {name} is already used and cannot go: keep it in the list.", field=name) from error


def _differs(fresh: Any, old: Any) -> bool:
    return any(getattr(fresh, f.attname) != getattr(old, f.attname) for f in fresh._meta.concrete_fields)


def _default(serializer: Any, name: str, key: str) -> Any:
    return serializer.fields[name].child.Meta.model._meta.get_field(key).get_default()
