"""Named values of orders, with named groups."""

from __future__ import annotations

from django.db import models


class State(models.TextChoices):
    """An order's life. The allowed moves stand in lifecycle.py."""

    RAISED = "raised", "raised"
    PREPARED = "prepared", "prepared"
    SLOTTED = "slotted", "slotted"
    UNDER_WAY = "under way", "under way"
    FINISHED = "finished", "finished"
    ACCEPTED = "accepted", "accepted"
    WITHDRAWN = "withdrawn", "withdrawn"


WAITING = (State.RAISED, State.PREPARED, State.SLOTTED)
"""Not begun: may be planned or moved."""
TO_PLAN = (*WAITING, State.UNDER_WAY)
"""What a fortnight plans: not begun, or begun and not finished."""
CLOSED = (State.ACCEPTED, State.WITHDRAWN)
"""Nothing happens to it any more."""


class Origin(models.TextChoices):
    """Where an order came from."""

    DUE = "due", "due work"
    HAND = "hand", "by hand"
    FINDING = "finding", "a finding"


class Klass(models.TextChoices):
    """What leaving an order out costs hangs on its class."""

    STATUTORY = "statutory", "statutory inspection"
    GATE = "gate", "opens a gate"
    FAILURE = "failure", "turbine stands"
    SERVICE = "service", "service"
    MINOR = "minor", "minor"


class HoldKind(models.TextChoices):
    """What an order waits for. A hold stops preparation; it is no state."""

    PARTS = "parts", "parts"
    ACCESS = "access", "access"
    PERMIT = "permit", "permit"
    WEATHER = "weather", "weather"
    OTHER = "other", "other"


class Severity(models.TextChoices):
    """How soon a finding must be acted on."""

    STOP = "stop now", "stop now"
    BEFORE_CLIMB = "before next climb", "before the next climb"
    IN_DAYS = "within days", "within days"
    NEXT_SERVICE = "at next service", "at the next service"
