"""Filling in the forms of the admin site: what a browser would send back, with changes."""

from __future__ import annotations

from typing import Any

from django.contrib.messages import get_messages
from django.db.models import Model
from django.test import Client
from django.urls import reverse


def address(model: type[Model], page: str, *args: Any) -> str:
    """Of an admin page."""
    return reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_{page}", args=args)


def filled(client: Client, where: str, **changes: Any) -> dict[str, Any]:
    """The page's fields with what they show, as a browser sends them, and `changes` typed over."""
    page = client.get(where)
    assert page.status_code == 200, (where, page.status_code)
    data = _fields(page.context["adminform"].form)
    for inline in page.context.get("inline_admin_formsets", ()):
        data |= _fields(inline.formset.management_form)
        for form in inline.formset.initial_forms:
            data |= _fields(form)
    return data | changes


def send(client: Client, where: str, **changes: Any) -> Any:
    """Fill in and send; the answer."""
    return client.post(where, filled(client, where, **changes))


def complaints(response: Any) -> dict[str, list[str]]:
    """field -> sentences of a form that came back, rows inside it included."""
    assert response.status_code == 200, f"not refused: {response.status_code}"
    found: dict[str, list[str]] = {}
    forms = [response.context["adminform"].form]
    for inline in response.context.get("inline_admin_formsets", ()):
        forms += inline.formset.forms
    for form in forms:
        for field, sentences in form.errors.items():
            found.setdefault(field, []).extend(str(one) for one in sentences)
    return found


def said(response: Any) -> list[str]:
    """The messages an action left."""
    return [str(message) for message in get_messages(response.wsgi_request)]


def _fields(form: Any) -> dict[str, Any]:
    data = {}
    for bound in form:
        value = bound.value()
        if value is None or value is False:
            continue
        data[bound.html_name] = value if isinstance(value, list) else "on" if value is True else str(value)
    return data
