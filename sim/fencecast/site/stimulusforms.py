"""Stimuli with every number filled in, as the simulation takes them: bodies and bursts. What varies stays a `Quantity`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fencecast.site.quantity import Quantity


@dataclass(frozen=True)
class Rate:
    """How often: one of `per_night_100m`, `per_night` (bursts: per camera; bodies: the site), or the last two together."""

    per_night_100m: Quantity | None = None
    per_night: Quantity | None = None
    density_km2: Quantity | None = None
    km_per_night: Quantity | None = None

    @property
    def parts(self) -> tuple[Quantity, ...]:
        """The quantities of which the rate is the product."""
        return tuple(
            each for each in (self.per_night_100m, self.per_night, self.density_km2, self.km_per_night) if each is not None
        )

    @property
    def has_spread(self) -> bool:
        """Whether the user gave a distribution: then `uncertainty` is not added to it."""
        return any(not part.is_fixed for part in self.parts)


@dataclass(frozen=True)
class Item:
    """A thing that stands somewhere: points (x, y) [m] and its height over the ground [m]."""

    name: str
    points_m: tuple[tuple[float, float], ...]
    height_m: float


@dataclass(frozen=True)
class BodyStimulus:
    """A stimulus that goes through the pipeline as a person does, every number filled in.

    perimeters: names; () is all of them (filled by the loader). size_m: height, length, breadth; None for a person, who has the
    sizes, speeds (`speed_m_s` None: walks) and clothing of `[intruder]`. coat_m2k_w: for winter and for summer, the same twice
    where they do not differ (winter: air below `stimuluskinds.WINTER_COAT_BELOW_C`); None for persons, and for vehicles, which
    have `over_air_k` (sides; wheels and bonnet). through: share by barrier. offset_m: of ways along the fence, also of animals
    that a barrier turned, negative outside. base_m: height of the lowest point, in heights of the barrier when `base_of_barrier`.
    rain_share: of the activity, in rain of `stimuluskinds.HEAVY_RAIN_MM_H` and more. months, by_hour: None is always.
    """

    name: str
    kind: str
    silhouette: str
    perimeters: tuple[str, ...]
    rate: Rate
    way: str
    through: Mapping[str, float]
    offset_m: Quantity
    base_m: Quantity
    base_of_barrier: bool
    pause_s: Quantity
    size_m: tuple[float, float, float] | None
    size_sigma_ln: float
    speed_m_s: Quantity | None
    coat_m2k_w: tuple[Quantity, Quantity] | None
    leg_m2k_w: float | None
    over_air_k: tuple[float, float] | None
    rain_share: float
    confused: float
    shape_cycles: float | None
    bursts: float
    by_hour: tuple[float, ...] | None
    months: tuple[int, ...] | None
    active: Mapping[str, tuple[float, float]]
    at: Item | None
    rate_uncertainty: float

    family = "body"

    @property
    def speed_sigma_ln(self) -> float:
        """Of a lognormal speed, else 0."""
        return (self.speed_m_s and self.speed_m_s.sigma_ln) or 0.0

    @property
    def coat_sigma_ln(self) -> float:
        """Of a lognormal coat, else 0."""
        return (self.coat_m2k_w and self.coat_m2k_w[0].sigma_ln) or 0.0


@dataclass(frozen=True)
class BurstStimulus:
    """A stimulus that is no body, every number filled in; quantities with a median are lognormal.

    rate: per_night, events of one camera at full activity; it follows `law` (fixed, wind, sun: see `stimuluskinds`). cameras: ()
    is every camera, or with `at` every camera that sees it.
    """

    name: str
    kind: str
    rate: Rate
    law: str
    duration_s: Quantity
    cycles: Quantity
    contrast_k: Quantity
    relative_size: Quantity
    on_line_share: float
    confused: float
    shape_cycles: float
    bursts: float
    by_hour: tuple[float, ...] | None
    months: tuple[int, ...] | None
    active: Mapping[str, tuple[float, float]]
    at: Item | None
    cameras: tuple[str, ...]
    rate_uncertainty: float

    family = "burst"

    @property
    def per_night(self) -> Quantity:
        """Events of one camera in a night at full activity."""
        return self.rate.per_night or Quantity.fixed(0.0)
