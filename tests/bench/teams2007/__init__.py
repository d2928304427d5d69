"""Teams formed anew each day, from skills with levels: public instances with published results, and our crewing on them.

The task is the one of the ROADEF challenge of 2007. The instances stay outside the project (no redistribution licence is
stated); `instances.py` looks for them beside the checkout.
"""
