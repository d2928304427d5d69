"""What a round says of itself to members of some of its sites."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from planner.models import Site
from scheduling.models import Round, Run
from scheduling.year.explain import warnings_of
from scheduling.year.problem import problem_from_json

NOT_READ = "This round was made by an older version, so its warnings are not told for single sites: make a new one."


def round_about(made: Round, *, sites: Iterable[Site]) -> dict[str, Any]:
    """The round's `about` for a member of these sites. What names items names only theirs; sums are those of the whole base.

    One more query, and the run's problem read, where the base has other sites too.
    """
    own = list(sites)
    if not Site.objects.filter(base_id=made.base_id).exclude(pk__in=[site.pk for site in own]).exists():
        return dict(made.about)
    stored: Any = Run.objects.only("problem").get(pk=made.run_id).problem
    problem = _of_sites(stored, {site.code for site in own})
    ids = {item["id"] for item in problem["items"]}
    told = dict(made.about)
    if "met_share" in told:
        told["met_share"] = {item: share for item, share in told["met_share"].items() if item in ids}
    if told.get("warnings"):
        told["warnings"] = _warnings(problem)
    return told


def _of_sites(problem: dict[str, Any], codes: set[str]) -> dict[str, Any]:
    """A stored problem with the items of these sites only."""
    turbines = {one["id"] for one in problem.get("turbines", ()) if one["site"] in codes}
    items = [item for item in problem.get("items", ()) if item["turbine"] in turbines]
    return {**problem, "items": items, "together": []}


def _warnings(problem: dict[str, Any]) -> list[str]:
    try:
        return list(warnings_of(problem_from_json(problem)))
    except ValueError:
        return [NOT_READ]
