"""Designs on the same crossings: paired differences with intervals of their own."""
