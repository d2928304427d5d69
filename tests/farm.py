"""A tiny farm held in the head, in the database. No randomness; every date hangs on TODAY, Wednesday 10 June 2026.

Base North (Europe/Berlin) has site HILL with three turbines: H1 and H2 of type Tall (lift to 95 m of 100 m), H3 of type Low
(60 m, no lift). Base South (Australia/Perth) has site PLAIN with one turbine, P1, of type Tall. All since 10 June 2020.

What falls due (state on TODAY; HILL has 13 items, PLAIN 4):
  lift-12   statutory, stops the lift   H1 20 May overdue    H2 1 Sep not open   P1 10 Jun due
  svc-12    fixed, -30/+36 days         H1 20 Jun open       H2 25 May late      P1 1 Dec not open
  svc-6     -18/+18, inside svc-12      H1 25 Jun absorbed   H2 15 Sep not open  P1 1 Dec absorbed
  oil       every 4000 running hours    H1 about 28 Jun open (14.8 h a day)      H2, P1: no reading, no date
  blade-24  each blade, -60/+60         H1 three blades 1 Jul open
  low-12    service of type Low         H3 1 Aug not open
  ladder-12 statutory, stops climbing   H3 1 Dec not open
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from django.contrib.auth.models import User

from planner.models import (
    Absence,
    Base,
    Certificate,
    CertificateKind,
    Closure,
    Component,
    ComponentKind,
    CounterReading,
    Equipment,
    EquipmentBooking,
    HeldSkill,
    Interval,
    Limit,
    LimitSet,
    Membership,
    Part,
    PartDelivery,
    Procedure,
    ProcedurePart,
    ProcedureSkill,
    RuleSet,
    ShiftPattern,
    Site,
    Skill,
    Step,
    Technician,
    Turbine,
    TurbineType,
    Vehicle,
    WorkDone,
)

NOW = datetime(2026, 6, 10, 6, 0, tzinfo=UTC)  # 08:00 at HILL, 14:00 at PLAIN
TODAY = date(2026, 6, 10)
BUILT = date(2020, 6, 10)
CURVE = [[3, 0], [6, 600], [9, 1900], [12, 3000], [25, 3000]]


@dataclass
class Farm:
    """The rows a test asks for by name."""

    hill: Site
    plain: Site
    h1: Turbine
    h2: Turbine
    h3: Turbine
    p1: Turbine
    blades: list[Component]
    procedures: dict[str, Procedure]
    intervals: dict[str, Interval]
    people: dict[str, Technician]

    @property
    def north(self) -> Base:
        """The base of HILL."""
        return self.hill.base


def build_farm() -> Farm:
    """The whole farm of the docstring; needs an empty database."""
    hill, plain = build_sites()
    h1, h2, h3, p1 = build_turbines(hill, plain)
    blades = build_components(h1)
    procedures = build_procedures(build_limit_sets(), build_skills(), build_stock(hill.base))
    intervals = build_intervals(procedures, h1.type, h3.type, blades[0].kind)
    build_history(intervals, h1, h2, h3, p1, blades)
    people = build_people(hill.base)
    Closure.objects.create(
        site=hill, turbine=h3, kind="birds", reason="kite nest", first_day=date(2026, 6, 1), last_day=date(2026, 6, 30)
    )
    return Farm(hill, plain, h1, h2, h3, p1, blades, procedures, intervals, people)


def build_sites() -> tuple[Site, Site]:
    """HILL in Germany and PLAIN in Western Australia."""
    rules = RuleSet.objects.create(name="common rules")
    north = Base.objects.create(name="North", latitude=54.60, longitude=9.00, time_zone="Europe/Berlin")
    south = Base.objects.create(name="South", latitude=-31.20, longitude=116.00, time_zone="Australia/Perth")
    hill = Site.objects.create(
        code="HILL", name="Hillside", base=north, rule_set=rules, time_zone="Europe/Berlin", country="DE", currency="EUR",
        price_per_mwh=60, latitude=54.62, longitude=9.02, emergency="112, meeting point at the gate",
    )  # fmt: skip
    plain = Site.objects.create(
        code="PLAIN", name="Plainfield", base=south, rule_set=rules, time_zone="Australia/Perth", country="AU", currency="AUD",
        price_per_mwh=80, latitude=-31.22, longitude=116.02, emergency="000, meeting point at the shed",
    )  # fmt: skip
    return hill, plain


def build_turbines(hill: Site, plain: Site) -> tuple[Turbine, Turbine, Turbine, Turbine]:
    """H1, H2 (Tall), H3 (Low, no lift) and P1 (Tall)."""
    tall = TurbineType.objects.create(name="Tall", rotor_diameter_m=110, rated_kw=3000, power_curve=CURVE, lift_to_m=95)
    low = TurbineType.objects.create(name="Low", rotor_diameter_m=80, rated_kw=3000, power_curve=CURVE)
    return (
        build_turbine(hill, "H1", tall, 0, 100),
        build_turbine(hill, "H2", tall, 1, 100),
        build_turbine(hill, "H3", low, 2, 60),
        build_turbine(plain, "P1", tall, 0, 100),
    )


def build_turbine(site: Site, code: str, kind: TurbineType, step: int, hub_m: float) -> Turbine:
    """One turbine, `step` hundredths of a degree north of its site's middle."""
    return Turbine.objects.create(
        site=site, code=code, type=kind, latitude=site.latitude + step / 100, longitude=site.longitude,
        hub_height_m=hub_m, feeder="F1", road="main track", commissioned_on=BUILT,
    )  # fmt: skip


def build_components(turbine: Turbine) -> list[Component]:
    """A rotor with three blades; the blades are returned."""
    rotor = Component.objects.create(turbine=turbine, kind=ComponentKind.objects.create(code="rotor", name="rotor"))
    blade = ComponentKind.objects.create(code="blade", name="blade")
    return [Component.objects.create(turbine=turbine, parent=rotor, kind=blade, position=n, of=3) for n in (1, 2, 3)]


def build_limit_sets() -> dict[str, LimitSet]:
    """tower: 12 m/s; blade: 8 m/s in daylight. Gusts count as 1.3 times the mean where none is forecast."""
    tower = LimitSet.objects.create(code="tower", name="Inside the tower", gust_factor=1.3)
    blade = LimitSet.objects.create(code="blade", name="On the blades", gust_factor=1.3, daylight=True)
    Limit.objects.create(limit_set=tower, quantity="wind", value=12)
    Limit.objects.create(limit_set=tower, quantity="gust", value=16, averaging_min=0.05)
    Limit.objects.create(limit_set=blade, quantity="wind", value=8)
    return {"tower": tower, "blade": blade}


def build_skills() -> dict[str, Skill]:
    """Electrical and mechanical."""
    return {code: Skill.objects.create(code=code, name=code) for code in ("electrical", "mechanical")}


def build_stock(north: Base) -> dict[str, Part]:
    """Filters in stock, a motor on order, two vans, a crane for two days."""
    filters = Part.objects.create(code="filter", name="oil filter", stock=10, lead_time_days=5)
    motor = Part.objects.create(code="motor", name="pitch motor", stock=0, lead_time_days=30)
    PartDelivery.objects.create(part=motor, quantity=1, expected_on=date(2026, 6, 18))
    Vehicle.objects.create(name="van 1", base=north, seats=3)
    Vehicle.objects.create(name="van 2", base=north, seats=3)
    crane = Equipment.objects.create(name="crane", kind="crane", base=north, day_cost=4000)
    EquipmentBooking.objects.create(equipment=crane, first_day=date(2026, 6, 16), last_day=date(2026, 6, 17))
    return {"filter": filters, "motor": motor}


def build_procedures(limits: dict[str, LimitSet], skills: dict[str, Skill], parts: dict[str, Part]) -> dict[str, Procedure]:
    """code -> procedure. service has four steps, one of each kind."""
    rows = (
        ("lift-check", "Lift inspection", "inspection", 4, "tower"),
        ("ladder-check", "Ladder inspection", "inspection", 4, "tower"),
        ("service", "Yearly service", "service", 24, "tower"),
        ("half-service", "Half-yearly service", "service", 8, "tower"),
        ("oil", "Oil change", "service", 6, "tower"),
        ("blade-look", "Blade inspection", "inspection", 6, "blade"),
        ("pitch-repair", "Exchange a pitch motor", "repair", 10, "tower"),
        ("lamp", "Change a lamp", "minor", 2, "tower"),
    )
    made = {
        code: Procedure.objects.create(code=code, name=name, kind=kind, effort_person_h=hours, limit_set=limits[limit])
        for code, name, kind, hours, limit in rows
    }
    Procedure.objects.filter(code="service").update(may_span_visits=True)
    made["service"].refresh_from_db()
    ProcedurePart.objects.create(procedure=made["oil"], part=parts["filter"])
    ProcedurePart.objects.create(procedure=made["pitch-repair"], part=parts["motor"])
    ProcedureSkill.objects.create(procedure=made["pitch-repair"], skill=skills["electrical"], level=2)
    service = made["service"]
    Step.objects.create(procedure=service, number=1, kind="tick", text="Isolated and locked", hold_point=True)
    Step.objects.create(procedure=service, number=2, kind="reading", text="Oil pressure", unit="bar", low=1.5, high=3)
    Step.objects.create(procedure=service, number=3, kind="text", text="What you saw")
    Step.objects.create(procedure=service, number=4, kind="photo", text="Yaw ring")
    return made


def build_intervals(
    procedures: dict[str, Procedure], tall: TurbineType, low: TurbineType, blade: ComponentKind
) -> dict[str, Interval]:
    """code -> interval, as in the table of the docstring."""

    def each(code: str, procedure: str, kind: TurbineType, every: float = 12, **more: object) -> Interval:
        return Interval.objects.create(
            code=code, procedure=procedures[procedure], scope="type", turbine_type=kind, every=every, **more
        )

    made = (
        each("lift-12", "lift-check", tall, early_days=30, statutory=True, stops=["lift"]),
        each("svc-12", "service", tall, fixed=True, early_days=30, late_days=36),
        each("svc-6", "half-service", tall, every=6, early_days=18, late_days=18),
        each("oil", "oil", tall, every=4000, trigger="running_hours", early_days=30, late_days=30),
        each("low-12", "service", low, early_days=30, late_days=36),
        each("ladder-12", "ladder-check", low, early_days=30, statutory=True, stops=["climbing"]),
        Interval.objects.create(
            code="blade-24", procedure=procedures["blade-look"], scope="component", component_kind=blade,
            every=24, early_days=60, late_days=60,
        ),
    )  # fmt: skip
    intervals = {interval.code: interval for interval in made}
    intervals["svc-12"].absorbs.add(intervals["svc-6"])
    return intervals


def build_history(
    intervals: dict[str, Interval], h1: Turbine, h2: Turbine, h3: Turbine, p1: Turbine, blades: list[Component]
) -> None:
    """The last work done behind every date of the table, and the hour counter of H1."""
    rows: tuple[tuple[str, Turbine, date, date | None], ...] = (
        ("lift-12", h1, date(2025, 5, 20), None),
        ("lift-12", h2, date(2025, 9, 1), None),
        ("lift-12", p1, date(2025, 6, 10), None),
        ("svc-12", h1, date(2025, 6, 22), date(2025, 6, 20)),
        ("svc-12", h2, date(2025, 5, 25), date(2025, 5, 25)),
        ("svc-12", p1, date(2025, 12, 1), date(2025, 12, 1)),
        ("svc-6", h1, date(2025, 12, 25), None),
        ("svc-6", h2, date(2026, 3, 15), None),
        ("svc-6", p1, date(2026, 6, 1), None),
        ("low-12", h3, date(2025, 8, 1), None),
        ("ladder-12", h3, date(2025, 12, 1), None),
    )
    for code, turbine, done_on, due_on in rows:
        WorkDone.objects.create(interval=intervals[code], turbine=turbine, done_on=done_on, due_on=due_on)
    for blade in blades:
        WorkDone.objects.create(interval=intervals["blade-24"], turbine=h1, component=blade, done_on=date(2024, 7, 1))
    WorkDone.objects.create(interval=intervals["oil"], turbine=h1, done_on=date(2025, 10, 1), counter=40_000)
    for read_on, value in ((date(2025, 6, 1), 38_200), (date(2026, 6, 1), 43_600)):
        CounterReading.objects.create(turbine=h1, counter="running_hours", read_on=read_on, value=value)


def build_people(north: Base) -> dict[str, Technician]:
    """Ada and Ben electrical and rescue-capable, Cleo mechanical and on leave 15 to 19 June, Dov's heights certificate lapsed."""
    skills = {skill.code: skill for skill in Skill.objects.all()}
    heights = CertificateKind.objects.create(code="heights", name="Work at height", base_certificate=True, rescue=True)
    voltage = CertificateKind.objects.create(code="voltage", name="Switching", for_skill=skills["electrical"], validity_months=36)
    week = ShiftPattern.objects.create(name="week", weekdays=[1, 2, 3, 4, 5], start=time(7), end=time(16), overtime_h=2)
    people = {
        name: Technician.objects.create(name=name, base=north, shift_pattern=week) for name in ("Ada", "Ben", "Cleo", "Dov")
    }
    for name, person in people.items():
        ends = date(2026, 5, 31) if name == "Dov" else date(2027, 3, 31)
        Certificate.objects.create(technician=person, kind=heights, issued_on=date(2024, 6, 1), valid_until=ends)
        HeldSkill.objects.create(technician=person, skill=skills["mechanical"], level=2)
    for name in ("Ada", "Ben"):
        HeldSkill.objects.create(technician=people[name], skill=skills["electrical"], level=3)
        Certificate.objects.create(
            technician=people[name], kind=voltage, issued_on=date(2023, 7, 16), valid_until=date(2026, 7, 15)
        )
    Absence.objects.create(technician=people["Cleo"], first_day=date(2026, 6, 15), last_day=date(2026, 6, 19), reason="leave")
    return people


def build_user(name: str, role: str, site: Site) -> User:
    """A user who can log in with password "lull", with one role at one site."""
    user = User.objects.create_user(name, password="lull")
    Membership.objects.create(user=user, site=site, role=role)
    return user
