"""Order numbers are free, run on, and are given once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
from itertools import islice
from threading import Barrier

import pytest
from django.contrib.auth.models import User
from django.db import connection, transaction

from planner.models import Site, Turbine
from tests.farm import TODAY, Farm, build_farm, build_user
from workorders.models import Order
from workorders.services.numbers import free_numbers
from workorders.services.orders import order_raise_by_hand


def put(farm: Farm, number: str) -> None:
    Order.objects.create(
        number=number,
        turbine=farm.h1,
        procedure=farm.procedures["lamp"],
        origin="hand",
        klass="minor",
        due_on=TODAY,
        effort_left_h=1,
    )


def test_they_run_on_past_four_digits_and_start_anew_each_year(farm: Farm) -> None:
    for number in ("HILL-26-0002", "HILL-26-9999", "HILL-26-10000", "HILL-25-0077"):
        put(farm, number)
    assert list(islice(free_numbers(farm.hill, TODAY), 2)) == ["HILL-26-10001", "HILL-26-10002"]
    assert next(free_numbers(farm.hill, date(2027, 1, 1))) == "HILL-27-0001"


def test_other_texts_and_other_sites_do_not_count(farm: Farm) -> None:
    # A site whose code begins like ours, other letter case, and a number somebody typed.
    for number in ("HILL-26-26-0500", "hill-26-0400", "HILL-26-x0300", "PLAIN-26-0200"):
        put(farm, number)
    assert next(free_numbers(farm.hill, TODAY)) == "HILL-26-0001"


def test_a_turbine_that_changed_its_site_keeps_its_numbers_taken(farm: Farm) -> None:
    put(farm, "HILL-26-0001")
    farm.h1.site = farm.plain
    farm.h1.save()
    assert next(free_numbers(farm.hill, TODAY)) == "HILL-26-0002"


@pytest.mark.django_db(transaction=True)
def test_outside_a_transaction_there_is_no_lock_and_so_no_number(now: datetime) -> None:
    farm = build_farm()
    with pytest.raises(RuntimeError, match="outside a transaction"):
        free_numbers(farm.hill, TODAY)
    with transaction.atomic():
        assert next(free_numbers(farm.hill, TODAY)) == "HILL-26-0001"


@pytest.mark.django_db(transaction=True)
def test_eight_orders_by_hand_at_once_get_eight_numbers(now: datetime) -> None:
    farm = build_farm()
    planner, ready = build_user("planner", "planner", farm.hill), Barrier(8, timeout=20)

    def one(_: int) -> str:
        try:
            turbine, user = Turbine.objects.get(pk=farm.h1.pk), User.objects.get(pk=planner.pk)
            ready.wait()
            return order_raise_by_hand(turbine=turbine, procedure=farm.procedures["lamp"], due_on=TODAY, by=user).number
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        assert sorted(pool.map(one, range(8))) == [f"HILL-26-{n:04}" for n in range(1, 9)]
    assert Site.objects.count() == 2
