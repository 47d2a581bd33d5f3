"""The tables of a site file: one frozen class each, keys as typed, every limit and default in sight.

Limits are strict about what is impossible and generous about what is unusual. Defaults that are distributions are those of the
model card: gait speeds and stature from anthropometric and gait surveys, the rest judgement
(common practice, no source).
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict

from fencecast.site.fields import ByName, Names, OneOf, Pair, Point, Points, Text, YesNo
from fencecast.site.number import Number
from fencecast.site.quantity import Quantity
from fencecast.site.varying import Varying

GROUNDS = ("asphalt", "concrete", "brick", "gravel", "soil", "grass", "snow")
# What an open share is by kind of barrier: common practice, no source. Nothing stands in the way where there is no barrier.
OPEN_SHARE = {"none": 1.0, "mesh": 0.85, "palisade": 0.60, "wall": 0.0}
GAITS = ("walk", "run", "crouch", "crawl", "flat_crawl")

SQUARE = "[[0.0, 0.0], [6.0, 0.0], [6.0, 4.0], [0.0, 4.0]]"
_share = Number("a share", 0.2, 0.5, at_least=0, at_most=1)


def _name(noun: str, example: str) -> Text:
    return Text(noun, example)


class Table(BaseModel):
    """A table of the site file. `model_fields_set` holds the keys that the user gave."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class Requirement(Table):
    pd: Annotated[float, Number("a probability", 0.90, above=0, below=1)] = 0.90
    confidence: Annotated[float, Number("a confidence", 0.95, above=0, below=1)] = 0.95
    nuisance_per_night: Annotated[float | None, Number("a number of alarms", 2.0, above=0, at_most=1e6, shown=" a night")] = None
    nuisance_bad_night: Annotated[float | None, Number("a number of alarms", 6.0, above=0, at_most=1e6, shown=" a night")] = None


class Ground(Table):
    """`[site]`."""

    ground: Annotated[str, OneOf(GROUNDS)]
    segment_length_m: Annotated[float, Number("a length", 2.0, at_least=0.1, at_most=1000, unit="m")] = 2.0
    latitude: Annotated[float | None, Number("degrees north", 54.0, at_least=-90, at_most=90)] = None
    longitude: Annotated[float | None, Number("degrees east", 8.0, at_least=-180, at_most=180)] = None


class Gate(Table):
    name: Annotated[str, _name("a name", "main gate")]
    from_m: Annotated[float, Number("a distance along the section", 10.0, at_least=0, unit="m")]
    to_m: Annotated[float, Number("a distance along the section", 16.0, at_least=0, unit="m")]


class Perimeter(Table):
    name: Annotated[str, _name("a name", "north fence")]
    points_m: Annotated[tuple[tuple[float, float], ...], Points(2, "[[0.0, 0.0], [48.0, 0.0]]")]
    inside: Annotated[str, OneOf(("left", "right"))]
    closed: Annotated[bool, YesNo()] = False
    barrier: Annotated[str, OneOf(tuple(OPEN_SHARE))] = "none"
    barrier_height_m: Annotated[float, Number("a height", 2.4, above=0, at_most=20, unit="m")] = 2.4
    barrier_open_share: Annotated[float | None, Number("a share", 0.85, at_least=0, at_most=1)] = None
    gates: tuple[Gate, ...] = ()


class Obstacle(Table):
    name: Annotated[str, _name("a name", "hut")]
    footprint_m: Annotated[tuple[tuple[float, float], ...], Points(3, SQUARE)]
    height_m: Annotated[float, Number("a height", 3.0, above=0, at_most=500, unit="m")]
    moveable: Annotated[bool, YesNo()] = False
    most_height_m: Annotated[float | None, Number("a height", 4.0, above=0, at_most=500, unit="m")] = None


class Sensor(Table):
    columns: Annotated[int, Number("a whole number", 160, at_least=4, at_most=8192, whole=True)]
    rows: Annotated[int, Number("a whole number", 120, at_least=4, at_most=8192, whole=True)]
    pitch_um: Annotated[float, Number("a pixel pitch", 17.0, at_least=1, at_most=200, unit="um")]
    netd_mk: Annotated[float, Number("a noise-equivalent temperature difference", 50.0, above=0, at_most=10_000, shown=" mK")]
    netd_f_number: Annotated[float | None, Number("an f-number", 1.0, at_least=0.3, at_most=30)] = None
    netd_spread: Annotated[float, Number("a spread", 0.10, at_least=0, at_most=1)] = 0.10
    fixed_pattern: Annotated[float, Number("a share of the temporal noise", 0.5, at_least=0, at_most=10)] = 0.5
    time_constant_ms: Annotated[float, Number("a time", 10.0, at_least=0, at_most=1000, shown=" ms")] = 10.0
    frame_rate_hz: Annotated[float, Number("a frame rate", 25.0, above=0, at_most=1000, shown=" Hz")] = 25.0
    band_um: Annotated[
        tuple[float, float],
        Pair(
            Number("a wavelength", 8.0, at_least=3, at_most=20, unit="um"),
            "[8.0, 14.0]",
            "[low, high] with low below high, both from 3 to 20 um",
            strict=True,
        ),
    ] = (8.0, 14.0)
    price: Annotated[float | None, Number("a price", 900.0, at_least=0)] = None


class Lens(Table):
    focal_length_mm: Annotated[float, Number("a focal length", 6.0, at_least=0.1, at_most=1000, unit="mm")]
    f_number: Annotated[float, Number("an f-number", 1.0, at_least=0.3, at_most=30)]
    projection: Annotated[str, OneOf(("rectilinear", "equidistant"))] = "rectilinear"
    transmission: Annotated[float, Number("a share", 0.9, above=0, at_most=1)] = 1.0
    aberration_px: Annotated[float, Number("a blur", 0.3, at_least=0, at_most=20, shown=" pixels")] = 0.3
    relative_illumination: Annotated[str | None, OneOf(("cos4", "flat"))] = None
    price: Annotated[float | None, Number("a price", 200.0, at_least=0)] = None
    stated_field_deg: Annotated[float | None, Number("an angle", 84.0, above=0, below=360, shown=" degrees")] = None


_SD_DEG = Number("a standard deviation", 1.0, at_least=0, at_most=45, shown=" degrees")
_SD_M = Number("a standard deviation", 0.05, at_least=0, at_most=10, unit="m")


class Camera(Table):
    """`[[camera]]`. After loading, bearing and depression are always filled and `aim_m` is None: one truth, not two."""

    mark: Annotated[str, Text("a mark", "C2", longest=24)]
    position_m: Annotated[tuple[float, float], Point()]
    height_m: Annotated[float, Number("a height", 4.0, above=0, at_most=60, unit="m")]
    bearing_deg: Annotated[float | None, Number("degrees clockwise from north", 90.0, at_least=-360, at_most=360)] = None
    depression_deg: Annotated[float | None, Number("degrees below the horizon", 14.0, at_least=-90, at_most=90)] = None
    aim_m: Annotated[tuple[float, float] | None, Point()] = None
    roll_deg: Annotated[float, Number("degrees of roll", 2.0, at_least=-30, at_most=30)] = 0.0
    bearing_sd_deg: Annotated[float | None, _SD_DEG] = None
    depression_sd_deg: Annotated[float | None, _SD_DEG] = None
    height_sd_m: Annotated[float | None, _SD_M] = None
    sensor: Annotated[str, _name("a sensor's name", "core")]
    lens: Annotated[str, _name("a lens's name", "wide")]
    price: Annotated[float | None, Number("a price", 1200.0, at_least=0)] = None
    depends_on: Annotated[str | None, _name("what the camera depends on", "mast A")] = None
    sway_deg: Annotated[float | None, Number("an angle", 0.2, at_least=0, at_most=10, shown=" degrees")] = None


class Rule(Table):
    kind: Annotated[str, OneOf(("line", "area"), formerly=(("field", "area"),))]
    perimeter: Annotated[str | None, _name("a perimeter's name", "north fence")] = None
    points_m: Annotated[tuple[tuple[float, float], ...] | None, Points(2, "[[0.0, 2.0], [48.0, 2.0]]")] = None
    offset_m: Annotated[float, Number("a distance inwards", 1.5, at_least=-1000, at_most=1000, unit="m")] = 0.0
    direction: Annotated[str, OneOf(("inward", "outward", "both"))] = "inward"
    time_window_s: Annotated[float, Number("a time", 1.0, above=0, at_most=60, shown=" s")] = 1.0
    dwell_s: Annotated[float, Number("a time", 1.0, at_least=0, at_most=3600, shown=" s")] = 0.0
    cameras: Annotated[tuple[str, ...], Names("marks of cameras", '["C1", "C2"]')] = ()


class Decision(Table):
    """`[decision]`. Of V keys that are drawn for an installation, medians are `.middle()`."""

    threshold_sigma: Annotated[Quantity, Varying(Number("a threshold", 5.0, 6.0, above=0, at_most=100, shown=" sigma"))] = (
        Quantity.fixed(5.0)
    )
    min_pixels: Annotated[int, Number("a whole number", 3, at_least=1, at_most=64, whole=True)] = 3
    cycles_50: Annotated[Quantity, Varying(Number("a number of cycles", 2.0, 2.4, above=0, at_most=100))] = Quantity.fixed(2.0)
    encounter_correlation: Annotated[Quantity, Varying(Number("a correlation", 0.5, 0.7, at_least=0, at_most=0.9), cut=True)] = (
        Quantity.fixed(0.5)
    )
    clutter_factor: Annotated[Quantity, Varying(Number("a factor", 1.0, 1.5, above=0, at_most=100))] = Quantity.fixed(1.0)
    looks_per_s: Annotated[float, Number("a rate", 5.0, above=0, at_most=100, shown=" looks per second")] = 5.0
    confirm: Annotated[
        tuple[int, int],
        Pair(
            Number("a whole number", 3, at_least=1, at_most=8, whole=True),
            "[3, 5]",
            "[m, n]: m hits in the last n looks, whole numbers, m from 1 to n and n at most 8",
        ),
    ] = (3, 5)
    size_gate: Annotated[
        tuple[float, float],
        Pair(
            Number("a share of a person's size", 0.45, at_least=0, at_most=10),
            "[0.45, 0]",
            "[low, high], shares of a person's size from 0 to 10, low below high; 0 for no such end",
            strict=True,
            open_ends=True,
        ),
    ] = (0.0, 0.0)
    size_spread: Annotated[float, Number("a spread", 0.20, at_least=0, at_most=2)] = 0.20
    shape_cycles: Annotated[float, Number("a number of cycles", 4.0, above=0, at_most=100)] = 4.0
    foot_point_px: Annotated[float, Number("an error", 1.0, at_least=0, at_most=50, shown=" pixels")] = 1.0


class Tolerance(Table):
    bearing_deg: Annotated[float, _SD_DEG] = 0.0
    depression_deg: Annotated[float, _SD_DEG] = 0.0
    height_m: Annotated[float, _SD_M] = 0.0


GAIT_SHARES = {"walk": 0.45, "run": 0.20, "crouch": 0.20, "crawl": 0.10, "flat_crawl": 0.05}
GAIT_SPEEDS = {
    "walk": Quantity.normal(1.3, 0.25, low=0.3),
    "run": Quantity.normal(4.5, 1.0, low=1.5),
    "crouch": Quantity.normal(0.8, 0.2, low=0.2),
    "crawl": Quantity.normal(0.8, 0.15, low=0.2),
    "flat_crawl": Quantity.normal(0.3, 0.08, low=0.1),
}
DEPTH_RATIO = {"walk": 0.28, "run": 0.40, "crouch": 0.25}
_SPEED = Varying(Number("a speed", 1.3, 1.6, at_least=0.05, at_most=15, shown=" m/s"))


class Intruder(Table):
    """`[intruder]`. `clo` and `climb_s` are None when left out: their defaults follow the weather and the barrier's height."""

    gaits: Annotated[dict[str, float], ByName(GAITS, _share, dict.fromkeys(GAITS, 0.0), "{ walk = 0.7, run = 0.3 }")] = (
        GAIT_SHARES
    )
    speed_m_s: Annotated[dict[str, Quantity], ByName(GAITS, _SPEED, GAIT_SPEEDS, "{ walk = 1.3, run = 4.5 }")] = GAIT_SPEEDS
    depth_ratio: Annotated[
        dict[str, float],
        ByName(tuple(DEPTH_RATIO), Number("a share of the stature", 0.28, above=0, at_most=2), DEPTH_RATIO, "{ walk = 0.28 }"),
    ] = DEPTH_RATIO
    stature_m: Annotated[Quantity, Varying(Number("a stature", 1.6, 1.9, at_least=0.5, at_most=2.5, unit="m"))] = Quantity.normal(
        1.69, 0.10, 1.45, 2.00
    )
    clo: Annotated[Quantity | None, Varying(Number("an insulation", 1.0, 2.0, at_least=0, at_most=8, shown=" clo"))] = None
    clothing_emissivity: Annotated[Quantity, Varying(Number("an emissivity", 0.82, 0.92, above=0, at_most=1))] = Quantity.uniform(
        0.82, 0.92
    )
    bare_head_share: Annotated[Quantity, Varying(Number("a share", 0.0, 0.5, at_least=0, at_most=1))] = Quantity.uniform(0.0, 0.5)
    approach_angle_deg: Annotated[
        Quantity, Varying(Number("an angle from the inward normal", -30.0, 30.0, at_least=-85, at_most=85, shown=" degrees"))
    ] = Quantity.uniform(-30.0, 30.0)
    turn_deg: Annotated[Quantity, Varying(Number("a turn", -20.0, 20.0, at_least=-85, at_most=85, shown=" degrees"))] = (
        Quantity.fixed(0.0)
    )
    pause_s: Annotated[Quantity, Varying(Number("a time", 0.0, 5.0, at_least=0, at_most=3600, shown=" s"))] = Quantity.fixed(0.0)
    climb_s: Annotated[Quantity | None, Varying(Number("a time", 4.0, 9.0, at_least=0, at_most=3600, shown=" s"))] = None
    path_m: Annotated[float, Number("a length", 12.0, at_least=1, at_most=200, unit="m")] = 12.0


class FrontWindow(Table):
    """The state of the camera's window: dry, drops (share of the pupil), or a film (thickness)."""

    state: Annotated[str, OneOf(("dry", "drops", "film"))] = "dry"
    share: Annotated[float | None, Number("a share", 0.05, at_least=0, at_most=1)] = None
    film_um: Annotated[float | None, Number("a thickness", 5.0, at_least=0, at_most=1000, unit="um")] = None


class Weather(Table):
    """`[[weather]]`. `drop_radius_um` is None when left out: its default follows the kind of fog."""

    name: Annotated[str, _name("a name", "clear night")]
    hours_per_year: Annotated[float, Number("hours in a year", 1200.0, at_least=0, at_most=8784)]
    air_temperature_c: Annotated[Quantity, Varying(Number("a temperature", 5.0, 9.0, at_least=-90, at_most=70, unit="c"))]
    relative_humidity: Annotated[Quantity, Varying(Number("a relative humidity", 0.75, 0.95, at_least=0, at_most=1))]
    wind_m_s: Annotated[Quantity, Varying(Number("a wind speed", 0.5, 2.5, at_least=0, at_most=100, shown=" m/s"))] = (
        Quantity.fixed(1.0)
    )
    visibility_m: Annotated[Quantity, Varying(Number("a visibility", 70.0, 200.0, above=0, unit="m"))] = Quantity.fixed(20_000.0)
    rain_mm_h: Annotated[Quantity, Varying(Number("a rain rate", 2.0, 10.0, at_least=0, at_most=500, shown=" mm/h"))] = (
        Quantity.fixed(0.0)
    )
    snow_mm_h: Annotated[Quantity, Varying(Number("a snow rate (water)", 0.5, 2.0, at_least=0, at_most=100, shown=" mm/h"))] = (
        Quantity.fixed(0.0)
    )
    ground_minus_air_k: Annotated[
        Quantity, Varying(Number("a temperature difference", -3.0, -1.0, at_least=-60, at_most=80, unit="k_difference"))
    ]
    clutter_k: Annotated[
        Quantity, Varying(Number("a temperature difference", 0.1, 0.3, at_least=0, at_most=50, unit="k_difference"))
    ] = Quantity.fixed(0.1)
    wetness: Annotated[Quantity, Varying(_share)] = Quantity.fixed(0.0)
    drop_radius_um: Annotated[Quantity | None, Varying(Number("a drop radius", 4.0, 12.0, above=0, at_most=100, shown=" um"))] = (
        None
    )
    visibility_convention: Annotated[str, OneOf(("optical_range", "visual_range"))] = "optical_range"
    fog: Annotated[str, OneOf(("none", "radiation", "advection"))] = "none"
    sky: Annotated[str, OneOf(("clear", "overcast"))] = "clear"
    front_window: FrontWindow = FrontWindow()

    @property
    def visibility_given(self) -> bool:
        """Whether the user gave `visibility_m`: snow goes by its rate when he did not."""
        return "visibility_m" in self.model_fields_set

    def __eq__(self, other: object) -> bool:
        """Equal when every key is, and when both or neither gave a visibility."""
        same = super().__eq__(other)
        return same if same is not True or not isinstance(other, Weather) else self.visibility_given == other.visibility_given

    __hash__ = None  # type: ignore[assignment]


def check_of(cls: type[Table], key: str) -> Any:
    """The check of one key, or None for a key that holds a table of its own."""
    metadata = cls.model_fields[key].metadata
    return metadata[0] if metadata else None
