"""A site too large for all its routes to be counted out: cut by day and by area, with prices for what is shared.

Prices for visits, people, hours, skills and vehicles are shared by all days. Each day finds the best routes at these prices,
with those that cannot pay dropped early, so that few remain to be looked at; the prices' own sum is a bound on every plan.
"""
