"""Readers of hourly weather records (EPW, TMY3, CSV): rows, limits, gaps and clocks, to the `Records` of `meteorology.year`."""
