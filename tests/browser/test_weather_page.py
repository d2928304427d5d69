"""The Weather page in a real browser."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User

from tests.browser.conftest import Visitor
from tests.browser.weather_scene import build_weather
from tests.farm import Farm

pytestmark = pytest.mark.browser
Make = Callable[..., Visitor]


@pytest.fixture
def windy(farm: Farm, planner_user: User) -> Farm:
    """The farm with its weather."""
    build_weather(farm)
    return farm


@pytest.mark.parametrize("width", [1280, 390])
def test_it_opens_without_complaint_overflow_or_foreign_requests(width: int, windy: Farm, visitor: Make) -> None:
    one = visitor(width)
    one.log_in("planner")
    one.open("/weather/")
    assert one.too_wide_by() <= 0
    assert "never authorises" in one.page.inner_text("aside.caution")
    assert one.page.locator("svg.drawing").count() == 3
    one.shot(f"weather-{width}")
    assert one.complaints == []
    assert one.elsewhere == []
