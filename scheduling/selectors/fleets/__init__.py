"""Fleets: the rows, how their parts stand, what bases share, and their plans side by side.

lists.py    fleets with joins done, and who may see them      wanted.py   what bases want of what others want too
sums.py     parts and their sums, as far as they are          joined.py   the parts' plans for the check as one
"""

from scheduling.selectors.fleets.joined import joined_plans
from scheduling.selectors.fleets.lists import bases_planned, fleet_list
from scheduling.selectors.fleets.sums import PartRow, Sums, fleet_parts, sums_of
from scheduling.selectors.fleets.wanted import wanted_by

__all__ = ["PartRow", "Sums", "bases_planned", "fleet_list", "fleet_parts", "joined_plans", "sums_of", "wanted_by"]
