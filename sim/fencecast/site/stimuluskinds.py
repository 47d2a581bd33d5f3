"""What is known of each kind of stimulus: bodies that move, and bursts that stand on no ground. Every number has its source.

A stimulus is anything that can raise an alarm and is no intrusion. The values are starting points: almost all of them are
judgement, and a file's own keys (`site.stimuli`) win over them. The table on the documentation's page is made from these rows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

# Marks of sources, as on the documentation's pages: judgement is common practice or judgement, no source.
JUDGEMENT = "judgement"
MEMORY = "published, not checked: handbook figures, from memory"

FAMILIES = ("body", "burst")
SILHOUETTES = ("four-legged", "flying", "vehicle", "person")
WAYS = ("cross", "over", "along")
LAWS = ("fixed", "wind", "sun")


@dataclass(frozen=True)
class Sourced:
    """A number (or some that belong together) and who says so."""

    value: Any
    source: str


def _judged(value: Any, why: str = "") -> Sourced:
    return Sourced(value, f"{JUDGEMENT}: {why}" if why else JUDGEMENT)


def _remembered(value: Any) -> Sourced:
    return Sourced(value, MEMORY)


CARTER = "published: Carter, Luck & McDonald 2012, Australian Mammalogy 34, 175 (abstract: least distance, 4.8 to 16 km)"
JENSEN = "published: Jensen et al. 2022, Animals 12, 1748 (abstract: quartiles 1.3 and 3.7 km)"
JENSEN_RAIN = (
    "published: Jensen et al. 2022, Animals 12, 1748 (abstract: shorter ways in heavy rain); where heavy rain begins is judgement"
)
HEDGEHOGS = (
    "published: Marco-Tresserras & Lopez-Iborra, urban hedgehogs (abstract: males 1.08, females 0.50 km); the middle of both"
)
PALENCIA = "published: Palencia et al. 2019, Journal of Zoology (abstract: 12.74 +- 1.89 km a day, in the south)"
ROE_COUNTS = "published: Wohlfahrt et al. 2025, European Journal of Wildlife Research (abstract: k 1.0 +- 0.11)"
HERDS = "judgement: after Wohlfahrt et al. 2025, European Journal of Wildlife Research (abstract: red deer, k 0.5 +- 0.12)"
CATCHES = "judgement: catches rise with temperature (Insects 2022, 13, 1087, abstract); the limits have no source"
FUR = "judgement: depth of the fur over 0.045 W/(m K), a handbook figure from memory"
LEGS = "judgement: legs that stay above freezing (Klir & Heath 1992, Physiological Zoology 65, 1011, abstract)"

# Rain at and above which `rain_share` of the activity is left [mm/h].
HEAVY_RAIN_MM_H = _judged(2.5)
# Drawn air temperatures below this wear the winter coat [degrees Celsius].
WINTER_COAT_BELOW_C = _judged(10.0)
# Factor either way, at 95 %, of a rate that has no distribution of its own.
UNCERTAINTY = _judged(3.0)
# Rate of wind-blown things over `per_night`: (wind - starts) / per, from 0 to most.
WIND_STARTS_M_S, WIND_PER_M_S, WIND_MOST = _judged(6.0), _judged(6.0), _judged(3.0)
# Rate of sun patches over `per_night`: sun on level ground over this [W/m2], while cloud covers these shares of the sky.
SUN_PER_W_M2, SUN_CLOUD_SHARE = _judged(800.0), _judged((0.2, 0.8))
# Animals that do not get through a barrier walk along it; how far outside [m], negative outwards.
TURNED_OFFSET_M = _judged((-0.6, -0.1))
# Height over the ground of a thing of which the file says only where it stands [m].
ITEM_HEIGHT_M = _judged(2.0)

SPEED_SIGMA_LN, COAT_SIGMA_LN, SIZE_SIGMA_LN = _judged(0.4), _judged(0.25), _judged(0.10)


@dataclass(frozen=True)
class BodyKind:
    """One kind of body. None: the kind has no such number, or the user must give it.

    size_m: height, length, breadth [m]. coat_m2k_w: thermal resistance of the coat [m2 K/W], (winter, summer) where they differ.
    over_air_k: sides, and wheels and bonnet, over the air [K]. through: share that gets through mesh, palisade, wall.
    offset_m: low and high of a uniform [m], negative outside. base_m: the same, of the lowest point over the ground; with
    `base_of_barrier` in heights of the barrier. months: 1 to 12.
    """

    name: str
    words: str
    silhouette: str
    way: str
    bursts: Sourced
    confused: Sourced
    size_m: Sourced | None = None
    speed_m_s: Sourced | None = None
    coat_m2k_w: Sourced | None = None
    leg_m2k_w: Sourced | None = None
    over_air_k: Sourced | None = None
    density_km2: Sourced | None = None
    km_per_night: Sourced | None = None
    per_night_100m: Sourced | None = None
    through: Sourced | None = None
    offset_m: Sourced | None = None
    base_m: Sourced | None = None
    base_of_barrier: bool = False
    pause_s: Sourced | None = None
    active: Sourced | None = None
    months: Sourced | None = None
    rain_share: Sourced | None = None

    family = "body"


@dataclass(frozen=True)
class BurstKind:
    """One kind of burst; all but `per_night` of one event.

    per_night: events a night and camera at full activity. duration_s, cycles, contrast_k, relative_size: median and sigma of the
    logarithm. on_line_share: share of events that move over an armed line in its sense. relative_size: seen area's root over that
    of a person on the same ground. needs_place: whether it stands somewhere (`at`) and is seen from there.
    """

    name: str
    words: str
    per_night: Sourced
    duration_s: Sourced
    cycles: Sourced
    contrast_k: Sourced
    on_line_share: Sourced
    confused: Sourced
    shape_cycles: Sourced
    relative_size: Sourced
    bursts: Sourced
    law: str = "fixed"
    active: Sourced | None = None
    needs_place: bool = False

    family = "burst"


BODIES = (
    BodyKind(
        "hedgehog", "hedgehog", "four-legged", "cross", bursts=_judged(1.0), confused=_judged(0.01),
        size_m=_judged((0.14, 0.25, 0.15)), speed_m_s=_judged(0.25), coat_m2k_w=_judged(0.35), leg_m2k_w=Sourced(0.15, LEGS),
        density_km2=_judged(10.0), km_per_night=Sourced(0.8, HEDGEHOGS), through=_judged((0.5, 0.9, 0.0)),
        active=_judged({"air_temperature_c": (5.0, 99.0)}, "asleep in the cold"),
    ),
    BodyKind(
        "cat", "cat", "four-legged", "cross", bursts=_judged(1.0), confused=_judged(0.02),
        size_m=_remembered((0.28, 0.46, 0.13)), speed_m_s=_judged(0.8), coat_m2k_w=Sourced(0.27, FUR),
        leg_m2k_w=Sourced(0.15, LEGS),
        density_km2=_judged(50.0, "towns have 200 to 1,500 (Urban Ecosystems 2014, 10.1007/s11252-014-0360-5)"),
        km_per_night=Sourced(2.4, JENSEN), through=_judged((0.3, 0.8, 0.0)), rain_share=Sourced(0.67, JENSEN_RAIN),
    ),
    BodyKind(
        "fox", "fox", "four-legged", "cross", bursts=_judged(1.0), confused=_judged(0.03),
        size_m=_remembered((0.40, 0.70, 0.16)), speed_m_s=_judged(1.2), coat_m2k_w=Sourced((0.70, 0.33), FUR),
        leg_m2k_w=Sourced(0.15, LEGS), density_km2=_judged(3.0), km_per_night=Sourced(9.4, CARTER),
        through=_judged((0.2, 0.6, 0.0)),
    ),
    BodyKind(
        "dog", "dog, loose", "four-legged", "cross", bursts=_judged(0.5), confused=_judged(0.05),
        size_m=_judged((0.60, 0.90, 0.24)), speed_m_s=_judged(1.5), coat_m2k_w=Sourced(0.25, FUR), leg_m2k_w=Sourced(0.12, LEGS),
        density_km2=_judged(0.3), km_per_night=_judged(5.0), through=_judged((0.05, 0.1, 0.0)),
    ),
    BodyKind(
        "roe deer", "roe deer, head up", "four-legged", "cross", bursts=Sourced(1.0, ROE_COUNTS), confused=_judged(0.10),
        size_m=_judged((0.95, 1.05, 0.25)), speed_m_s=_judged(1.2), coat_m2k_w=Sourced(0.65, FUR), leg_m2k_w=Sourced(0.15, LEGS),
        density_km2=_judged(5.0), km_per_night=_remembered(2.5), through=_judged((0.0, 0.0, 0.0)),
    ),
    BodyKind(
        "boar", "wild boar", "four-legged", "cross", bursts=Sourced(0.5, HERDS), confused=_judged(0.08),
        size_m=_judged((0.75, 1.20, 0.35)), speed_m_s=_judged(1.2), coat_m2k_w=Sourced(0.45, FUR), leg_m2k_w=Sourced(0.12, LEGS),
        density_km2=_judged(1.0), km_per_night=Sourced(12.7, PALENCIA), through=_judged((0.02, 0.0, 0.0)),
    ),
    BodyKind(
        "bird", "bird that alights on the fence or the ground", "flying", "over", bursts=_judged(0.5), confused=_judged(0.02),
        size_m=_judged((0.25, 0.45, 0.60)), speed_m_s=_judged(8.0), coat_m2k_w=Sourced(0.35, FUR),
        per_night_100m=_judged(2.0, "most at dawn"), base_m=_judged((0.0, 1.0)), base_of_barrier=True, pause_s=_judged(10.0),
    ),
    BodyKind(
        "bat", "bat or another low flyer", "flying", "over", bursts=_judged(0.5), confused=_judged(0.01),
        size_m=_judged((0.05, 0.10, 0.30)), speed_m_s=_judged(6.0), coat_m2k_w=Sourced(0.15, FUR), per_night_100m=_judged(5.0),
        base_m=_judged((1.0, 6.0)), pause_s=_judged(0.0), active=_judged({"air_temperature_c": (8.0, 99.0)}),
        months=_judged((4, 5, 6, 7, 8, 9, 10)),
    ),
    BodyKind(
        "people", "people who pass outside", "person", "along", bursts=_judged(2.0),
        confused=Sourced(1.0, "definition: they are people"),
        offset_m=_judged((-6.0, -1.0)),
    ),
    BodyKind(
        "vehicle", "vehicle on a road", "vehicle", "along", bursts=_judged(2.0), confused=_judged(0.01),
        size_m=_judged((1.5, 4.5, 1.8)), speed_m_s=_judged(8.0), over_air_k=_judged((2.0, 10.0)),
    ),
)  # fmt: skip

BURSTS = (
    BurstKind(
        "insect", "insect near the lens", per_night=_judged(30.0), duration_s=_judged((0.35, 0.6)), cycles=_judged((3.0, 0.5)),
        contrast_k=_judged((2.0, 0.7)), on_line_share=_judged(0.2), confused=_judged(0.05), shape_cycles=_judged(8.0),
        relative_size=_judged((1.0, 1.0)), bursts=_judged(0.5),
        active=Sourced({"air_temperature_c": (8.0, 99.0), "wind_m_s": (0.0, 4.0), "rain_mm_h": (0.0, 0.2)}, CATCHES),
    ),
    BurstKind(
        "web", "web or insect on the window", per_night=_judged(1.5), duration_s=_judged((20.0, 1.0)), cycles=_judged((4.0, 0.5)),
        contrast_k=_judged((2.5, 0.6)), on_line_share=_judged(0.15), confused=_judged(0.10), shape_cycles=_judged(8.0),
        relative_size=_judged((1.0, 1.0)), bursts=_judged(0.3), active=_judged({"air_temperature_c": (6.0, 99.0)}),
    ),
    BurstKind(
        "branch", "branch or cover in the wind, for each camera that sees it",
        per_night=_judged(20.0), duration_s=_judged((1.5, 0.8)),
        cycles=_judged((2.5, 0.5)), contrast_k=_judged((0.8, 0.6)), on_line_share=_judged(0.1), confused=_judged(0.10),
        shape_cycles=_judged(6.0), relative_size=_judged((0.8, 0.6)), bursts=_judged(0.3), law="wind",
        active=_judged({"wind_m_s": (6.0, 99.0)}), needs_place=True,
    ),
    BurstKind(
        "vent", "steam from a vent, for each camera that sees it", per_night=_judged(10.0), duration_s=_judged((4.0, 0.8)),
        cycles=_judged((5.0, 0.6)), contrast_k=_judged((3.0, 0.6)), on_line_share=_judged(0.1), confused=_judged(0.10),
        shape_cycles=_judged(6.0), relative_size=_judged((1.5, 0.6)), bursts=_judged(0.7), needs_place=True,
    ),
    BurstKind(
        "sun", "patches of sun and cloud by day", per_night=_judged(5.0), duration_s=_judged((10.0, 1.0)),
        cycles=_judged((4.0, 0.6)),
        contrast_k=_judged((2.0, 0.6)), on_line_share=_judged(0.1), confused=_judged(0.05), shape_cycles=_judged(6.0),
        relative_size=_judged((1.5, 0.8)), bursts=_judged(0.3), law="sun",
    ),
)  # fmt: skip

KINDS: dict[str, BodyKind | BurstKind] = {kind.name: kind for kind in (*BODIES, *BURSTS)}
# What users may call a kind, and what is nearest to one.
OTHER_WORDS: dict[str, tuple[str, ...]] = {
    "hedgehog": ("rat", "rabbit"),
    "cat": ("rabbit", "hare", "marten"),
    "fox": ("badger",),
    "dog": ("badger",),
    "roe deer": ("deer", "roe"),
    "boar": ("wild boar", "pig"),
    "bird": ("gull", "seagull", "pigeon", "crow", "owl"),
    "bat": ("flyer",),
    "people": ("person", "pedestrian", "passer-by", "passers-by", "walker"),
    "vehicle": ("car", "lorry", "truck"),
    "insect": ("moth", "fly", "mosquito"),
    "web": ("spider", "cobweb"),
    "branch": ("tree", "leaves", "bush", "flag", "tarpaulin", "cover"),
    "vent": ("steam", "smoke", "exhaust"),
    "sun": ("cloud", "shadow"),
}


def family_of(kind: str) -> str:
    """`"body"` or `"burst"` of a kind's name, those that bring no numbers of their own included."""
    return kind if kind in FAMILIES else KINDS[kind].family
