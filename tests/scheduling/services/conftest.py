"""Fixtures of runs and plans."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from scheduling import solvers
from tests.farm import Farm
from tests.scheduling.services import scenes


@pytest.fixture
def table(monkeypatch: pytest.MonkeyPatch) -> Callable[[Any], None]:
    """Put a solver in the place of the fortnight's."""
    return lambda entry: monkeypatch.setitem(solvers.SOLVERS, "fortnight", entry)


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with orders W-1 and W-2, H1's lift inspected and a calm forecast."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    return farm
