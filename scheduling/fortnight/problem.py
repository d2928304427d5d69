"""The fortnight's problem: one frozen record that a solver, a checker and a reader of a complaint all share.

Time. The horizon has `days`; each day has its own grid of slots of `slot_min` minutes, slot 0 starting at `Day.start_min`
minutes after the horizon's origin (UTC, so a clock change only moves `start_min`). A stay lies inside one day. Slots of all
days in a row number the columns of weather and energy: column = Day.first_slot + slot.

Money is in whole cents of the site's currency (ints), so that every coefficient stays far below 2**31.

Rules, and the name under which the checker reports a breach, stand in rules.py: `RULES`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from scheduling import codec
from scheduling.fortnight.validate import validate

ACCESS = ("lift", "ladder", "none")


@dataclass(frozen=True)
class Day:
    """One day of the horizon. `date` is the local date (ISO), `week` groups days for the weekly limit."""

    date: str
    start_min: int
    slots: int
    first_slot: int
    week: str


@dataclass(frozen=True)
class Access:
    """How people get up a turbine on a day and how long it takes, one way, in minutes."""

    by: str
    up_min: int
    down_min: int


@dataclass(frozen=True)
class Turbine:
    """A turbine. `access` has one entry a day; x/y place it in km (any flat projection of the group of sites).

    `energy` is a key of Problem.stop_mwh. `feeder` names the string it hangs on ("" = alone).
    """

    id: str
    site: str
    x_km: float
    y_km: float
    energy: str
    access: tuple[Access, ...]
    feeder: str = ""


@dataclass(frozen=True)
class Shift:
    """A person's envelope on one day: may be away from base in slots [start, end); overtime from `regular_end` on."""

    day: int
    start: int
    end: int
    regular_end: int


@dataclass(frozen=True)
class Held:
    """A skill a person holds at `level`, on the days listed (its certificate is valid and counted then)."""

    skill: str
    level: int
    days: tuple[int, ...]


@dataclass(frozen=True)
class Person:
    """A technician. `fit_days`: every base certificate is valid. `rescue_days`: counts as rescue-capable.

    A learner may travel with a team but counts neither for its size nor for its skills. `day_cost`: cents for each day out
    (people who are bought by the day).
    """

    id: str
    name: str
    shifts: tuple[Shift, ...]
    skills: tuple[Held, ...]
    fit_days: tuple[int, ...]
    rescue_days: tuple[int, ...]
    learner: bool = False
    week_left_min: dict[str, int] = field(default_factory=dict)
    day_cost: int = 0


@dataclass(frozen=True)
class Vehicle:
    """A vehicle of the base: one team a day, at most `seats` people."""

    id: str
    seats: int


@dataclass(frozen=True)
class Equipment:
    """Shared equipment: at most `capacity` visits at a time, only on `days`.

    `day_cost` once for each day it is used, `mobilise_cost` once if it is used at all.
    """

    id: str
    name: str
    capacity: int
    days: tuple[int, ...]
    day_cost: int = 0
    mobilise_cost: int = 0


@dataclass(frozen=True)
class Need:
    """`count` people of the team hold `skill` at `level` or above (learners never count)."""

    skill: str
    level: int
    count: int


@dataclass(frozen=True)
class Mode:
    """One way to do an order: a team of `team` people and the work minutes of each of its visits, in order."""

    team: int
    visits_min: tuple[int, ...]


@dataclass(frozen=True)
class Order:
    """One job on one turbine.

    days            days on which it may be worked (parts, permits, closures, forbidden days already taken out)
    window          key of Problem.workable (weather cell and limit set)
    also            further keys of Problem.workable that must hold as well (limits of its equipment)
    due_day         day index; may be negative (already late) or beyond the horizon
    late_cost       cents per day that its last visit lies after due_day
    left_out_cost   cents if it is not planned in this horizon
    stops           turbines that stand still while somebody works on it (its own, or a whole feeder)
    stopped_between the turbine stays stopped between two visits of the order
    max_gap_days    most days between two visits (None: no limit)
    after           orders that must be finished before this one's first visit starts
    after_gap_min   minutes at least from the end of the last of those to its first start (curing, cooling)
    behind          those of `after` that open a gate it goes through: done on an earlier day; `access` is then its way up on days
                    on which Turbine.access is "none"
    hand_over_cost  cents for each visit after the first whose team holds nobody of the visit before
    opens_climbing  may be worked although Access.by is "none" for everybody else; then `access` holds its own way up
    pins            (visit index, day, slot) that must be kept
    crew            (visit index, people) who must be in that visit's team
    """

    id: str
    turbine: str
    modes: tuple[Mode, ...]
    needs: tuple[Need, ...]
    window: str
    days: tuple[int, ...]
    due_day: int
    late_cost: int
    left_out_cost: int
    stops: tuple[str, ...]
    pack_min: int = 0
    equipment: tuple[str, ...] = ()
    stopped_between: bool = False
    max_gap_days: int | None = None
    after: tuple[str, ...] = ()
    after_gap_min: int = 0
    hand_over_cost: int = 0
    opens_climbing: bool = False
    access: Access | None = None
    ride_along: bool = True
    pins: tuple[tuple[int, int, int], ...] = ()
    crew: tuple[tuple[int, tuple[str, ...]], ...] = ()
    also: tuple[str, ...] = ()
    behind: tuple[str, ...] = ()
    label: str = ""


@dataclass(frozen=True)
class PublishedVisit:
    """A visit of the last published plan: moving or dropping it costs `change_cost`, each person taken out of it `crew_cost`.

    `starts_from` and `ends_at` are as in plan.Visit; sleeping elsewhere costs nothing by itself.
    """

    order: str
    visit: int
    day: int
    start: int
    people: tuple[str, ...]
    change_cost: int
    crew_cost: int = 0
    starts_from: str = ""
    ends_at: str = ""


@dataclass(frozen=True)
class Lodging:
    """Beds near the turbines: a team may sleep there between two days in a row, at `night_cost` cents per person."""

    id: str
    x_km: float
    y_km: float
    beds: int
    night_cost: int


@dataclass(frozen=True)
class Rules:
    """The hard numbers. `confidence` is the least share of members in which a whole stay must fit.

    `cover_min`: minutes within which another team, or rescuers at the base, must reach a team that is up (0: not asked).
    `nights_in_row`: most nights in a row a person sleeps at lodgings (common practice, no source: agree it with the people).
    """

    confidence: float = 0.8
    min_team: int = 2
    rescue_pair: int = 2
    break_after_min: int = 360
    break_min: int = 30
    rest_min: int = 660
    week_max_min: int = 2880
    ladder_climbs_a_day: int = 2
    climbs_a_day: int = 4
    cover_min: int = 0
    nights_in_row: int = 4
    max_stopped: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Weights:
    """Money of what is not in the orders. Cents per unit named; `pair_apart` per preferred pair and day."""

    travel_per_person_min: int = 60
    overtime_per_person_min: int = 90
    abort_per_person: int = 15_000
    team_day: int = 4_000
    pair_apart: int = 0


@dataclass(frozen=True)
class Problem:
    """A fortnight of one base. Everything the solver may know; see the module docstring for time and money.

    workable      key -> packed bits [members, total slots] (access.pack_members): every limit holds in that slot
    members       number of members behind `workable`
    stop_mwh      key -> mean MWh lost per slot of standstill, one float per column
    night_mwh     key -> mean MWh lost from the end of day d's grid to the start of day d+1's, one float per day
    price_cents   site -> cents per MWh, one int per column
    night_cents   site -> cents per MWh in the night after day d, one int per day
    standby_days  days on which a rescue group stands by at the base while teams are up (rules.cover_min)
    prefer        pairs of people who like to be in one team when both are out (weights.pair_apart)
    day_weight    share by day that likely aborts weigh: near days more than far ones; empty: 1 for all
    """

    name: str
    origin: str
    slot_min: int
    days: tuple[Day, ...]
    base_x_km: float
    base_y_km: float
    speed_kmh: float
    hop_fixed_min: int
    turbines: tuple[Turbine, ...]
    people: tuple[Person, ...]
    vehicles: tuple[Vehicle, ...]
    equipment: tuple[Equipment, ...]
    orders: tuple[Order, ...]
    members: int
    workable: dict[str, str]
    stop_mwh: dict[str, tuple[float, ...]]
    night_mwh: dict[str, tuple[float, ...]]
    price_cents: dict[str, tuple[int, ...]]
    night_cents: dict[str, tuple[int, ...]]
    published: tuple[PublishedVisit, ...] = ()
    together: tuple[tuple[str, str], ...] = ()
    apart: tuple[tuple[str, str], ...] = ()
    prefer: tuple[tuple[str, str], ...] = ()
    lodgings: tuple[Lodging, ...] = ()
    standby_days: tuple[int, ...] = ()
    day_weight: tuple[float, ...] = ()
    currency: str = "EUR"
    rules: Rules = field(default_factory=Rules)
    weights: Weights = field(default_factory=Weights)

    def __post_init__(self) -> None:
        validate(self)

    @property
    def total_slots(self) -> int:
        """Number of columns of weather and energy."""
        return sum(day.slots for day in self.days)


def problem_to_json(problem: Problem) -> dict[str, Any]:
    """The problem as JSON values; `problem_from_json` gives the same problem back."""
    data: dict[str, Any] = codec.to_json(problem)
    return data


def problem_from_json(data: Any) -> Problem:
    """Read and validate a stored problem; ValueError names the path and the cure."""
    return codec.from_json(Problem, data)
