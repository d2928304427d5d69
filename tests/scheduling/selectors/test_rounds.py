"""A round of a shared base names to each only what is theirs."""

from __future__ import annotations

from datetime import date

import pytest

from planner.models import Base, Site
from scheduling.builders.round import round_problem
from scheduling.models import Round, Run
from scheduling.selectors.rounds import NOT_READ, round_about
from scheduling.year.problem import problem_to_json
from tests.farm import Farm

MONDAY = date(2026, 6, 8)


@pytest.fixture
def shared(farm: Farm) -> Round:
    """A round of base North, which PLAIN shares; the lift inspections of H1 and P1 are past their close."""
    Site.objects.filter(pk=farm.plain.pk).update(base=farm.north)
    problem = round_problem(base=farm.north, first_day=MONDAY, weeks=13)
    share = {item.id: 1.0 for item in problem.items}
    stored = problem_to_json(problem)
    for item in stored["items"]:
        if item["turbine"] in ("HILL H1", "PLAIN P1") and item["statutory"]:
            item.update(closes=-1, due=-1, opens=-2)
    about = {"met_share": share, "lost_mwh_mean": 41.5, "warnings": ["All of them, HILL H1 and PLAIN P1."]}
    run = Run.objects.create(base=farm.north, kind="year", state="done", first_day=MONDAY, days=91, problem=stored)
    return Round.objects.create(base=farm.north, run=run, first_day=MONDAY, last_day=MONDAY, about=about)


def test_a_member_of_one_site_reads_of_its_own_items_only(farm: Farm, shared: Round) -> None:
    for site, own, other in ((farm.hill, "H1", "P1"), (farm.plain, "P1", "H1")):
        about = round_about(shared, sites=[site])
        assert about["met_share"], "own items are told"
        assert {item.split()[0] for item in about["met_share"]} == {site.code}
        past = " ".join(about["warnings"])
        assert "past" in past
        assert own in past
        assert other not in past
        assert about["lost_mwh_mean"] == 41.5
    assert len(shared.about["met_share"]) > len(about["met_share"]), "the row itself stays whole"


def test_a_member_of_all_its_sites_reads_all(farm: Farm, shared: Round) -> None:
    assert round_about(shared, sites=[farm.hill, farm.plain]) == shared.about


def test_an_own_base_is_read_as_it_stands(farm: Farm, shared: Round) -> None:
    Site.objects.filter(pk=farm.plain.pk).update(base=Base.objects.get(name="South"))
    assert round_about(shared, sites=[farm.hill]) == shared.about


def test_a_problem_of_an_older_version_is_said_and_nothing_leaks(farm: Farm, shared: Round) -> None:
    Run.objects.filter(pk=shared.run_id).update(problem={"colour": "red"})
    about = round_about(shared, sites=[farm.plain])
    assert (about["warnings"], about["met_share"]) == ([NOT_READ], {})


def test_nothing_to_warn_of_stays_nothing(farm: Farm, shared: Round) -> None:
    shared.about = {"weeks": []}
    assert round_about(shared, sites=[farm.plain]) == {"weeks": []}
