"""Random small problems whose turbines lie far from the base, with lodgings near them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from scheduling.fortnight.problem import Lodging, Order, Person, Problem


def with_lodgings(seed: int, problem: Problem) -> Problem:
    """The problem with slow roads, dear hours on them, one climb a day, lodgings near turbines and vehicles that seat anybody."""
    rng, days = np.random.default_rng([seed, 83]), tuple(range(len(problem.days)))
    near = [problem.turbines[int(i)] for i in rng.integers(0, len(problem.turbines), int(rng.integers(1, 3)))]
    inns = tuple(
        Lodging(
            f"inn {i}", one.x_km + 1, one.y_km - float(rng.integers(0, 3)), int(rng.integers(2, 5)), int(rng.integers(0, 9_000))
        )
        for i, one in enumerate(near)
    )
    return replace(
        problem,
        speed_kmh=float(rng.choice([15, 20, 30])),
        orders=tuple(_worth_a_night(order, days) for order in problem.orders),
        people=tuple(_always(person, days, i < 3) for i, person in enumerate(problem.people)),
        vehicles=tuple(replace(van, seats=4) for van in problem.vehicles),
        lodgings=inns,
        rules=replace(problem.rules, nights_in_row=int(rng.choice([1, 4])), climbs_a_day=1, rest_min=660),
        weights=replace(problem.weights, travel_per_person_min=150),
        published=(),
    )


def _worth_a_night(order: Order, days: tuple[int, ...]) -> Order:
    modes = tuple(replace(mode, team=2) for mode in order.modes[:1])
    return replace(order, pins=(), crew=(), days=days, left_out_cost=order.left_out_cost + 300_000, modes=modes)


def _always(person: Person, days: tuple[int, ...], there: bool) -> Person:
    """Fit every day, or never there, so that there is one team at most."""
    return replace(person, learner=False, fit_days=days, rescue_days=days, shifts=person.shifts if there else ())
