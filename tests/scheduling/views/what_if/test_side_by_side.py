"""The page What if: plans side by side."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from scheduling.fortnight.plan import plan_to_json
from scheduling.models import Plan, Run
from tests.farm import Farm
from tests.page_rows import build_plan, client_of, words_of
from tests.scheduling.services import scenes
from tests.scheduling.services.what_ifs.scenes import BY_HAND, CLOSED, solved, what_if
from tests.scheduling.views.what_if.scenes import PAGE, another_site, page


def test_side_by_side_with_the_published_plan(rows: Farm, told: Plan, viewer_user: User) -> None:
    row = solved(rows, CLOSED)
    response = client_of(viewer_user).get(f"{PAGE}?base={rows.north.pk}&what_if={row.pk}")
    words = words_of(response)
    assert "Side by side" in words
    assert row.result is not None
    assert f"Cost, each at its own prices EUR {told.value:,.0f} EUR {row.result.value:,.0f} − EUR" in words
    assert f"less wind against plan {told.pk}" in words
    assert "W-1: from Wed 10 Jun, 08:30 to Thu 11 Jun" in words
    assert "new : W-2: new on" in words
    assert "Orders planned 1 2 + 1" in words
    assert f"plan {told.pk} W-2 W-2 left out: No room." in words
    assert "Nothing is late." in words
    assert "Wed 10 Jun 2026 HILL H1 08:30 to 11:00, 100 % W-1 Ada, Ben" in words
    assert response.content.decode().count('class="drawing"') == 2
    assert "never authorises" in words
    assert "Publish this what-if" not in words, "a viewer looks"


def test_three_side_by_side_and_two_what_ifs(rows: Farm, told: Plan, viewer_user: User) -> None:
    one, other = solved(rows, CLOSED), solved(rows, BY_HAND, name="without W-2")
    words = page(viewer_user, one, f"&of=published&of=what-if-{one.pk}&of=what-if-{other.pk}")
    assert "without W-2 against plan" in words
    assert "W-2 Change a lamp, H2 left out: Left out by hand in this what-if." in words
    words = page(viewer_user, one, f"&of=what-if-{one.pk}&of=what-if-{other.pk}")
    assert "without W-2 against less wind" in words


@pytest.mark.parametrize(
    ("of", "status", "sentence"),
    [
        (("published", "draft"), 400, "North has no newer draft"),
        (("published",), 400, "1 different plans are named: give 2 or 3 of published, draft"),
        (("published", "published"), 400, "1 different plans are named"),
        (("published", "moon"), 400, "'moon' names no plan"),
        (("published", "plan-999"), 400, "There is no plan 999 of North, or not for you"),
        (("published", "what-if-999"), 400, "There is no what-if 999 of North"),
    ],
)
def test_what_cannot_be_compared_is_said(
    of: tuple[str, ...], status: int, sentence: str, rows: Farm, told: Plan, viewer_user: User
) -> None:
    response = client_of(viewer_user).get(PAGE, {"base": rows.north.pk, "of": list(of)})
    assert response.status_code == status
    assert sentence in words_of(response)


def test_an_unsolved_one_and_a_plan_without_its_problem_cannot_be_compared(rows: Farm, viewer_user: User) -> None:
    row, old = what_if(rows), build_plan(rows)
    for key, sentence in (
        (f"what-if-{row.pk}", "has no plan for its changes as they stand"),
        (f"plan-{old.pk}", "is not stored in full"),
    ):
        response = client_of(viewer_user).get(PAGE, {"base": rows.north.pk, "of": [f"plan-{old.pk}", key, "published"]})
        assert sentence in words_of(response)
        assert response.status_code in (400, 409)


def test_visits_and_orders_of_other_sites_are_not_named(rows: Farm, told: Plan) -> None:
    made = scenes.good_plan()
    run = scenes.run(rows, state="done", best=plan_to_json(made), bound=1.0)
    old = build_plan(rows, state="superseded")
    Plan.objects.filter(pk=old.pk).update(run=run)
    guest = another_site(rows)
    response = client_of(guest).get(PAGE, {"base": rows.north.pk, "of": ["published", f"plan-{old.pk}"]})
    words = words_of(response)
    assert "Side by side" in words
    assert "W-1" not in response.content.decode()
    assert "W-2" not in response.content.decode()
    assert "No visit differs." in words


def test_without_any_plan_its_own_is_shown_alone(rows: Farm, viewer_user: User) -> None:
    words = page(viewer_user, solved(rows, CLOSED))
    assert "Its plan" in words
    assert "HILL H1 " in words
    assert "against" not in words


def test_a_difference_that_a_longer_search_could_turn_is_called_unproven(rows: Farm, told: Plan, viewer_user: User) -> None:
    row = solved(rows, CLOSED)
    assert row.result is not None
    unproven = "The difference in cost proves nothing yet"
    Run.objects.filter(pk=told.run_id).update(bound=told.value)
    assert unproven not in page(viewer_user, row)
    Run.objects.filter(pk=told.run_id).update(bound=row.result.value - 1)
    assert unproven in page(viewer_user, row)
    Run.objects.filter(pk=told.run_id).update(bound=None)
    assert unproven in page(viewer_user, row)
    assert "Proven least unknown EUR" in page(viewer_user, row)
