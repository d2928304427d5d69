from __future__ import annotations

from django.contrib.auth.models import User

from scheduling.models import ErrorFit
from tests import page_rows
from tests.admin_forms import address, send
from tests.admin_rows import grow, staff
from tests.farm import Farm


def test_a_fit_is_looked_at_and_taken_out_of_use(farm: Farm, planner_user: User, viewer_user: User) -> None:
    fit = grow(farm, ErrorFit, 7, 1)[0]
    where = address(ErrorFit, "change", fit.pk)
    client = staff(planner_user)
    assert "fitted to 7 forecasts" in page_rows.words_of(client.get(where))
    assert client.get(address(ErrorFit, "add")).status_code == 403
    assert send(client, where, in_use="", pairs="99").status_code in (200, 302)
    sent = client.post(where, {})
    assert sent.status_code == 302, sent.status_code
    fit.refresh_from_db()
    assert not fit.in_use
    assert fit.pairs == 7
    assert staff(viewer_user).post(where, {"in_use": "on"}).status_code == 403
