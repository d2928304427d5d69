"""What if in a real browser: from a name to a comparison and back, by mouse, by keyboard, on a phone and on paper."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import User

from scheduling.models import Run, WhatIf
from tests.browser.conftest import Visitor
from tests.farm import Farm
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs.scenes import CLOSED, HIRED, solved, told

pytestmark = pytest.mark.browser
Make = Callable[..., Visitor]


@pytest.fixture
def rows(farm: Farm, planner_user: User) -> Farm:
    """The farm with W-1 and W-2, a calm forecast and a published plan that leaves W-2 out."""
    list(scenes.orders(farm))
    scenes.ready(farm)
    told(farm)
    return farm


def test_from_a_name_to_a_queued_run(rows: Farm, visitor: Make, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scheduling.tasks.run_solve.delay", lambda pk: None)
    one = visitor()
    one.log_in("planner")
    one.open("/what-if/")
    one.page.fill("form[aria-label='A new what-if'] [name=name]", "nobody at H1")
    one.page.fill("form[aria-label='A new what-if'] [name=first_day]", "2026-06-10")
    one.page.fill("form[aria-label='A new what-if'] [name=days]", "2")
    one.page.click("text=Copy the fortnight")
    one.page.wait_for_selector("h2:has-text('nobody at H1')")
    one.page.click("summary:has-text('Vehicles, equipment, turbines')")
    one.page.select_option("form[aria-label='A turbine is closed'] [name=turbine]", "HILL H1")
    one.page.click("form[aria-label='A turbine is closed'] button")
    one.page.wait_for_selector("th:has-text('HILL H1 closed Wed 10 Jun')")
    one.page.click("text=Solve this what-if")
    one.page.wait_for_selector("#run")
    run = Run.objects.get(what_if__name="nobody at H1")
    assert one.page.locator("text=Add a change").count() == 0
    Run.objects.filter(pk=run.pk).update(state="solving", value=5000.0, bound=4000.0, gap=0.2, seconds=7.0)
    one.page.wait_for_function("document.querySelector('#run').innerText.includes('EUR 5,000')")
    one.shot("what-if-solving")
    one.page.click("text=Stop and keep the best")
    one.page.wait_for_selector("text=asked to stop")
    run.refresh_from_db()
    assert run.stop_asked
    assert one.complaints == []
    assert one.elsewhere == []


@pytest.mark.parametrize("width", [1280, 390])
def test_side_by_side_fits_its_page(width: int, rows: Farm, visitor: Make) -> None:
    row = solved(rows, CLOSED)
    one = visitor(width)
    one.log_in("planner")
    one.open(f"/what-if/?what_if={row.pk}")
    assert one.too_wide_by() <= 0
    assert one.page.locator(".beside svg.drawing").count() == 2
    tops = [box.bounding_box() for box in one.page.locator(".beside svg.drawing").all()]
    assert tops[0] is not None
    assert tops[1] is not None
    assert (tops[0]["y"] == tops[1]["y"]) == (width > 1000), "beside each other where there is room, else below each other"
    assert "never authorises" in one.page.inner_text("aside.caution")
    one.shot(f"what-if-compared-{width}")
    assert one.complaints == []


def test_differences_are_told_without_colour(rows: Farm, visitor: Make) -> None:
    row = solved(rows, CLOSED)
    one = visitor()
    one.log_in("planner")
    one.open(f"/what-if/?what_if={row.pk}")
    cells = one.page.locator("[aria-label='Figures side by side, table'] tbody td:nth-child(3) .quiet").all_inner_texts()
    assert cells
    assert all(cell == "same" or cell[0] in "+−" for cell in cells)
    marks = one.page.evaluate("[...document.querySelectorAll('.state')].map(mark => mark.innerText.trim())")
    assert all(len(words.split()) >= 2 for words in marks), marks


def test_on_paper_both_timelines_and_no_forms(rows: Farm, visitor: Make) -> None:
    row = solved(rows, CLOSED)
    one = visitor(1000)
    one.log_in("planner")
    one.page.emulate_media(media="print")
    one.open(f"/what-if/?what_if={row.pk}")
    seen = one.page.evaluate(
        "[...document.querySelectorAll('button, select, .lull-pages')].filter(one => one.offsetParent).length"
    )
    assert seen == 0
    boxes = [box.bounding_box() for box in one.page.locator(".beside svg.drawing").all()]
    assert all(box is not None and box["x"] + box["width"] <= 1000 for box in boxes)
    assert "HILL H1 closed" in one.page.inner_text("main")
    one.shot("what-if-paper")


def test_a_refusal_lists_the_rows_to_change_and_the_keyboard_reaches_it(rows: Farm, visitor: Make) -> None:
    rows.people["Ben"].absences.create(first_day=scenes.FIRST, last_day="2026-06-12")
    row = solved(rows, HIRED, {"kind": "person away", "person": "Cleo", "days": ["2026-06-10", "2026-06-11"]})
    one = visitor()
    one.log_in("planner")
    one.open(f"/what-if/?what_if={row.pk}")
    one.page.focus("text=Publish this what-if")
    one.page.keyboard.press("Enter")
    one.page.wait_for_selector("[aria-label='What to change first']")
    assert "enter Eve as a technician" in one.page.inner_text("[aria-label='What to change first']")
    assert WhatIf.objects.get().state == "open"
    one.shot("what-if-refused")
