"""Frozen dataclasses to plain JSON values and back, with errors that name the path.

Only what the problems need: int, float, str, bool, None, tuple[X, ...], fixed tuples, dict[str, X], X | None and
nested dataclasses. Unknown and missing keys are errors, so that a stored problem never loses a rule in silence.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from functools import cache
from typing import Any, TypeVar

T = TypeVar("T")


def to_json(value: Any) -> Any:
    """A JSON-ready copy of a dataclass, tuple, dict or plain value (tuples become lists)."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: to_json(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, (tuple, list)):
        return [to_json(item) for item in value]
    if isinstance(value, dict):
        return {str(key): to_json(item) for key, item in value.items()}
    return value


def from_json(kind: type[T], data: Any, path: str = "problem") -> T:
    """Build `kind` (a dataclass) from JSON values.

    Raises ValueError with the path of the first value that does not fit, for example
    "problem.orders[3].turbine: expected a text, got 7".
    """
    result: T = _read(kind, data, path)
    return result


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _read(kind: Any, data: Any, path: str) -> Any:
    origin = typing.get_origin(kind)
    if origin in (typing.Union, types.UnionType):
        return _read_optional(kind, data, path)
    if origin is tuple:
        return _read_tuple(kind, data, path)
    if origin is dict:
        return _read_dict(kind, data, path)
    if dataclasses.is_dataclass(kind):
        return _read_record(typing.cast(type, kind), data, path)
    return _read_plain(kind, data, path)


def _read_optional(kind: Any, data: Any, path: str) -> Any:
    if data is None:
        return None
    inner = [arm for arm in typing.get_args(kind) if arm is not type(None)]
    return _read(inner[0], data, path)


def _read_tuple(kind: Any, data: Any, path: str) -> tuple[Any, ...]:
    if not isinstance(data, (list, tuple)):
        raise ValueError(f"{path}: expected a list, got {_show(data)}")
    args = typing.get_args(kind)
    if len(args) == 2 and args[1] is Ellipsis:
        return tuple(_read(args[0], item, f"{path}[{i}]") for i, item in enumerate(data))
    if len(data) != len(args):
        raise ValueError(f"{path}: expected {len(args)} values, got {len(data)}")
    return tuple(_read(arg, item, f"{path}[{i}]") for i, (arg, item) in enumerate(zip(args, data, strict=True)))


def _read_dict(kind: Any, data: Any, path: str) -> dict[str, Any]:
    if not isinstance(data, dict):
        raise ValueError(f"{path}: expected an object, got {_show(data)}")
    value_kind = typing.get_args(kind)[1]
    return {str(key): _read(value_kind, item, f"{path}.{key}") for key, item in data.items()}


def _read_record(kind: type, data: Any, path: str) -> Any:
    if not isinstance(data, dict):
        raise ValueError(f"{path}: expected an object, got {_show(data)}")
    fields = {field.name: field for field in dataclasses.fields(kind)}
    unknown = sorted(set(data) - set(fields))
    if unknown:
        raise ValueError(f"{path}: unknown field {unknown[0]!r}; known are {', '.join(fields)}")
    missing = [name for name, field in fields.items() if name not in data and _required(field)]
    if missing:
        raise ValueError(f"{path}: field {missing[0]!r} is missing")
    hints = _hints(kind)
    values = {name: _read(hints[name], item, f"{path}.{name}") for name, item in data.items()}
    try:
        return kind(**values)
    except ValueError as error:
        raise ValueError(f"{path}: {error}") from error


def _required(field: dataclasses.Field[Any]) -> bool:
    return field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING


def _read_plain(kind: Any, data: Any, path: str) -> Any:
    if kind is Any:
        return data
    if kind is float and isinstance(data, int) and not isinstance(data, bool):
        return float(data)
    fits = isinstance(data, kind) and not (kind is int and isinstance(data, bool))
    if not fits:
        names = {str: "a text", int: "a whole number", float: "a number", bool: "true or false"}
        raise ValueError(f"{path}: expected {names.get(kind, kind)}, got {_show(data)}")
    if kind is float and not float("-inf") < data < float("inf"):
        raise ValueError(f"{path}: expected a finite number, got {data}")
    return data


def _show(data: Any) -> str:
    text = repr(data)
    return text if len(text) <= 40 else text[:37] + "..."
