"""The demonstration: an invented farm laid into the database, and the whole job done on it once.

scenario.py  fixtures/scenario.json -> rows        weather.py  a real open series as past years and as the forecast
job.py       due work -> round -> plan -> morning  report.py   what came of it as a page and as data
"""
