"""Every route a team may take on a day, laid out as arrays; prices then find the best ones by adding and comparing.

Where visits are long (most of a day), a team's day holds few of them, so all routes of a day can be counted out. That turns
the search for routes in the master problem into array sums, exact for real people: each route is offered to every set of
people that suits it and needs nobody to spare.
"""

from __future__ import annotations
