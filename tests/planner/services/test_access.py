"""A refusal says whom to ask."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User

from planner.errors import NotAllowedError
from planner.services.access import require_role
from tests.farm import Farm


def test_the_role_comes_back(farm: Farm, lead_user: User) -> None:
    assert require_role(user=lead_user, site=farm.hill, roles=("planner", "lead")) == "lead"


def test_another_role_is_told_whom_to_ask(farm: Farm, viewer_user: User) -> None:
    with pytest.raises(NotAllowedError, match="A viewer may not do this at Hillside; ask a planner or lead"):
        require_role(user=viewer_user, site=farm.hill, roles=("planner", "lead"))


def test_a_stranger_does_not_learn_the_sites_name(farm: Farm, stranger: User) -> None:
    for user in (stranger, None):
        with pytest.raises(NotAllowedError) as refusal:
            require_role(user=user, site=farm.hill, roles=("planner",))
        assert "Hillside" not in refusal.value.message
        assert "no role" in refusal.value.message
