"""The climate's page in a real browser: wide, on a phone, by keyboard, on paper."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import numpy as np
import pytest
from django.contrib.auth.models import User

from scheduling.weather.series import Series, series_of
from tests.browser.conftest import Visitor
from tests.farm import Farm
from tests.scheduling.past_rows import stored

pytestmark = pytest.mark.browser
Make = Callable[..., Visitor]


def windy(first: int, years: int, seed: int) -> Series:
    """Hours of wind with calm summers, seeded; a fortnight of February is missing in the first year."""
    start = datetime(first, 1, 1, tzinfo=UTC)
    hours = int((datetime(first + years, 1, 1, tzinfo=UTC) - start).total_seconds() // 3600)
    slow = np.convolve(np.random.default_rng(seed).normal(size=hours + 35), np.ones(36) / 6, "valid")
    values = np.abs(9 + 2.5 * np.cos(2 * np.pi * np.arange(hours) / 8766) + 3.5 * slow)
    values[24 * 38 : 24 * 52] = np.nan
    return series_of("wind", values, start=start, step_min=60, height_m=50, averaging_min=10)


@pytest.fixture
def history(farm: Farm, planner_user: User) -> Farm:
    """Five years at HILL."""
    stored(farm.hill, windy(2015, 5, 3))
    return farm


@pytest.mark.parametrize("width", [1280, 390])
def test_no_complaint_overflow_or_foreign_request(width: int, history: Farm, visitor: Make) -> None:
    """390 px is the width of a common phone (common practice, no source)."""
    one = visitor(width)
    one.log_in("planner")
    one.open("/climate/?stay_min=240")
    assert one.too_wide_by() <= 0
    assert one.page.locator("a[aria-current=page]").inner_text() == "Climate"
    one.shot(f"climate-{width}")
    one.open("/climate/?stay_min=900")
    assert "does not fit the working day" in one.page.inner_text("[role=alert]")
    assert one.too_wide_by() <= 0
    assert one.elsewhere == []
    assert [said for said in one.complaints if "400 (Bad Request)" not in said] == []


def test_the_choices_have_names_and_the_strip_scrolls_by_keyboard(history: Farm, visitor: Make) -> None:
    one = visitor(390)
    one.log_in("planner")
    one.open("/climate/")
    one.page.get_by_label("Stay, minutes").fill("120")
    one.page.get_by_label("Hours that count").select_option("all")
    one.page.get_by_label("Stay, minutes").press("Enter")
    one.page.wait_for_url("**hours=all**")
    box = one.page.locator("[aria-label='Workable hours by week']")
    box.focus()
    one.page.keyboard.press("ArrowRight")
    one.page.wait_for_function("document.activeElement.scrollLeft > 0")


def test_paper_shows_strip_and_tables_whole_and_no_buttons(history: Farm, visitor: Make) -> None:
    """718 px: A4 upright between margins of 10 mm at 96 px to the inch."""
    one = visitor(718)
    one.log_in("planner")
    one.page.emulate_media(media="print")
    one.open("/climate/")
    assert one.page.evaluate("[...document.querySelectorAll('button')].filter(one => one.offsetParent).length") == 0
    assert one.page.locator("svg.drawing").is_visible()
    assert one.page.locator("table").count() == 2
    one.shot("climate-print")
    assert one.too_wide_by() <= 0
