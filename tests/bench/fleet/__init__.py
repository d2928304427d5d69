"""Many sites of 30 turbines solved as one fleet by real Celery workers, with one process and with two.

rows.py      the register of a generated case for each base      measure.py   memory and computing time of a worker's processes
job.py       lays the rows in a database of its own, then solves the fleet with each number of processes
"""
