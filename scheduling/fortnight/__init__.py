"""The fortnight: which order, which day and hour, by which people; pure (no Django, no clock).

problem.py  what is to be planned, a frozen record        plan.py   what a plan is, a frozen record
rules.py    what every hard rule and part of the cost means
solve.py    problem -> result: search.py on boards of real teams, beside bound.py (pool/, or wide/ for large sites)
check/      problem + plan -> violations, by other code   explain/  problem + plan -> reasons in the planner's words
"""
