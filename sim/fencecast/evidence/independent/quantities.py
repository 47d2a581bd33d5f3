"""Quantities that vary: a draw and a median for each distribution that a site file can name."""

import numpy as np
from scipy.special import ndtr, ndtri

LENGTH_UNITS_M = {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "ft": 0.3048, "in": 0.0254, "yd": 0.9144, "mi": 1609.344}


def plain_number(value):
    """A number as written, or a string with a unit, in metres or Celsius.

    value: number, or "14 ft", "0.5 in", "41 F". Returns float [m or Celsius]."""
    if isinstance(value, str):
        figure, unit = value.split()
        if unit == "F":
            return (float(figure) - 32.0) / 1.8
        if unit == "C":
            return float(figure)
        return float(figure) * LENGTH_UNITS_M[unit]
    return float(value)


class Varying:
    """One varying quantity of the site file: a number, or a table with `dist` and its figures."""

    def __init__(self, written):
        if isinstance(written, dict):
            self.dist = written.get("dist", "lognormal")  # [decision] may say { median, sigma_ln } alone
            self.figures = {
                key: [plain_number(item) for item in entry] if isinstance(entry, list) else plain_number(entry)
                for key, entry in written.items()
                if key != "dist"
            }
        else:
            self.dist = "fixed"
            self.figures = {"value": plain_number(written)}

    def _truncation(self):
        """Cumulative probabilities of the untruncated normal at its two cuts."""
        mean, sd = self.figures["mean"], self.figures["sd"]
        if sd == 0.0:
            return 0.0, 1.0
        low = ndtr((self.figures["low"] - mean) / sd) if "low" in self.figures else 0.0
        high = ndtr((self.figures["high"] - mean) / sd) if "high" in self.figures else 1.0
        return low, high

    def at(self, share):
        """The value below which `share` (0..1) of the distribution lies."""
        figures = self.figures
        if self.dist == "fixed":
            return figures["value"]
        if self.dist == "uniform":
            return figures["low"] + share * (figures["high"] - figures["low"])
        if self.dist == "normal":
            low, high = self._truncation()
            return figures["mean"] + figures["sd"] * float(ndtri(low + share * (high - low)))
        if self.dist == "lognormal":
            return figures["median"] * float(np.exp(figures["sigma_ln"] * ndtri(share)))
        if self.dist == "triangular":
            low, mode, high = figures["low"], figures["mode"], figures["high"]
            if high == low:
                return low
            bend = (mode - low) / (high - low)
            if share < bend:
                return low + np.sqrt(share * (high - low) * (mode - low))
            return high - np.sqrt((1.0 - share) * (high - low) * (high - mode))
        if self.dist == "choice":
            weights = np.asarray(figures["weights"]) / np.sum(figures["weights"])
            order = np.argsort(figures["values"])
            reached = np.searchsorted(np.cumsum(weights[order]), share - 1e-12)
            return float(np.asarray(figures["values"])[order][min(reached, len(order) - 1)])
        raise ValueError(f"no distribution called {self.dist}")

    def upto(self, value):
        """Share of the distribution at or below a value."""
        figures = self.figures
        if self.dist == "fixed":
            return float(figures["value"] <= value)
        if self.dist == "uniform":
            wide = figures["high"] - figures["low"]
            return float(np.clip((value - figures["low"]) / wide, 0.0, 1.0)) if wide > 0.0 else float(figures["low"] <= value)
        if self.dist == "normal":
            if figures["sd"] == 0.0:
                return float(figures["mean"] <= value)
            low, high = self._truncation()
            return float(np.clip((ndtr((value - figures["mean"]) / figures["sd"]) - low) / (high - low), 0.0, 1.0))
        if self.dist == "lognormal":
            if value <= 0.0 or figures["sigma_ln"] == 0.0:
                return float(figures["median"] <= value)
            return float(ndtr(np.log(value / figures["median"]) / figures["sigma_ln"]))
        if self.dist == "triangular":
            low, mode, high = figures["low"], figures["mode"], figures["high"]
            if value <= low or value >= high:
                return float(value >= high)
            if value < mode:
                return (value - low) ** 2 / ((high - low) * (mode - low))
            return 1.0 - (high - value) ** 2 / ((high - low) * (high - mode))
        weights = np.asarray(figures["weights"]) / np.sum(figures["weights"])
        reached = np.asarray(figures["values"]) <= value
        return 1.0 if np.all(reached) else float(np.sum(weights[reached]))

    def below(self, value):
        """Share of the distribution below a value."""
        return self.upto(np.nextafter(value, -np.inf))

    @property
    def varies(self):
        return self.dist != "fixed"

    def middle(self):
        """The median."""
        return self.at(0.5)


def lognormal(median, sigma_ln):
    return Varying({"dist": "lognormal", "median": median, "sigma_ln": sigma_ln})
