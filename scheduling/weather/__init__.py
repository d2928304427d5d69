"""Weather as arrays: units, series, heights, members, past years. Pure: standard library and NumPy only."""
