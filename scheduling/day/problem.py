"""The morning's problem: who is to climb where today, and what the newest forecast says. One frozen record.

Time. All times are whole minutes from `origin` (UTC), so a day on which the clocks change needs no care; slot n covers
minutes [n * slot_min, (n + 1) * slot_min). `zone` is only for the times in sentences.

Weather. `series` holds the newest forecast's members, each already carried to the height and averaging of the limits that
name it. None is an unknown value, and an unknown value never passes a limit.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scheduling import codec
from scheduling.day.validate import validate

OPS = ("<=", "<", ">=", ">")


@dataclass(frozen=True)
class Limit:
    """One limit: the weather is good while the value of `series` `op` `value`. `name` as people say it ("wind at hub")."""

    name: str
    series: str
    op: str
    value: float
    unit: str = "m/s"


@dataclass(frozen=True)
class Measured:
    """A reading of today, at a minute from the origin; None = the instrument gave nothing usable."""

    at_min: int
    value: float | None


@dataclass(frozen=True)
class Person:
    """Somebody of the team. `fit`: every base certificate is valid today; else `why_not` says which is not.

    A learner counts neither as one of two nor as rescue-capable.
    """

    name: str
    fit: bool
    rescue: bool
    learner: bool = False
    why_not: str = ""


@dataclass(frozen=True)
class Gate:
    """A gate of the turbine: what it stops (lift, climbing, hoist, entry, isolation) and whether it is shut today."""

    name: str
    stops: str
    shut: bool
    why: str = ""


@dataclass(frozen=True)
class Stay:
    """One visit of the published plan.

    up_min .. down_min  the stay in minutes: way up, work, packing, way down; `by` is lift or ladder
    planned_start_min   foot of the tower, as published
    shift_*             the whole stay must lie inside (the ways to and from the base already taken off)
    limits              key of Problem.limit_sets
    uses                what the visit needs of the gates (entry, climbing, lift, hoist, isolation); the visit that opens a
                        gate does not list it
    """

    id: str
    team: str
    turbine: str
    label: str
    by: str
    up_min: int
    work_min: int
    pack_min: int
    down_min: int
    planned_start_min: int
    shift_start_min: int
    shift_end_min: int
    limits: str
    people: tuple[Person, ...]
    uses: tuple[str, ...] = ("entry", "climbing")
    gates: tuple[Gate, ...] = ()
    daylight: bool = False

    @property
    def minutes(self) -> int:
        """From the foot of the tower to the foot of the tower."""
        return self.up_min + self.work_min + self.pack_min + self.down_min


@dataclass(frozen=True)
class Problem:
    """A day of one base.

    issue_min      when the forecast was issued (minutes from the origin, mostly negative); None: there is no forecast
    series         name -> [members][slots]
    measured       series name -> readings of today in order of time; may be empty
    daylight       (first, last) minute of daylight; None: not known, then nothing that asks for it may start
    confidence     least share of members in which the whole stay must fit
    stale_after_h  a forecast older than this is stale (exactly as old is not)
    reentry_min    minutes of readings within the limit before going back up after one that was not
    """

    date: str
    zone: str
    origin: str
    slot_min: int
    slots: int
    now_min: int
    issue_min: int | None
    series: dict[str, tuple[tuple[float | None, ...], ...]]
    limit_sets: dict[str, tuple[Limit, ...]]
    stays: tuple[Stay, ...]
    measured: dict[str, tuple[Measured, ...]] = field(default_factory=dict)
    daylight: tuple[int, int] | None = None
    confidence: float = 0.8
    stale_after_h: float = 12.0
    reentry_min: int = 20
    min_team: int = 2
    rescue_pair: int = 2

    def __post_init__(self) -> None:
        validate(self)

    @property
    def age_h(self) -> float | None:
        """Age of the forecast in hours; None without one."""
        return None if self.issue_min is None else (self.now_min - self.issue_min) / 60.0

    @property
    def fresh(self) -> bool:
        """The forecast is there, not stale, and not from the future."""
        return self.age_h is not None and 0.0 <= self.age_h <= self.stale_after_h


@dataclass(frozen=True)
class Reason:
    """Why a verdict is as it is: a code for programs and a sentence for people."""

    code: str
    text: str


@dataclass(frozen=True)
class Binding:
    """The limit with the least room over a stay: `value` is kept or bettered in the asked share of members (None: unknown)."""

    name: str
    value: float | None
    op: str
    limit: float
    unit: str
    at_min: int


@dataclass(frozen=True)
class Verdict:
    """What to do about one stay. Times are minutes from the origin, None where there is none.

    verdict          go, wait or no-go
    start_min        the start meant by go (planned, or now if that is past) or by wait (the first later one that fits)
    first_safe_min, last_safe_min  first and last start from now on that fit weather, shift and daylight
    must_be_down_min everybody is down by then, for the start meant; start_down_min is the last moment to begin the way down
    chance, chance_best  share of members in which the stay fits: from the planned start (or now), and at the best start; 0
                     where there is no fresh forecast, as none may be read from a stale one
    """

    stay: str
    team: str
    turbine: str
    verdict: str
    planned_start_min: int
    start_min: int | None
    first_safe_min: int | None
    last_safe_min: int | None
    must_be_down_min: int | None
    start_down_min: int | None
    chance: float
    chance_best: float
    binding: Binding | None
    forecast_age_h: float | None
    reasons: tuple[Reason, ...]
    caution: str


@dataclass(frozen=True)
class Violation:
    """What a verdict gets wrong, as the checker finds it."""

    rule: str
    stay: str
    text: str


def problem_to_json(problem: Problem) -> dict[str, Any]:
    """The problem as JSON values; `problem_from_json` gives the same problem back."""
    data: dict[str, Any] = codec.to_json(problem)
    return data


def problem_from_json(data: Any) -> Problem:
    """Read and validate a stored problem; ValueError names the path and the cure."""
    return codec.from_json(Problem, data)


def verdicts_to_json(verdicts: tuple[Verdict, ...]) -> list[dict[str, Any]]:
    """The verdicts as JSON values."""
    data: list[dict[str, Any]] = codec.to_json(verdicts)
    return data
