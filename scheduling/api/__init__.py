"""Weather, windows, runs, plans, rounds and the morning under /api/v1/."""
