"""What the tests of the page What if stand on."""

from __future__ import annotations

import pytest

from scheduling.models import Plan
from tests.farm import Farm
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs import scenes as what_ifs


@pytest.fixture
def rows(farm: Farm) -> Farm:
    """The farm with W-1 and W-2, H1's lift inspected and a calm forecast."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    return farm


@pytest.fixture
def told(rows: Farm) -> Plan:
    """W-1 on Wednesday is published, W-2 was left out."""
    return what_ifs.told(rows)
