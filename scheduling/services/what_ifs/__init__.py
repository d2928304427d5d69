"""What-ifs: made, changed, solved, thrown away, published. The only writer of WhatIf.

create.py    what_if_create, what_if_throw_away     solve.py     what_if_solve, and what comes of it
change.py    what_if_change                         publish.py   what_if_publish, what the register would have to say
"""

from scheduling.services.what_ifs.change import what_if_change
from scheduling.services.what_ifs.create import what_if_create, what_if_throw_away
from scheduling.services.what_ifs.publish import what_if_publish
from scheduling.services.what_ifs.solve import what_if_solve

__all__ = ["what_if_change", "what_if_create", "what_if_publish", "what_if_solve", "what_if_throw_away"]
