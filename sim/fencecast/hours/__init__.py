"""A year of hours from some simulated states: which states stand for all, and what each hour and segment follows from them."""
