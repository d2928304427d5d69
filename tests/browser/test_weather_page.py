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


def test_the_table_says_what_the_diagram_draws_and_is_reached_by_keyboard(windy: Farm, visitor: Make) -> None:
    one = visitor(390)
    one.log_in("planner")
    one.open("/weather/")
    box = one.page.locator("[aria-label='Calls by chance, table']")
    box.focus()
    assert one.page.evaluate("document.activeElement.getAttribute('aria-label')") == "Calls by chance, table"
    drawn = one.page.locator("[aria-label='Reliability diagram'] circle").count()
    shares = box.locator("tbody tr").all_inner_texts()
    assert drawn == sum("too few" not in row for row in shares) > 3
    described = one.page.locator("[aria-label='Reliability diagram'] desc").text_content() or ""
    assert described.count("could be done, mean call") == drawn


def test_a_lead_day_is_chosen(windy: Farm, visitor: Make) -> None:
    one = visitor()
    one.log_in("planner")
    one.open("/weather/")
    one.page.select_option("[name=lead]", "2")
    one.page.click("main button:has-text('Show')")
    one.page.wait_for_url("**lead=2**")
    assert "These are 129 stays; over all" in one.page.inner_text("main")
    assert one.complaints == []


def test_on_paper_and_without_colour(windy: Farm, visitor: Make) -> None:
    """Alarms, states and outcomes are words; the diagram tells its parts by shape and dashes."""
    one = visitor()
    one.log_in("planner")
    one.page.emulate_media(media="print")
    one.open("/weather/")
    assert one.page.locator("main button:visible").count() == 0
    assert one.page.locator("p[role=alert]:has-text('stopped')").is_visible()
    marks = one.page.evaluate("[...document.querySelectorAll('.state')].map(mark => mark.innerText.trim())")
    assert {"■ stopped", "✓ on time", "✓ fitted"} <= set(marks)
    dashes = one.page.evaluate("getComputedStyle(document.querySelector('.curve.mean')).strokeDasharray")
    assert dashes not in ("none", "")
    one.shot("weather-paper")
