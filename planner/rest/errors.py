"""One shape for every error: {"error": {"code", "message", "fields": [{"field", "message"}]}}."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied
from django.core.exceptions import ValidationError as DjangoValidationError
from django.db import IntegrityError
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import set_rollback

from planner.errors import PlannerError


def one_shape(error: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler: every refusal leaves in one shape; what is no refusal stays a 500."""
    answer = _answer(error)
    if answer is not None:
        set_rollback()
    return answer


def _answer(error: Exception) -> Response | None:
    if isinstance(error, PlannerError):
        fields = [{"field": error.field, "message": error.message}] if error.field else []
        return shaped(error.status, error.code, error.message, fields, error.extra)
    if isinstance(error, DjangoValidationError):
        return _from_fields(django_fields(error))
    if isinstance(error, exceptions.ValidationError):
        return _from_fields(list(_flat("", error.detail)))
    if isinstance(error, Http404):
        return shaped(status.HTTP_404_NOT_FOUND, "not found", "There is nothing here, or not for you.")
    if isinstance(error, PermissionDenied):
        return shaped(status.HTTP_403_FORBIDDEN, "not allowed", str(error) or "Your role does not carry this.")
    if isinstance(error, IntegrityError):
        return shaped(status.HTTP_409_CONFLICT, "conflict", "Such a row is already there, or breaks a rule of the register.")
    if isinstance(error, exceptions.APIException):
        response = shaped(error.status_code, str(error.default_code).replace("_", " "), str(error.detail))
        for name, value in getattr(error, "headers", {}).items():
            response[name] = value
        if getattr(error, "auth_header", None):
            response["WWW-Authenticate"] = error.auth_header
        return response
    return None


def shaped(
    code_status: int, code: str, message: str, fields: list[dict[str, str]] | None = None, extra: dict[str, Any] | None = None
) -> Response:
    """An error answer in the one shape."""
    body: dict[str, Any] = {"code": code, "message": message, "fields": fields or []}
    if extra:
        body["extra"] = extra
    return Response({"error": body}, status=code_status)


def _from_fields(fields: list[dict[str, str]]) -> Response:
    first = fields[0] if fields else {"field": "", "message": "The request does not fit."}
    said = not first["field"] or first["message"].startswith(f"{first['field']} ")
    where = "" if said else f"{first['field']}: "
    return shaped(status.HTTP_400_BAD_REQUEST, "invalid", where + first["message"], fields)


def django_fields(error: DjangoValidationError) -> list[dict[str, str]]:
    """Field and sentence of each complaint of a model; the field is empty where it is about the row."""
    if hasattr(error, "error_dict"):
        return [
            {"field": "" if name == "__all__" else name, "message": message}
            for name, messages in error.message_dict.items()
            for message in messages
        ]
    return [{"field": "", "message": message} for message in error.messages]


def _flat(path: str, detail: Any) -> Any:
    if isinstance(detail, dict):
        for name, item in detail.items():
            inner = "" if name == "non_field_errors" else str(name)
            yield from _flat(f"{path}.{inner}".strip("."), item)
    elif isinstance(detail, list):
        for index, item in enumerate(detail):
            yield from _flat(path if isinstance(item, str) else f"{path}[{index}]", item)
    else:
        yield {"field": path, "message": str(detail)}
