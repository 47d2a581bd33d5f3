"""What the keys about nuisance alarms mean, in the words of the page of the site file (see `meanings`), and its list of kinds."""

from __future__ import annotations

from fencecast.site.stimuluskinds import BODIES, BURSTS

_KIND = "by kind"

STIMULUS_MEANINGS: dict[str, dict[str, str | tuple[str, str]]] = {
    "stimulus": {
        "kind": "what it is; `body` or `burst` for something else, with all of its numbers",
        "name": ("of the stimulus; `[[soak]]` and results name it", "its kind"),
        "perimeters": ("sections where a body comes", "all"),
        "per_night_100m": ("bodies: encounters a night along 100 m of fence", _KIND),
        "per_night": ("bodies: encounters a night on the whole site; bursts: events a night of each camera", _KIND),
        "density_km2": ("animals: how many live there, with `km_per_night`", _KIND),
        "km_per_night": ("animals: the way that each walks in a night", _KIND),
        "through": ("share of animals that get through a barrier; the others walk along it", _KIND),
        "way": ("`cross`: through the fence; `over` it, in the air or on top; `along` it", _KIND),
        "offset_m": ("ways along the fence: how far from it, negative outside", _KIND),
        "base_m": ("ways over the fence: height of the lowest point of the body", _KIND),
        "pause_s": ("ways over the fence: time on top", _KIND),
        "silhouette": ("shape of a body", _KIND),
        "size_m": ("height, length, breadth of a body; a person has those of `[intruder]`", _KIND),
        "size_sigma_ln": ("spread of the size (sigma of the logarithm)", "0.1"),
        "speed_m_s": ("of a body; a number is the same for all", _KIND + ", sigma of the logarithm 0.4"),
        "coat_m2k_w": ("insulation of the coat, also `{ winter = V, summer = V }`", _KIND + ", sigma of the logarithm 0.25"),
        "leg_m2k_w": ("insulation of the legs", _KIND),
        "rain_share": ("share of the activity that is left in heavy rain", _KIND),
        "duration_s": ("bursts: how long one lasts", _KIND),
        "cycles": ("bursts: cycles that it fills", _KIND),
        "contrast_k": ("bursts: its contrast", _KIND),
        "relative_size": ("bursts: its size over that of a person on the same ground, as the analytics see it", _KIND),
        "on_line_share": ("bursts: share that moves over an armed line in its sense", _KIND),
        "rate_follows": ("bursts: what the rate goes with", _KIND),
        "confused": ("share that is taken for a person when the shape is fully resolved", _KIND),
        "shape_cycles": (
            "cycles at which half of the shapes are told from a person's",
            "bursts: by kind; bodies: of `[decision]`",
        ),
        "bursts": ("how unevenly nights get theirs: size of the negative binomial, small is uneven", _KIND),
        "by_hour": (
            "weights by hour of the day; with `[[weather]]`, which has no hours, a note says that they are not used",
            "all hours alike",
        ),
        "months": (
            "in which it is about; with `[[weather]]`, which has no dates, their share of the year counts",
            "by kind, else all",
        ),
        "active": ("ranges of the weather in which it is about", _KIND),
        "at": ("where a thing stands, or the line of a road: `{ points_m, height_m, name }`", "none"),
        "cameras": ("bursts: marks of the cameras that have it", "all, or with `at` those that see it"),
    },
    "nuisance": {
        "attempts_per_year": ("true attempts a year; without it no share of true alarms is worked out", "none"),
        "uncertainty": "factor either way, at 95 %, of every rate that is given as a number",
        "other_alarms_per_h": "alarms that the operator has from elsewhere",
        "service_s": "time that one alarm takes the operator",
    },
    "soak": {
        "cause": "the name of the stimulus that was counted",
        "nights": "how long",
        "alarms": "how many alarms it raised",
    },
}


def _row(kind) -> str:
    where = ", needs `at`" if getattr(kind, "needs_place", False) else ""
    if kind.family == "burst":
        rate = f"{kind.per_night.value:g} a night and camera"
    elif kind.per_night_100m:
        rate = f"{kind.per_night_100m.value:g} a night and 100 m"
    elif kind.density_km2:
        rate = f"{kind.density_km2.value:g} a km2, {kind.km_per_night.value:g} km a night"
    else:
        rate = "rate: **R**"
    where += ", needs `[weather_file]`" if kind.family == "burst" and kind.law == "sun" else ""
    return f"| {kind.words} | `{kind.name}` | {rate}{where} |"


_ROWS = "\n".join(_row(kind) for kind in (*BODIES, *BURSTS))

STIMULUS_MORE = {
    "stimulus": f"""
A stimulus is anything that can raise an alarm and is no intrusion. Bodies go through the same pictures and rules as an intruder;
bursts (what stands on no ground) are rates with a length, a size and a contrast. Every kind brings its numbers, most of them
judgement: the page on nuisance alarms lists them with their sources. Give one rate, or none where the kind brings one.

| what it is | kind | rate |
| --- | --- | --- |
{_ROWS}

With `kind = "body"` give `silhouette`, `way`, a rate, `size_m`, `speed_m_s`, `confused`, `bursts`; `coat_m2k_w` (not for vehicles
and persons), `leg_m2k_w` (four-legged), and `through`, `offset_m` or `base_m` by the way. With `kind = "burst"` give `per_night`,
`duration_s`, `cycles`, `contrast_k`, `relative_size`, `on_line_share`, `confused`, `shape_cycles`, `bursts`.
""",
    "soak": """
What was counted on the finished site over some nights moves the rate that the file states, and narrows its uncertainty; both stay
visible in the results. Count with all cameras, in all weather of the nights, over the season of the cause: insects counted in
February would take the summer's away. Runs of some classes or cameras use what the count makes of the rate of the whole site.
""",
}
