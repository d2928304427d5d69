"""Named values of the register, with named groups, so that code never repeats a tuple."""

from __future__ import annotations

from django.db import models


class Role(models.TextChoices):
    """What a person may do at a site."""

    PLANNER = "planner", "planner"
    LEAD = "lead", "lead technician"
    TECHNICIAN = "technician", "technician"
    VIEWER = "viewer", "viewer"


class Trigger(models.TextChoices):
    """What counts up to the next due date."""

    MONTHS = "months", "months"
    RUNNING_HOURS = "running_hours", "running hours"
    ENERGY_MWH = "energy_mwh", "energy (MWh)"
    CYCLES = "cycles", "cycles"


class Scope(models.TextChoices):
    """On what an interval falls due."""

    TYPE = "type", "every turbine of a type"
    COMPONENT = "component", "every component of a kind"
    TURBINE = "turbine", "one turbine"


class Gate(models.TextChoices):
    """What a lapse stops."""

    LIFT = "lift", "riding the lift"
    CLIMBING = "climbing", "climbing"
    HOIST = "hoist", "hoisting"
    ENTRY = "entry", "entering the turbine"
    ISOLATION = "isolation", "isolating"


class WorkKind(models.TextChoices):
    """What kind of work a procedure is; the value of leaving an order out hangs on it."""

    INSPECTION = "inspection", "inspection"
    SERVICE = "service", "service"
    REPAIR = "repair", "repair"
    EXCHANGE = "exchange", "exchange of a component"
    MINOR = "minor", "minor work"


class StepKind(models.TextChoices):
    """What a step of a procedure asks for."""

    TICK = "tick", "tick"
    READING = "reading", "reading"
    PHOTO = "photo", "photo"
    TEXT = "text", "text"


class Quantity(models.TextChoices):
    """What a limit is about; the names are the weather core's, each label with the unit the value is in."""

    WIND = "wind", "wind, mean (m/s)"
    GUST = "gust", "gust (m/s)"
    LIGHTNING = "lightning_distance", "lightning distance (m)"
    LIGHTNING_CHANCE = "lightning_probability", "chance of lightning (%)"
    TEMPERATURE = "temperature", "temperature (degC)"
    WIND_CHILL = "wind_chill", "felt cold, wind chill (degC)"
    WBGT = "wbgt", "heat, WBGT (degC)"
    WORK_SHARE = "work_share", "work share in the heat (%)"
    HUMIDITY = "humidity", "humidity (%)"
    DEW_POINT_SPREAD = "dew_point_spread", "distance to the dew point (degC)"
    RAIN = "rain", "rain (mm/h)"
    VISIBILITY = "visibility", "visibility (m)"
    ICING = "icing_probability", "chance of icing (%)"
    WAVE = "wave_height", "wave height (m)"
    WAVE_PERIOD = "wave_period", "wave period (s)"


class MetabolicClass(models.IntegerChoices):
    """How heavy the work is, by ISO 7243."""

    RESTING = 0, "0 resting"
    LOW = 1, "1 low"
    MODERATE = 2, "2 moderate"
    HIGH = 3, "3 high"
    VERY_HIGH = 4, "4 very high"


class Comparison(models.TextChoices):
    """How a value is held against a limit. The equal case is stated, never guessed."""

    AT_MOST = "<=", "at most"
    BELOW = "<", "below"
    AT_LEAST = ">=", "at least"
    ABOVE = ">", "above"


class PairKind(models.TextChoices):
    """How two people stand to being in one team."""

    TOGETHER = "together", "must work together"
    APART = "apart", "must not work together"
    GLADLY = "gladly", "work together gladly"


class EquipmentKind(models.TextChoices):
    """Shared equipment."""

    CRANE = "crane", "crane"
    PLATFORM = "platform", "blade platform"
    HOIST = "hoist", "transportable hoist"
    TOOL = "tool", "special tool"


class ClosureKind(models.TextChoices):
    """Why nobody may work there in a date range."""

    BIRDS = "birds", "nesting birds"
    LANDOWNER = "landowner", "landowner"
    ROAD = "road", "road closed"
    GRID = "grid outage", "grid outage"
    OTHER = "other", "other"
