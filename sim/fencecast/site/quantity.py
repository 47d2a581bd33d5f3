"""A quantity that varies from crossing to crossing: one number, or a distribution."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

_STANDARD = NormalDist()

# The keys that each distribution needs, and those it may have.
KEYS = {
    "fixed": (("value",), ()),
    "uniform": (("low", "high"), ()),
    "normal": (("mean", "sd"), ("low", "high")),
    "lognormal": (("median", "sigma_ln"), ()),
    "triangular": (("low", "mode", "high"), ()),
    "choice": (("values",), ("weights",)),
}


@dataclass(frozen=True)
class Quantity:
    """A frozen distribution; what a distribution does not use is None.

    `dist`: fixed, uniform, normal (truncated when `low` or `high` is given), lognormal (median, standard deviation of the
    logarithm), triangular, choice (`weights` add up to 1). Numbers are in the unit that the key of the site file names.
    The loader checks the values; made by hand they are taken as they are.
    """

    dist: str
    value: float | None = None
    low: float | None = None
    high: float | None = None
    mean: float | None = None
    sd: float | None = None
    median: float | None = None
    sigma_ln: float | None = None
    mode: float | None = None
    values: tuple[float, ...] | None = None
    weights: tuple[float, ...] | None = None

    @classmethod
    def fixed(cls, value: float) -> Quantity:
        """One number."""
        return cls("fixed", value=float(value))

    @classmethod
    def uniform(cls, low: float, high: float) -> Quantity:
        """Every value between low and high alike."""
        return cls("uniform", low=float(low), high=float(high))

    @classmethod
    def normal(cls, mean: float, sd: float, low: float | None = None, high: float | None = None) -> Quantity:
        """Normal, truncated (not clipped) to low..high where they are given."""
        return cls("normal", mean=float(mean), sd=float(sd), low=low, high=high)

    @classmethod
    def lognormal(cls, median: float, sigma_ln: float) -> Quantity:
        """The logarithm is normal with mean ln(median) and standard deviation sigma_ln."""
        return cls("lognormal", median=float(median), sigma_ln=float(sigma_ln))

    @property
    def is_fixed(self) -> bool:
        """Whether it is one number."""
        return self.dist == "fixed"

    def bounds(self) -> tuple[float, float]:
        """The lowest and the highest value that can come out; infinite where nothing bounds it."""
        if self.dist == "fixed":
            return self.value, self.value
        if self.dist == "lognormal":
            return 0.0, math.inf
        if self.dist == "choice":
            possible = [value for value, weight in zip(self.values, self.weights) if weight > 0]
            return min(possible), max(possible)
        return (-math.inf if self.low is None else self.low), (math.inf if self.high is None else self.high)

    def likely_bounds(self, sds: float = 5.0) -> tuple[float, float]:
        """As `bounds`, with an unbounded tail cut at `sds` standard deviations (5: one draw in 3.5 million lies beyond)."""
        low, high = self.bounds()
        if self.dist == "normal":
            return max(low, self.mean - sds * self.sd), min(high, self.mean + sds * self.sd)
        if self.dist == "lognormal":
            spread = math.exp(sds * self.sigma_ln)
            return self.median / spread, self.median * spread
        return low, high

    def middle(self) -> float:
        """The median."""
        return self.quantile(0.5)

    def quantile(self, p: float) -> float:
        """The value that a share `p` (0 < p < 1) of the draws lies below. Plain Python: for single values, not for kernels."""
        if self.dist == "fixed":
            return self.value
        if self.dist == "uniform":
            return self.low + p * (self.high - self.low)
        if self.dist == "normal":
            below = 0.0 if self.low is None else _STANDARD.cdf((self.low - self.mean) / self.sd)
            above = 1.0 if self.high is None else _STANDARD.cdf((self.high - self.mean) / self.sd)
            return self.mean + self.sd * _STANDARD.inv_cdf(below + p * (above - below))
        if self.dist == "lognormal":
            return self.median * math.exp(self.sigma_ln * _STANDARD.inv_cdf(p))
        if self.dist == "triangular":
            width, rise = self.high - self.low, self.mode - self.low
            if p * width <= rise:
                return self.low + math.sqrt(p * width * rise)
            return self.high - math.sqrt((1.0 - p) * width * (width - rise))
        total = 0.0
        ordered = sorted(zip(self.values, self.weights))
        for value, weight in ordered:
            total += weight
            if total >= p - 1e-12 and weight > 0:
                return value
        return ordered[-1][0]

    def as_toml_value(self) -> float | dict:
        """What would stand in a site file: a number, or a table."""
        if self.dist == "fixed":
            return self.value
        needed, optional = KEYS[self.dist]
        parts = {key: getattr(self, key) for key in (*needed, *optional) if getattr(self, key) is not None}
        return {"dist": self.dist, **parts}
