"""Every threshold of the quality rules in one place. Common practice, no source, unless a line says otherwise.

They were set so that the open records of tests/scheduling/weather/quality/ are flagged where something is known
to be wrong with them and hardly anywhere else.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rule:
    """Bounds of one variable in its kept unit.

    low, high       outside: RANGE
    spike           higher or lower than both neighbours by more than this: SPIKE
    jump            a step of more than this that stays: JUMP
    stuck_h         the same value for this many hours or longer: STUCK (None: the variable may well stand
                    still)
    """

    low: float
    high: float
    spike: float | None = None
    jump: float | None = None
    stuck_h: float | None = None


RULES: dict[str, Rule] = {
    "wind": Rule(0.0, 75.0, spike=15.0, jump=20.0, stuck_h=6.0),
    "gust": Rule(0.0, 110.0, spike=30.0, jump=35.0, stuck_h=6.0),
    "direction": Rule(0.0, 360.0, stuck_h=24.0),
    "temperature": Rule(-60.0, 60.0, spike=15.0, jump=15.0, stuck_h=24.0),
    "dew_point": Rule(-80.0, 40.0, spike=15.0, jump=20.0, stuck_h=24.0),
    "pressure": Rule(50_000.0, 108_500.0, spike=2_000.0, jump=1_500.0, stuck_h=72.0),
    # Below 1.5 % it is a fraction of 1 that was taken for per cent, or a dead sensor.
    "humidity": Rule(1.5, 105.0),
    "rain": Rule(0.0, 500.0),
    "visibility": Rule(0.0, 200_000.0),
    "lightning_distance": Rule(0.0, 1_000_000.0),
    "wave_height": Rule(0.0, 30.0, spike=8.0, jump=8.0, stuck_h=24.0),
    "wave_period": Rule(0.0, 40.0),
}

#: A record in steps of this or coarser (whole m/s, whole degrees) stands still now and then without being stuck.
COARSE_STEP = {"wind": 0.25, "gust": 0.25, "direction": 0.5}
#: ... and is stuck, or dead without a neighbour, only after this many times the hours, or more the coarser it is.
COARSE_PATIENCE = 3.0

#: Steps longer than this say nothing about what a variable can do within one of them.
JUMP_STEP_MIN = 60
#: A level that a jump led to is believed after this many hours.
JUMP_HOLD_H = 6.0

#: Missing values for no longer than this, in hours, between two equal ones do not end a constant run.
HOLE_H = 1.0

#: Wind at two heights is comparable when one is at most this many times the other.
NEAR_HEIGHTS = 2.5
#: An exact 0.0 this long, in hours, is a dead sensor even without a neighbour ...
DEAD_ALONE_H = 6.0
#: ... and this long while a neighbour averages more than DEAD_WIND_MPS.
DEAD_BESIDE_H = 1.0
DEAD_WIND_MPS = 3.0
#: A neighbour from higher up must average more: as much as the steepest shear leaves of it at this height.
STEEP_SHEAR = 0.6
#: A living neighbour that averages less than this bears a calm out.
CALM_MPS = 1.5
#: A constant run this long, in hours, is stuck while a neighbour moves by more than STUCK_MOVE_MPS or blows.
STUCK_BESIDE_H = 1.0
STUCK_MOVE_MPS = 2.0
#: An anemometer that does not turn may say something above 0.0: its offset.
OFFSET_MPS = 0.6
#: A vane that says the same for this long, in hours, while it blows more than DEAD_WIND_MPS is stuck.
VANE_STUCK_H = 6.0

#: Pressure further than this share from the median of its own series: SCALE. Weather moves it by 8 % at most.
PRESSURE_SHARE = 0.12
#: Temperature this near to another series read as Fahrenheit, and this far from it as it stands: SCALE.
FAHRENHEIT_NEAR_DEGC = 4.0
FAHRENHEIT_FAR_DEGC = 12.0
#: Factors between units of wind: km/h, kn, mph against m/s, and each other. Exact definitions.
UNIT_FACTORS = (3.6, 3600.0 / 1852.0, 1.0 / 0.44704)
#: How near to a factor the ratio to a neighbour must come, how long, in what share of the steps, above what wind.
SCALE_SHARE = 0.15
SCALE_H = 6.0
SCALE_STEPS = 0.8
SCALE_LEAST_MPS = 1.5
#: Of two series that differ, the one whose logarithm leaps by this much more at the edges is the one that slipped.
SCALE_LEAP = 0.4
#: Gust over mean, to begin with. A usual ratio further off than WHOLE_FACTOR means that the whole record slipped.
USUAL_GUST = 1.4
WHOLE_FACTOR = 2.4

#: Icing is suspected at this temperature or below, with humidity this high or the dew point this near.
ICING_DEGC = 1.0
ICING_HUMIDITY_PCT = 90.0
ICING_SPREAD_DEGC = 1.5
#: Reading the same within ICING_SAME (m/s, degrees) for this many hours and this many steps ...
ICING_FROZEN_H = 2.0
ICING_FROZEN_STEPS = 8
ICING_SAME = {"wind": 0.02, "gust": 0.02, "direction": 0.1}
#: ... or less than this share of what the neighbour lets expect, for this long, while that blows more than ICING_WIND_MPS.
ICING_BEHIND_SHARE = 0.6
ICING_BEHIND_H = 1.0
ICING_WIND_MPS = 4.0

#: A dew point may lie this far above the temperature: two sensors in fog.
DEW_SLACK_DEGC = 1.0
#: A gust may lie this far below the mean of its step (rounding, and a mean that is one moment's value).
GUST_SHARE = 0.95
GUST_SLACK_MPS = 0.1
#: A gust that equals the mean to the last digit for this long while it blows is the mean under another name.
GUST_COPY_H = 6.0
