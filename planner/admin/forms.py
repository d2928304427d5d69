"""Forms of the admin site: complaints at their field, in a sentence that says what to give."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth import get_user_model
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms.utils import pretty_name

from planner.errors import PlannerError
from planner.services.rows import field_named

if TYPE_CHECKING:
    AnyForm = forms.ModelForm[Any]
else:
    AnyForm = forms.ModelForm

SENTENCES: tuple[tuple[type[forms.Field], str], ...] = (
    (forms.DateField, "This is no day of the calendar: give year-month-day, such as 2026-02-28."),
    (forms.TimeField, "This is no time of day: give hours and minutes, such as 07:00."),
    (forms.FloatField, "Give a finite number, with a point for decimals, such as 12.5."),
    (forms.IntegerField, "Give a whole number."),
    (forms.JSONField, "This is no JSON: see the example below the field."),
)


class RowForm(AnyForm):
    """A register row. `judge` is for rules over more than the row; `allowed` says whether the caller may write it as it
    would be saved."""

    allowed: Callable[[Any], bool] = staticmethod(lambda row: True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, field in self.fields.items():
            speak_plainly(field, name)

    def judge(self, row: Any) -> None:
        """Raises ValidationError."""

    def _post_clean(self) -> None:
        super()._post_clean()  # type: ignore[misc]
        if self.errors:
            return
        try:
            self.judge(self.instance)
        except ValidationError as error:
            self.add_error(None, error)
        if not self.allowed(self.instance):
            name = self.instance._meta.verbose_name
            self.add_error(None, f"Your role there does not carry writing this {name}: ask a planner of the site.")

    def _update_errors(self, errors: ValidationError) -> None:
        """Constraints over one field complain at that field, not above the form."""
        if hasattr(errors, "error_dict"):
            errors = ValidationError(_at_fields(errors.error_dict, set(self.fields)))
        super()._update_errors(errors)  # type: ignore[misc]


class ServiceForm(RowForm):
    """A form whose row a service writes. The service is asked last, when every field is right; what it refuses is a complaint
    of the form, and then nothing is written."""

    by: Any = None

    def carry_out(self, given: dict[str, Any]) -> Any:
        """Call the service; back comes the row it wrote."""
        raise NotImplementedError

    def _post_clean(self) -> None:
        if self.errors:
            return
        try:
            self.instance = self.carry_out(self.cleaned_data)
        except PlannerError as error:
            self._refuse(error)

    def _refuse(self, error: PlannerError) -> None:
        """Each sentence at its field; what names no field of the form stands above it."""
        told: dict[str, list[str]] = error.extra.get("fields") or {error.field: [error.message]}
        named = {name if name in self.fields else NON_FIELD_ERRORS: texts for name, texts in told.items()}
        self.add_error(None, ValidationError(_at_fields(ValidationError(named).error_dict, set(self.fields))))

    def save(self, commit: bool = True) -> Any:
        """Nothing is left to save."""
        self.save_m2m = lambda: None  # type: ignore[method-assign]
        return self.instance


class UsernameField(forms.CharField):
    """A username typed in full, so that nobody's list of accounts is shown. `among` narrows who may be named."""

    def __init__(self, *args: Any, among: Callable[[], Any] | None = None, **kwargs: Any) -> None:
        self.among = among or (lambda: get_user_model().objects.filter(is_active=True))
        super().__init__(*args, max_length=150, **kwargs)

    def clean(self, value: Any) -> Any:
        """The account, or None for an empty field that may be empty."""
        name = super().clean(value)
        user = self.among().filter(username=name).first() if name else None
        if name and user is None:
            raise ValidationError("No such active account, or not for you: give the username of one, in full.")
        return user

    def prepare_value(self, value: Any) -> Any:
        """An id from the row becomes its username."""
        if not isinstance(value, int):
            return value
        return get_user_model().objects.filter(pk=value).values_list("username", flat=True).first()

    def has_changed(self, initial: Any, data: Any) -> bool:
        """Held against the username that was shown."""
        return super().has_changed(self.prepare_value(initial), data)


def speak_plainly(field: forms.Field, name: str) -> None:
    """Give a field the sentence it answers wrong input with."""
    label = str(field.label or pretty_name(name)).lower()
    field.error_messages["required"] = f"Give {label}: it may not be empty."
    for kind, sentence in SENTENCES:
        if isinstance(field, kind):
            field.error_messages["invalid"] = sentence
            return


def _at_fields(errors: dict[str, Any], names: set[str]) -> dict[str, list[ValidationError]]:
    placed: dict[str, list[ValidationError]] = {}
    for name, complaints in errors.items():
        for complaint in complaints:
            named = field_named(next(iter(complaint.messages), ""), names) if name == NON_FIELD_ERRORS else ""
            placed.setdefault(named or name, []).append(complaint)
    return placed
