"""Twelve jobs on ten turbines at sea: published instances, an evaluator from their definition, and a rolling replanner.

Data and published costs: Papadopoulos, Coit, Ezzat, "Seizing opportunity: maintenance optimization in offshore wind farms
considering accessibility, production, and crew dispatch", IEEE Transactions on Sustainable Energy 13(1), 2022, case study I.
They are read from `../shared/bench/offshore2022` and are not part of this project.

Inferred from the published results, not stated with the data: a job takes 8 h; a job before its failure day costs 4,000 $ and
from that day on 16,000 $; turbine i fails on day 5 i; there is no cap on the farm's output. What supports it: the cost put
together from the published counts is the published cost within 1 $ on all 30 starts, and the hours that turbines stood still
are the published hours on the 26 starts of `MATCHING`.
"""
