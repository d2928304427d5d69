"""The fortnight: which order, which day and hour, by which people; pure (no Django, no clock).

problem.py  what is to be planned, a frozen record        plan.py   what a plan is, a frozen record
solve.py    problem -> result                             check.py  problem + plan -> violations, by other code
explain.py  problem + result -> reasons in the planner's words
"""
