"""Many bases at once: which of them may be solved apart, and whether their plans together use anything twice. No Django.

groups.py   which bases must be planned one after the other      joined.py   the plans of all parts checked as one
"""
