"""Fleets: begun, stopped, and closed when their last part has ended. The only writer of Fleet.

create.py    fleet_create: one queued run a base, those that share something one after the other
ending.py    fleet_go_on: what waits for a part's end; fleet_close: sums and the joined check; fleets_recover
stop.py      fleet_stop
"""

from scheduling.services.fleets.create import fleet_create
from scheduling.services.fleets.ending import fleet_close, fleet_go_on, fleets_recover
from scheduling.services.fleets.stop import fleet_stop

__all__ = ["fleet_close", "fleet_create", "fleet_go_on", "fleet_stop", "fleets_recover"]
