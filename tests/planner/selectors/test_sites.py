"""Membership decides what a user sees."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser, User

from planner.models import Membership
from planner.selectors.sites import role_at, roles_of, sites_for
from tests.farm import Farm


def test_a_member_sees_their_sites_only(farm: Farm, technician_user: User, stranger: User) -> None:
    assert list(sites_for(technician_user)) == [farm.hill]
    assert list(sites_for(stranger)) == [farm.plain]
    assert role_at(technician_user, farm.hill) == "technician"
    assert role_at(stranger, farm.hill) == ""
    assert roles_of(stranger) == {farm.plain.pk: "planner"}


def test_two_memberships_two_roles(farm: Farm, stranger: User) -> None:
    Membership.objects.create(user=stranger, site=farm.hill, role="viewer")
    assert roles_of(stranger) == {farm.plain.pk: "planner", farm.hill.pk: "viewer"}
    assert set(sites_for(stranger)) == {farm.hill, farm.plain}


def test_a_superuser_is_planner_everywhere(farm: Farm) -> None:
    chief = User.objects.create_superuser("chief", password="lull")
    assert set(sites_for(chief)) == {farm.hill, farm.plain}
    assert role_at(chief, farm.plain) == "planner"
    assert roles_of(chief) == {farm.hill.pk: "planner", farm.plain.pk: "planner"}


@pytest.mark.parametrize("superuser", [False, True])
def test_who_may_not_log_in_sees_nothing(farm: Farm, superuser: bool) -> None:
    gone = User.objects.create_user("gone", is_active=False, is_superuser=superuser)
    Membership.objects.create(user=gone, site=farm.hill, role="planner")
    for user in (gone, AnonymousUser()):
        assert not sites_for(user).exists()
        assert role_at(user, farm.hill) == ""
        assert roles_of(user) == {}
