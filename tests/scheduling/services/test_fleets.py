"""A fleet is begun over many bases, its parts end each in their own way, and it is summed up and checked as one."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from planner.errors import ConflictError, NotAllowedError, PlannerError
from planner.models import Base, Equipment, Part, ProcedureEquipment, ProcedurePart
from scheduling import solvers
from scheduling.builders import fortnight as builder
from scheduling.models import Fleet, Plan, Run
from scheduling.selectors.fleets import fleet_parts, sums_of
from scheduling.services import fleets, runs
from tests.farm import NOW, TODAY, Farm
from tests.scheduling.services import scenes
from workorders.models import Order


@pytest.fixture
def south(rows: Farm) -> Base:
    """The base of PLAIN, with one order of its own and no forecast."""
    Order.objects.create(
        number="P-1", turbine=rows.p1, procedure=rows.procedures["lamp"], origin="hand", klass="minor", state="prepared",
        due_on=TODAY, effort_left_h=4,
    )  # fmt: skip
    return rows.plain.base


def begun(**more: Any) -> Fleet:
    """A fleet over every base, asked for from the command line."""
    asked: dict[str, Any] = {"first_day": scenes.FIRST, "days": 2, "by": None, "params": {"time_limit_s": 20}, **more}
    return fleets.fleet_create(**asked)


def part(fleet: Fleet, base: Base) -> Run:
    """The run of a base."""
    return Run.objects.get(fleet=fleet, base=base)


def carried_out(fleet: Fleet) -> Fleet:
    """The fleet after a worker has carried out what is queued, follower after follower."""
    waiting = list(Run.objects.filter(fleet=fleet, follows=None).order_by("pk"))
    while waiting:
        run = waiting.pop(0)
        runs.run_execute(run_id=run.pk, worker="test")
        waiting += fleets.fleet_go_on(run_id=run.pk)
    fleet.refresh_from_db()
    return fleet


def short_crane(farm: Farm) -> None:
    """Every lamp of every base asks for the one crane of North."""
    ProcedureEquipment.objects.create(procedure=farm.procedures["lamp"], equipment=Equipment.objects.get(name="crane"))


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch, table: Callable[[Any], None]) -> list[str]:
    """The scene's problem for every base with a plan by hand; names the bases in the order in which problems were built."""
    bases: list[str] = []

    def build(**asked: Any) -> Any:
        bases.append(asked["base"].name)
        return scenes.problem()

    monkeypatch.setattr(builder, "fortnight_problem", build)
    table(scenes.gives(scenes.result(scenes.good_plan())))
    return bases


def test_a_fleet_is_one_queued_run_a_base_and_builds_nothing_yet(rows: Farm, south: Base, built: list[str]) -> None:
    fleet = begun(seed=7)
    parts = list(fleet.parts.order_by("base__name"))
    assert [(run.base, run.state, run.problem, run.follows) for run in parts] == [
        (rows.north, "queued", None, None),
        (south, "queued", None, None),
    ]
    assert {(run.first_day, run.days, run.seed, run.params["time_limit_s"]) for run in parts} == {(scenes.FIRST, 2, 7, 20.0)}
    assert (fleet.state, fleet.joined_by, built) == ("open", [], [])


@pytest.mark.django_db(transaction=True)
def test_real_parts_a_failed_one_loses_nothing(rows: Farm, south: Base) -> None:
    """North is built from its rows and solved; South has no forecast and says so."""
    fleet = carried_out(begun(params={"time_limit_s": 5}))
    north, failed = part(fleet, rows.north), part(fleet, south)
    assert (north.state, failed.state) == ("done", "failed")
    assert north.problem is not None
    assert "Plainfield has no forecast: import one" in failed.text
    assert failed.problem is None
    assert Plan.objects.get(run=north).visits.count() == 2
    assert (fleet.state, fleet.clashes, fleet.shared) == ("done", [], [])
    assert fleet.text == "1 of 2 parts came to a plan; 1 did not and say why. Checked as one: the plans share nobody and nothing."
    assert fleet.outcome["states"] == {"done": 1, "failed": 1}
    assert (fleet.outcome["planned"], fleet.outcome["left_out"], fleet.outcome["failed"]) == (2, 0, 1)
    assert fleet.outcome["money"] == [
        {"currency": "EUR", "parts": 1, "value": north.value, "bound": north.bound, "gap": pytest.approx(north.gap)}
    ]


@pytest.mark.django_db(transaction=True)
def test_a_part_keeps_to_one_core(rows: Farm, south: Base, built: list[str], table: Callable[[Any], None]) -> None:
    threads: list[int] = []

    def solve(task: Any, limits: solvers.Limits, *_: Any) -> Any:
        threads.append(limits.threads)
        return scenes.result(scenes.good_plan())

    table(scenes.solver(solve))
    runs.run_execute(run_id=part(begun(), rows.north).pk, worker="test")
    runs.run_execute(run_id=scenes.run(rows).pk, worker="test")
    assert threads == [1, 2]


@pytest.mark.django_db(transaction=True)
def test_bases_that_share_a_short_thing_follow_one_another(rows: Farm, south: Base, built: list[str]) -> None:
    short_crane(rows)
    fleet = begun()
    first, second = part(fleet, rows.north), part(fleet, south)
    assert fleet.joined_by == [{"bases": ["North", "South"], "by": ["crane"]}]
    assert (first.follows, second.follows) == (None, first)
    assert runs.run_claim(run_id=second.pk, worker="early") is None
    assert fleets.fleet_go_on(run_id=second.pk) == []
    runs.run_execute(run_id=first.pk, worker="test")
    assert fleets.fleet_go_on(run_id=first.pk) == [second]
    assert built == ["North"]
    assert runs.run_claim(run_id=second.pk, worker="in turn") is not None


@pytest.mark.parametrize(("stock", "groups"), [(3, []), (2, [{"bases": ["North", "South"], "by": ["oil filter (filter)"]}])])
def test_parts_join_bases_only_where_there_are_too_few(stock: int, groups: list[Any], rows: Farm, south: Base) -> None:
    ProcedurePart.objects.create(procedure=rows.procedures["lamp"], part=Part.objects.get(code="filter"))
    Part.objects.filter(code="filter").update(stock=stock)
    assert begun().joined_by == groups


def test_no_sum_of_bounds_is_proven_where_parts_follow_one_another(rows: Farm, south: Base, built: list[str]) -> None:
    short_crane(rows)
    fleet = begun()
    Run.objects.filter(fleet=fleet).update(value=10.0, bound=8.0)
    found = {one.currency: (one.value, one.bound) for one in sums_of(fleet_parts(fleet)).money}
    assert found == {"EUR": (10.0, 8.0), "AUD": (10.0, None)}


@pytest.mark.django_db(transaction=True)
def test_the_last_part_closes_the_fleet_once(rows: Farm, south: Base, built: list[str]) -> None:
    fleet = begun()
    runs.run_execute(run_id=part(fleet, rows.north).pk, worker="test")
    assert not fleets.fleet_close(fleet_id=fleet.pk)
    Run.objects.filter(base=south).update(state="lost")
    assert fleets.fleet_close(fleet_id=fleet.pk)
    assert not fleets.fleet_close(fleet_id=fleet.pk)
    fleet.refresh_from_db()
    assert (fleet.state, fleet.outcome["ended"], fleet.outcome["failed"]) == ("done", 2, 1)


def test_without_any_plan_it_says_so(rows: Farm, south: Base) -> None:
    fleet = begun()
    Run.objects.filter(fleet=fleet).update(state="failed")
    assert [one.pk for one in fleets.fleets_recover()] == [fleet.pk]
    fleet.refresh_from_db()
    assert fleet.text == "No part came to a plan: each says why."


def test_nothing_to_plan_is_no_failure(rows: Farm, south: Base) -> None:
    fleet = begun()
    Run.objects.filter(fleet=fleet, base=south).update(state="done", text="There was nothing to plan in these days.")
    Run.objects.filter(fleet=fleet, base=rows.north).update(state="lost")
    sums = sums_of(fleet_parts(fleet))
    assert (sums.failed, sums.without_plan, sums.ended) == (1, 2, 2)


@pytest.mark.django_db(transaction=True)
def test_plans_that_use_something_twice_are_told(rows: Farm, south: Base, built: list[str]) -> None:
    """Both parts are given the same people by hand; no builder would do that."""
    fleet = carried_out(begun())
    twin = Plan.objects.get(run=part(fleet, rows.north))
    run = part(fleet, south)
    copy = Plan.objects.create(base=south, run=run, first_day=twin.first_day, last_day=twin.last_day, value=1.0, bound=1.0)
    for visit in twin.visits.all():
        people = list(visit.people.all())
        visit.pk, visit.plan = None, copy
        visit.save()
        visit.people.set(people)
    Fleet.objects.update(state="open")
    assert fleets.fleet_close(fleet_id=fleet.pk)
    fleet.refresh_from_db()
    assert fleet.shared == ["Ada", "Ben", "van 1"]
    assert "Ada is planned twice on 2026-06-10: by North and South." in fleet.clashes
    assert "do not publish them all" in fleet.text


class TestStop:
    def test_waiting_parts_end_at_once_and_the_fleet_with_them(self, rows: Farm, south: Base) -> None:
        fleet = fleets.fleet_stop(fleet=begun(), by=None)
        assert fleet.state == "stopped"
        assert {(run.state, run.text) for run in fleet.parts.all()} == {
            ("stopped", "Stopped before a worker began it: there is no plan.")
        }
        with pytest.raises(ConflictError, match="has ended already"):
            fleets.fleet_stop(fleet=fleet, by=None)

    def test_a_part_that_solves_is_asked_and_keeps_its_plan(
        self, rows: Farm, south: Base, built: list[str], table: Callable[[Any], None]
    ) -> None:
        fleet = begun()
        claimed = runs.run_claim(run_id=part(fleet, rows.north).pk, worker="test")
        assert claimed is not None
        fleets.fleet_stop(fleet=fleet, by=None)
        claimed.refresh_from_db()
        assert (claimed.state, claimed.stop_asked, part(fleet, south).state) == ("solving", True, "stopped")
        fleet.refresh_from_db()
        assert fleet.state == "open"
        Run.objects.filter(pk=claimed.pk).update(state="stopped")
        fleets.fleet_go_on(run_id=claimed.pk)
        fleet.refresh_from_db()
        assert fleet.state == "stopped"

    def test_it_takes_the_planner_of_every_base(self, rows: Farm, south: Base, planner_user: User) -> None:
        fleet = begun()
        with pytest.raises(NotAllowedError, match="every site of South"):
            fleets.fleet_stop(fleet=fleet, by=planner_user)
        assert fleet.parts.filter(state="queued").count() == 2


class TestWho:
    def test_a_planner_begins_their_own_bases_only(self, rows: Farm, south: Base, planner_user: User) -> None:
        assert [run.base for run in begun(by=planner_user).parts.all()] == [rows.north]

    def test_somebody_elses_base_is_refused_and_nothing_begun(self, rows: Farm, south: Base, planner_user: User) -> None:
        with pytest.raises(NotAllowedError, match="every site of South"):
            begun(by=planner_user, bases=[rows.north, south])
        assert not Fleet.objects.exists()

    def test_who_plans_nothing_begins_nothing(self, rows: Farm, viewer_user: User) -> None:
        with pytest.raises(PlannerError, match="no base whose every site you plan"):
            begun(by=viewer_user)


def test_a_base_that_is_being_solved_is_named_and_nothing_is_begun(rows: Farm, south: Base) -> None:
    run = scenes.run(rows)
    with pytest.raises(ConflictError, match="being solved for North already") as refused:
        begun()
    assert refused.value.extra == {"runs": [run.pk]}
    assert not Fleet.objects.exists()
    assert [one.base for one in begun(bases=[south]).parts.all()] == [south]


@pytest.mark.parametrize(
    ("wrong", "field"), [({"days": 0}, "days"), ({"params": {"colour": 1}}, "params"), ({"bases": []}, "bases")]
)
def test_what_cannot_be_solved_is_refused(wrong: dict[str, Any], field: str, rows: Farm) -> None:
    with pytest.raises(PlannerError) as refused:
        begun(**wrong)
    assert refused.value.field == field
    assert not Fleet.objects.exists()


class TestSweep:
    """A part that waits for its turn is not forgotten; one whose message was lost is."""

    LATER = NOW + timedelta(seconds=61)

    def test_while_another_part_is_solved_nobody_is_sent_again(self, rows: Farm, south: Base) -> None:
        fleet = begun()
        Run.objects.filter(base=south).update(state="solving", attempt=1, beat_at=self.LATER)
        assert runs.runs_recover(now=self.LATER) == []
        assert part(fleet, rows.north).state == "queued"

    def test_an_idle_fleet_is_sent_again(self, rows: Farm, south: Base) -> None:
        fleet = begun()
        Run.objects.filter(base=south).update(state="done", ended_at=NOW)
        assert [run.base for run in runs.runs_recover(now=self.LATER)] == [rows.north]
        assert fleet.parts.count() == 2

    def test_a_part_in_turn_is_never_sent_early(self, rows: Farm, south: Base) -> None:
        short_crane(rows)
        begun()
        assert [run.base for run in runs.runs_recover(now=self.LATER)] == [rows.north]

    def test_a_last_part_that_is_lost_lets_the_fleet_end(self, rows: Farm, south: Base) -> None:
        fleet = begun()
        Run.objects.filter(base=rows.north).update(state="done", ended_at=NOW)
        Run.objects.filter(base=south).update(state="solving", attempt=2, beat_at=timezone.now())
        assert runs.runs_recover(now=self.LATER) == []
        assert [one.pk for one in fleets.fleets_recover()] == [fleet.pk]
        assert part(fleet, south).state == "lost"
