"""The work pages in a real browser: by mouse, by keyboard, on a phone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import time

import pytest
from django.contrib.auth.models import User

from scheduling.models import Run
from tests.browser.conftest import Visitor
from tests.farm import Farm
from tests.page_rows import build_forecast, build_order, build_plan, build_round, build_run, build_visit

pytestmark = pytest.mark.browser
PAGES = ("today", "weather", "due", "year", "fortnight", "what-if", "orders")
Make = Callable[..., Visitor]


@pytest.fixture
def busy(farm: Farm, planner_user: User) -> Farm:
    """The farm with orders, a forecast, a published plan and a round."""
    build_forecast(farm.hill, wind_mps=8.5)
    plan = build_plan(farm)
    build_visit(plan, farm, build_order(farm.h1, farm, "HILL-1"))
    build_visit(plan, farm, build_order(farm.h2, farm, "HILL-2", work="lamp"), start=time(13, 30), hours=3)
    build_round(farm)
    return farm


@pytest.mark.parametrize("width", [1280, 390])
def test_pages_without_complaint_overflow_or_foreign_requests(width: int, busy: Farm, visitor: Make) -> None:
    """390 px is the width of a common phone (common practice, no source)."""
    one = visitor(width)
    one.log_in("planner")
    for name in PAGES:
        one.open(f"/{name}/")
        assert one.too_wide_by() <= 0, f"{name} is too wide at {width} px"
        assert "never authorises" in one.page.inner_text("aside.caution")
        one.shot(f"{name}-{width}")
    one.open(f"/orders/{busy.h1.orders.get().pk}/")
    assert one.too_wide_by() <= 0
    one.shot(f"order-{width}")
    assert one.complaints == []
    assert one.elsewhere == []


def reach(one: Visitor, words: str, most: int = 40) -> int:
    """Tabs until the element with these words has the focus; fails after `most`."""
    for tabs in range(1, most + 1):
        one.page.keyboard.press("Tab")
        held = one.page.evaluate("(document.activeElement.innerText || document.activeElement.value || '').trim()")
        if held.lower().startswith(words.lower()):
            return tabs
    pytest.fail(f"{words!r} is not reached in {most} tabs")


def test_the_keyboard_reaches_the_main_action_and_carries_it_out(busy: Farm, visitor: Make) -> None:
    one = visitor()
    one.log_in("planner")
    one.open("/due/")
    assert reach(one, "Skip to main content") == 1
    one.page.keyboard.press("Enter")
    reach(one, "Raise orders for Hillside")
    one.page.keyboard.press("Enter")
    one.page.wait_for_selector(".messagelist li.success")
    assert "orders raised" in one.page.inner_text(".messagelist")
    assert one.complaints == []


def test_the_focus_can_be_seen(busy: Farm, visitor: Make) -> None:
    one = visitor()
    one.log_in("planner")
    one.open("/fortnight/")
    reach(one, "Solve a new plan")
    style = one.page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    width = one.page.evaluate("parseFloat(getComputedStyle(document.activeElement).outlineWidth)")
    assert (style, width >= 2) == ("solid", True)


def test_wide_drawings_scroll_inside_their_box_by_keyboard(busy: Farm, visitor: Make) -> None:
    one = visitor(390)
    one.log_in("planner")
    one.open("/year/")
    box = one.page.locator("[aria-label='Round by turbine and week']")
    assert box.evaluate("box => box.scrollWidth > box.clientWidth")
    box.focus()
    one.page.keyboard.press("ArrowRight")
    one.page.wait_for_function("document.activeElement.scrollLeft > 0")
    assert one.too_wide_by() <= 0


def test_every_field_has_a_name(busy: Farm, visitor: Make) -> None:
    one = visitor()
    one.log_in("planner")
    for path in (*(f"/{name}/" for name in PAGES), f"/orders/{busy.h1.orders.get().pk}/"):
        one.open(path)
        nameless = one.page.evaluate(
            "[...document.querySelectorAll('main input:not([type=hidden]), main select, main textarea')]"
            ".filter(field => !field.labels.length && !field.getAttribute('aria-label')).map(field => field.name)"
        )
        assert nameless == [], path


def test_progress_shows_while_a_run_solves_and_the_page_loads_anew_at_its_end(busy: Farm, visitor: Make) -> None:
    run = build_run(busy, state="solving", value=None, bound=None, gap=None, seconds=1.0, text="")
    one = visitor()
    one.log_in("planner")
    one.open("/fortnight/")
    assert "unknown" in one.page.inner_text("#run")
    Run.objects.filter(pk=run.pk).update(value=5000.0, bound=4000.0, gap=0.2, seconds=7.0)
    one.page.wait_for_function("document.querySelector('#run').innerText.includes('EUR 5,000')")
    assert "20.0 %" in one.page.inner_text("#run")
    assert one.page.evaluate("document.querySelector('#run progress').value") == 7
    one.shot("fortnight-solving")
    Run.objects.filter(pk=run.pk).update(state="failed", text="The worker was lost.")
    one.page.wait_for_selector("#run:has-text('The worker was lost.')")
    one.page.wait_for_selector("text=Solve a new plan")
    assert one.complaints == []


def test_a_run_is_stopped_from_the_page(busy: Farm, visitor: Make) -> None:
    run = build_run(busy, state="solving", text="")
    one = visitor()
    one.log_in("planner")
    one.open("/fortnight/")
    one.page.click("text=Stop and keep the best")
    one.page.wait_for_selector("text=asked to stop")
    run.refresh_from_db()
    assert run.stop_asked


def test_states_are_told_without_colour(busy: Farm, visitor: Make) -> None:
    """Every state mark holds its word and, hidden from screen readers, a shape."""
    one = visitor()
    one.log_in("planner")
    for name in PAGES:
        one.open(f"/{name}/")
        marks = one.page.evaluate("[...document.querySelectorAll('.state')].map(mark => mark.innerText.trim())")
        assert all(len(words.split()) >= 2 for words in marks), marks


def test_on_paper_there_are_no_buttons_and_nothing_is_cut_off(busy: Farm, visitor: Make) -> None:
    one = visitor()
    one.log_in("planner")
    one.page.emulate_media(media="print")
    for name in PAGES:
        one.open(f"/{name}/")
        seen = one.page.evaluate("[...document.querySelectorAll('button, .lull-pages')].filter(one => one.offsetParent).length")
        assert seen == 0, name
        assert "never authorises" in one.page.inner_text("aside.caution")
