"""The year's problem: one frozen record that a solver, a checker and a reader of a complaint all share.

Time. The horizon is a row of weeks, each named by its ISO label ("2026-W09") and its Monday; a week index counts from 0.
An index below 0 lies in the past, one at or above the number of weeks beyond the horizon.

Weather. Every past weather year is one scenario: a row of `workable_share` and `lost_mwh_per_stop_h`. No row at all means
that no weather history is known; then the plan goes by due dates and no climate is invented.

Money is in whole cents of the site's currency. Rules and parts of the cost are defined in rules.py.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scheduling import codec
from scheduling.year.validate import validate

EVERYBODY = "everybody"


@dataclass(frozen=True)
class Week:
    """One week. `capacity_h`: skill group -> person-hours on shift in it; EVERYBODY is the group of all fit people.

    A group is a set of people, so one person's hours stand in every group they belong to. The union of two groups may be
    a group of its own, which keeps two scarce skills of the same person from being counted twice.
    """

    label: str
    monday: str
    capacity_h: dict[str, float]


@dataclass(frozen=True)
class Turbine:
    """A turbine: its site (key of price_cents and Rules.max_down) and its `energy` (key of lost_mwh_per_stop_h)."""

    id: str
    site: str
    energy: str


@dataclass(frozen=True)
class Equipment:
    """Shared equipment: only in `weeks`, at most `capacity` items a week, `week_cost` cents for each week it is used."""

    id: str
    weeks: tuple[int, ...]
    capacity: int = 1
    week_cost: int = 0


@dataclass(frozen=True)
class Item:
    """One piece of due work, done within one week.

    effort_person_h  working person-hours of the whole team
    stop_h           hours the turbine stands still for it
    team             people at the work; each name in `skills` asks that so many of them belong to that group
    limit            key of Problem.workable_share (weather cell and limit set)
    opens, due, closes  week indexes; may lie before 0 or beyond the horizon; `closes` is the last week that still counts
    statutory        never placed after `closes`; one whose close has passed is placed as early as possible
    weeks            weeks in which it may be done (closures, grid outages and birds already taken out)
    late_cost        cents per week after `due` (after the first week if `due` is past)
    left_out_cost    cents if no week is found in this horizon
    absorbs          items of the same turbine that are done with this one, without effort of their own, if it falls into
                     their window
    pinned           the week it must stand in (frozen week, date agreed with an inspector, placed by hand)
    previous         its week in the last issue of the round; another week (or none) costs move_cost
    """

    id: str
    turbine: str
    label: str
    effort_person_h: float
    stop_h: float
    limit: str
    opens: int
    due: int
    closes: int
    weeks: tuple[int, ...]
    late_cost: int
    left_out_cost: int
    team: int = 2
    skills: dict[str, int] = field(default_factory=dict)
    statutory: bool = False
    equipment: tuple[str, ...] = ()
    absorbs: tuple[str, ...] = ()
    pinned: int | None = None
    previous: int | None = None
    move_cost: int = 0


@dataclass(frozen=True)
class Together:
    """Two items of one turbine that save `saved_stop_h` hours of standstill when both fall into one week."""

    first: str
    second: str
    saved_stop_h: float


@dataclass(frozen=True)
class Rules:
    """The hard numbers. `fit_share`: least share of past years in which the work laid into a week fits into it.

    `max_down`: site -> most different turbines stopped in one week.
    """

    fit_share: float = 0.5
    max_down: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Weights:
    """Money of what is not in the items.

    overload_per_person_h  cents per working person-hour that does not fit into its week (mean over the past years)
    tail_share             how much of the bad tail counts, 0..1; `quantile` says where the tail begins
    statutory_late         cents per week for a statutory item whose close has passed (if its own late_cost is lower)
    away_from_due          cents per week before `due`; only where there is no weather history to say which week is better
    """

    overload_per_person_h: int = 9_000
    tail_share: float = 0.1
    quantile: float = 0.8
    statutory_late: int = 1_000_000
    away_from_due: int = 100


@dataclass(frozen=True)
class Problem:
    """A round: one site or a group of sites that share people. Everything the solver may know.

    scenarios            names of the past weather years, e.g. ("2009", "2010"); empty: no history
    workable_share       limit key -> [scenario][week] share of the working time in which the limit set holds, 0..1
    lost_mwh_per_stop_h  energy key -> [scenario][week] MWh lost per hour of standstill in workable time
    price_cents          site -> [1 or scenario][week] cents per MWh; one row serves every scenario
    """

    name: str
    weeks: tuple[Week, ...]
    turbines: tuple[Turbine, ...]
    items: tuple[Item, ...]
    scenarios: tuple[str, ...]
    workable_share: dict[str, tuple[tuple[float, ...], ...]]
    lost_mwh_per_stop_h: dict[str, tuple[tuple[float, ...], ...]]
    price_cents: dict[str, tuple[tuple[int, ...], ...]]
    equipment: tuple[Equipment, ...] = ()
    together: tuple[Together, ...] = ()
    currency: str = "EUR"
    rules: Rules = field(default_factory=Rules)
    weights: Weights = field(default_factory=Weights)

    def __post_init__(self) -> None:
        validate(self)


def problem_to_json(problem: Problem) -> dict[str, Any]:
    """The problem as JSON values; `problem_from_json` gives the same problem back."""
    data: dict[str, Any] = codec.to_json(problem)
    return data


def problem_from_json(data: Any) -> Problem:
    """Read and validate a stored problem; ValueError names the path and the cure."""
    return codec.from_json(Problem, data)
