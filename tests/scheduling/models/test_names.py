"""What rows of weather and plans are called: an instant in a name says its zone, whatever zone it was given in."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from planner.models import Site, Turbine
from scheduling.models import Visit, WeatherSet

BERLIN = ZoneInfo("Europe/Berlin")


def test_a_visit_starts_in_utc_by_name() -> None:
    turbine = Turbine(code="H1")
    summer, winter = (Visit(turbine=turbine, starts_at=datetime(2026, month, 10, 8, tzinfo=BERLIN)) for month in (6, 12))
    assert str(summer) == "H1 2026-06-10 06:00 UTC"
    assert str(winter) == "H1 2026-12-10 07:00 UTC"


def test_weather_is_issued_or_starts_in_utc_by_name() -> None:
    site = Site(name="Hillside")
    start, issued = datetime(2026, 6, 10, 2, tzinfo=BERLIN), datetime(2026, 6, 10, 0, 30, tzinfo=BERLIN)
    assert (
        str(WeatherSet(site=site, kind="forecast", issued_at=issued, starts_at=start)) == "Hillside forecast 2026-06-09 22:30 UTC"
    )
    assert str(WeatherSet(site=site, kind="observed", starts_at=start)) == "Hillside observed 2026-06-10 00:00 UTC"
