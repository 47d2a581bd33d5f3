"""The independent check: a plain, slow NumPy Monte Carlo of the same model as the product.

Written from the model's text alone, before the product's kernel; it shares no code with the product and never imports it.
Everything is float64, ordinary random numbers, one crossing at a time. Only the discrimination threshold is integrated
instead of drawn, so that a few hundred crossings see a difference of 0.02 in the probability of an alarm.
"""

from fencecast.evidence.independent.estimate import simulate
from fencecast.evidence.independent.explain import explain, ranges
from fencecast.evidence.independent.site_reader import read_site

__all__ = ["explain", "ranges", "read_site", "simulate"]
