"""The only place that turns rows into problems. Everything here reads; nothing writes.

horizon.py   days and slots of a fortnight in the base's zone      cells.py    weather at a site and hub height on slots
limits.py    limit sets of the register as limit sets of the core  access.py   gates and the way up, day by day
orders.py    orders as the fortnight's orders                      people.py   technicians, certificates, shifts, vehicles
money.py     what leaving out and lateness cost                    energy.py   what standstill loses
climate.py   past years week by week
fortnight.py, round.py, day.py   put the parts together
"""
