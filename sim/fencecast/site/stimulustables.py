"""`[[stimulus]]`, `[nuisance]`, `[[soak]]`: what raises alarms and is no intrusion, as the user writes it."""

from __future__ import annotations

from typing import Annotated, Any

from fencecast.site.fields import Names, OneOf, Text
from fencecast.site.number import Number
from fencecast.site.quantity import Quantity
from fencecast.site.schema import Table
from fencecast.site.stimulusfields import Active, At, BodySize, Coat, HourWeights, Kind, Months, Share, Spread
from fencecast.site.stimuluskinds import LAWS, SILHOUETTES, UNCERTAINTY, WAYS, family_of
from fencecast.site.varying import Varying

# The last row of every table of stimuli: alarms without a stimulus.
SENSOR_NOISE = "sensor noise"
_RATE = Varying(Number("a rate", 2.0, 6.0, at_least=0, at_most=100_000, shown=" a night"))


class Stimulus(Table):
    """`[[stimulus]]`. None where the kind says it (see `resolve`). Loading fills `name`, and `perimeters` of a body."""

    kind: Annotated[str, Kind()]
    name: Annotated[str | None, Text("a name", "cats of the farm")] = None
    perimeters: Annotated[tuple[str, ...], Names("names of perimeters", '["north fence"]')] = ()
    per_night_100m: Annotated[Quantity | None, _RATE] = None
    per_night: Annotated[Quantity | None, _RATE] = None
    density_km2: Annotated[
        Quantity | None, Varying(Number("a number of animals", 50.0, 200.0, at_least=0, at_most=100_000, shown=" a km2"))
    ] = None
    km_per_night: Annotated[
        Quantity | None, Varying(Number("a length of way", 1.3, 3.7, at_least=0, at_most=200, shown=" km a night"))
    ] = None
    through: Annotated[float | dict[str, float] | None, Share()] = None
    way: Annotated[str | None, OneOf(WAYS)] = None
    offset_m: Annotated[Quantity | None, Varying(Number("a distance", -6.0, -1.0, at_least=-200, at_most=200, unit="m"))] = None
    base_m: Annotated[Quantity | None, Varying(Number("a height", 1.0, 6.0, at_least=0, at_most=100, unit="m"))] = None
    pause_s: Annotated[Quantity | None, Varying(Number("a time", 5.0, 20.0, at_least=0, at_most=3600, shown=" s"))] = None
    silhouette: Annotated[str | None, OneOf(SILHOUETTES)] = None
    size_m: Annotated[tuple[float, float, float] | None, BodySize()] = None
    size_sigma_ln: Annotated[float | None, Number("a standard deviation of the logarithm", 0.1, at_least=0, at_most=1)] = None
    speed_m_s: Annotated[Quantity | None, Varying(Number("a speed", 0.5, 1.5, at_least=0.01, at_most=60, shown=" m/s"))] = None
    coat_m2k_w: Annotated[
        Quantity | dict[str, Quantity] | None,
        Coat(Varying(Number("a thermal resistance", 0.2, 0.5, at_least=0.001, at_most=10, shown=" m2 K/W"))),
    ] = None
    leg_m2k_w: Annotated[float | None, Number("a thermal resistance", 0.15, above=0, at_most=10, shown=" m2 K/W")] = None
    rain_share: Annotated[float | None, Number("a share", 0.67, at_least=0, at_most=1)] = None
    duration_s: Annotated[Quantity | None, Spread(Number("a time", 4.0, above=0, at_most=3600, shown=" s"), 0.8)] = None
    cycles: Annotated[Quantity | None, Spread(Number("a number of cycles", 4.0, above=0, at_most=100), 0.5)] = None
    contrast_k: Annotated[Quantity | None, Spread(Number("a contrast", 2.0, above=0, at_most=100, unit="k_difference"), 0.6)] = (
        None
    )
    relative_size: Annotated[Quantity | None, Spread(Number("a share of a person's size", 1.0, above=0, at_most=100), 0.6)] = None
    on_line_share: Annotated[float | None, Number("a share", 0.1, at_least=0, at_most=1)] = None
    rate_follows: Annotated[str | None, OneOf(LAWS)] = None
    confused: Annotated[float | None, Number("a share", 0.05, at_least=0, at_most=1)] = None
    shape_cycles: Annotated[float | None, Number("a number of cycles", 4.0, above=0, at_most=100)] = None
    bursts: Annotated[float | None, Number("a size of the negative binomial", 1.0, at_least=0.01, at_most=1000)] = None
    by_hour: Annotated[tuple[float, ...] | None, HourWeights()] = None
    months: Annotated[tuple[int, ...] | None, Months()] = None
    active: Annotated[dict[str, tuple[float, float]] | None, Active()] = None
    at: Annotated[dict[str, Any] | None, At()] = None
    cameras: Annotated[tuple[str, ...], Names("marks of cameras", '["C1", "C2"]')] = ()

    @property
    def family(self) -> str:
        """`"body"` or `"burst"`."""
        return family_of(self.kind)


class Nuisance(Table):
    """`[nuisance]`: what turns numbers of alarms into what they mean to an operator."""

    attempts_per_year: Annotated[float | None, Number("a number of attempts", 2.0, above=0, at_most=10_000)] = None
    uncertainty: Annotated[float, Number("a factor", 3.0, at_least=1, at_most=100)] = UNCERTAINTY.value
    other_alarms_per_h: Annotated[float, Number("a number of alarms", 10.0, at_least=0, at_most=3600, shown=" an hour")] = 0.0
    service_s: Annotated[Quantity, Varying(Number("a time", 60.0, 180.0, above=0, at_most=86_400, shown=" s"))] = Quantity.fixed(
        120.0
    )


class Soak(Table):
    """`[[soak]]`: alarms of one cause, counted on the finished site over some nights."""

    cause: Annotated[str, Text("the name of a stimulus", "cat")]
    nights: Annotated[float, Number("a number of nights", 14.0, above=0, at_most=100_000)]
    alarms: Annotated[int, Number("a whole number", 5, at_least=0, at_most=10_000_000, whole=True)]
