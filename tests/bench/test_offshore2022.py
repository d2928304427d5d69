"""The evaluator of the sea instances by hand and against the published results; the replanner against the evaluator.

Source of the published rows: see tests/bench/offshore2022 (IEEE Transactions on Sustainable Energy 13(1), 2022, case study I).
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.bench.bench_offshore2022 import run
from tests.bench.offshore2022 import data
from tests.bench.offshore2022.data import JOBS, Job, Sea, published, read_sea
from tests.bench.offshore2022.evaluate import Schedule, evaluate
from tests.bench.offshore2022.replan import plan, replan
from tests.shared import shared_path

HOURS = 24 * data.DAYS


def calm(mwh: float = 1.0) -> Sea:
    """Workable in every hour; each turbine would make so much an hour."""
    shape = (HOURS, data.TURBINES)
    return Sea(np.full(shape, 5.0), np.full(HOURS, 1.0), np.full(shape, mwh))


def in_time() -> Schedule:
    """Every foreseen job on the day before its failure, surprises on their day, all at 05."""
    return {job: (job.fails if job.surprise else job.fails - 1, 5) for job in JOBS}


def test_a_schedule_costed_by_hand() -> None:
    cost = evaluate(calm(), 0, in_time())
    assert cost.violations == []
    assert cost.stood_hours == 12 * 8
    assert cost.parts == {"jobs": 10 * 4000 + 2 * 16_000, "crews": 12 * 2000, "vessel": 12 * 2500, "lost energy": 96 * 80}


def test_a_late_job_stands_from_the_midnight_of_its_failure() -> None:
    schedule = in_time()
    schedule[JOBS[9]] = (52, 7)  # fails on day 50: two whole days, seven hours and the job
    cost = evaluate(calm(), 0, schedule)
    assert cost.stood_hours == 11 * 8 + 48 + 7 + 8
    assert cost.parts["jobs"] == 9 * 4000 + 3 * 16_000
    schedule[JOBS[9]] = (50, 7)  # on the day itself: the dear price, no standing before
    assert evaluate(calm(), 0, schedule).stood_hours == 96


def test_two_jobs_on_one_day_share_the_vessel() -> None:
    schedule = in_time() | {JOBS[1]: (4, 12)}
    assert evaluate(calm(), 0, schedule).parts["vessel"] == 11 * 2500


def with_job(job: Job, day: int, hour: int) -> list[str]:
    return evaluate(rough(), 0, in_time() | {job: (day, hour)}).violations


def rough() -> Sea:
    """Day 1 blows at noon on turbine 2; the waves of day 2 are too high; day 3 lies at the limits, which still hold."""
    sea = calm()
    sea.wind_mps[24 + 12, 1] = 15.01
    sea.wave_m[48:72] = 1.51
    sea.wind_mps[72:96], sea.wave_m[72:96] = 15.0, 1.5
    return sea


def test_every_rule_is_seen() -> None:
    assert "outside its window" in with_job(JOBS[1], 1, 5)[0]
    assert with_job(JOBS[0], 1, 5) == []  # another turbine's wind
    assert "outside its window" in with_job(JOBS[0], 2, 12)[0]
    assert with_job(JOBS[0], 3, 5) == []
    assert "starts outside" in with_job(JOBS[0], 3, 13)[0]
    assert "starts outside" in with_job(JOBS[0], 3, 4)[0]
    assert "before anybody knows" in with_job(JOBS[10], 16, 5)[0]
    assert "two jobs at once on turbine 0" in with_job(JOBS[0], 17, 6)[0]
    three = evaluate(calm(), 0, in_time() | {JOBS[1]: (4, 5), JOBS[2]: (4, 5)}).violations
    assert any("3 jobs at once" in text for text in three)
    assert any("3 jobs on day 4" in text for text in three)
    missing = in_time()
    del missing[JOBS[3]]
    assert "is not planned" in evaluate(calm(), 0, missing).violations[0]


def test_in_calm_weather_pairs_go_out_together() -> None:
    schedule = replan(calm(), 0)
    cost = evaluate(calm(), 0, schedule)
    assert cost.violations == []
    assert cost.parts["vessel"] <= 7 * 2500  # five pairs; each surprise by itself unless an open job rides along
    assert cost.value - cost.parts["vessel"] == 72_000 + 24_000 + 96 * 80


def test_the_plan_is_the_cheapest_of_all_for_two_jobs() -> None:
    rng = np.random.default_rng(3)
    sea = Sea(rng.uniform(0, 20, (HOURS, 10)), rng.uniform(0, 1.8, HOURS), rng.uniform(0, 12, (HOURS, 10)))
    sea.wind_mps[:, :2] = np.repeat(rng.choice([6.0, 20.0], (data.DAYS, 2)), 24, axis=0)
    sea.wave_m[:] = 1.0
    jobs = [Job(0, 2), Job(1, 3)]
    found = evaluate(sea, 0, plan(sea, 0, jobs, 0)).value
    options = [(day, hour) for day in range(8) for hour in range(5, 13)]
    tried = (evaluate(sea, 0, {jobs[0]: a, jobs[1]: b}) for a in options for b in options)
    missing = len(JOBS)
    assert found == pytest.approx(min(cost.value for cost in tried if len(cost.violations) == missing))


@pytest.fixture
def instances() -> None:
    """Skip where the instances are not here."""
    shared_path("bench/offshore2022")


@pytest.mark.usefixtures("instances")
@pytest.mark.parametrize("start", data.STARTS)
def test_published_costs_follow_from_published_counts(start: int) -> None:
    row = published()[start]
    known = data.BEFORE * row.before + data.AFTER * row.after + data.CREW_HOUR * data.JOB_HOURS * 12
    assert row.cost == pytest.approx(known + data.VESSEL_DAY * row.vessel_booked + data.MWH * row.lost_mwh, abs=1.0)


@pytest.mark.usefixtures("instances")
@pytest.mark.parametrize("start", data.matched())
def test_published_standstill_is_the_first_window_after_each_surprise(start: int) -> None:
    sea = read_sea()
    stood = dict.fromkeys(JOBS[10:], (9999, 5))
    for job in stood:
        starts = ((day, hour) for day in range(job.fails, data.DAYS) for hour in range(5, 13))
        stood[job] = next(s for s in starts if all("window" not in t for t in evaluate(sea, start, {job: s}).violations))
    assert evaluate(sea, start, stood).stood_hours + 10 * data.JOB_HOURS == published()[start].stood_hours


@pytest.mark.usefixtures("instances")
@pytest.mark.parametrize("start", [0, 9, 17])
def test_nothing_is_done_with_knowledge_that_came_later(start: int) -> None:
    sea, schedule = read_sea(), replan(read_sea(), start)
    first = plan(sea, start, [job for job in JOBS if not job.surprise], 0)
    assert {job: when for job, when in schedule.items() if when[0] < 17} == {j: w for j, w in first.items() if w[0] < 17}
    assert evaluate(sea, start, schedule).violations == []


@pytest.mark.usefixtures("instances")
def test_the_mean_is_below_the_published_one() -> None:
    row = run("mean of 21")
    assert len(data.matched()) == 21
    assert row["published"] == pytest.approx(155_441.14)
    assert row["violations"] == 0
    assert row["value"] < row["net_published"] < row["published"]


def test_a_row_says_so_where_the_instances_are_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(data, "FOLDER", data.FOLDER / "nowhere")
    assert "not here" in run("0")["note"]
