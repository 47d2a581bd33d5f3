"""The page of the study file, made from the schema: `python -m fencecast.decide.study.keypage` writes it anew."""

from __future__ import annotations

from collections.abc import Mapping

from fencecast.cautions import CAUTION
from fencecast.decide.compare.designs import COMPARE_MEANINGS
from fencecast.decide.study.file import NEEDED, SHARED, TOP, Equal, Yard
from fencecast.decide.study.results import STUDY_MEANINGS
from fencecast.decide.study.yards import Yards
from fencecast.site.keypage import key_table, top_table, write
from fencecast.site.meanings import Meaning

OPENING = """\
<!-- Made by `python -m fencecast.decide.study.keypage`; change the schema or the meanings there, not this file. -->
# The study file, key by key

For `fencecast study STUDY.toml`. What a site file has too is written as [there](site-file.md); these tables hold for every yard:
{shared}. A worked one: `fencecast example yard-study`. **R** = required.
"""
MEANINGS: dict[str, dict[str, Meaning]] = {
    "": {
        "schema": "the format of the file",
        "title": "what tables and pictures are called",
        "seed": "of the crossings; every yard has crossings of its own, which all of its layouts meet",
        "units": '`"us"` shows feet and Fahrenheit beside SI',
        "strategies": '`"chain"`, `"corner pairs"`, `"back to back"`, `"from buildings"`, or your own as `"module:function"`: '
        "a module in the folder where you stand (a worked one: `fencecast example own-strategy`)",
        "lens": ("the lenses to try each strategy with", "every `[lenses.NAME]`"),
        "base": ("the strategy that differences in the file are taken against", "the best of the year"),
        "design_weather": "what heights, depressions and spacing are made for",
        "crossings": "of each segment in each class, in steps of 8",
    },
    "equal": {
        "by": "what every layout may use as much of",
        "number": ("amounts for every yard", "needed without `per_100_m`"),
        "per_100_m": ("amounts for every 100 m of fence", "needed without `number`"),
    },
    "yards": {
        "count": "how many yards",
        "seed": "of the yards: the same seed, the same yards",
        "shape": 'of `"rectangle"`, `"l"`, `"irregular"` (five or six corners)',
        "side_m": "shortest and longest side of the box that a yard is made from",
        "buildings": "how many: fewest and most",
        "building_height_m": "how tall: lowest and highest",
        "clutter": "stacks of containers beside the fence: fewest and most",
        "heights_m": "heights at which cameras may be mounted",
        "mast_inside_m": "how far inside the fence masts stand",
        "no_mast_m": "a stretch of each side without masts, shortest and longest (at most 60 % of a side)",
        "barrier": "of the fence, 2.4 m high",
    },
    "yard": {"path": "a site file as a yard, from the folder of the study file"},
}

HOURS = """\
## An hourly record as weather

`[weather_file]` (its path from the folder of the study file) and `[armed]` give every yard the same hours; with `[[yard]]` a
study then needs a `[site]` of its own, so that ground and place are the same too. A study without weather takes the record of
its `[[yard]]` files when they all have the same one. Armed hours are sorted into classes; a crossing happens in one hour of its
class, with that hour's joint values, and all layouts of a yard meet the same hour at the same crossing. Designs are ranked by the
mean Pd over all armed hours, which is that of the classes weighted by their hours. Intervals are over yards: what other years
would bring is in none of them.
"""
STUDY_DIMENSIONS = """\
Dimensions: `allowance`, `yard`, `strategy`, `lens`, `weather` (the last one is all of it), `design` and `other` (a strategy with
a lens), `scrambling`. The attributes hold the study file, the yards' settings, the base, the code and the record.

"""
COMPARE_DIMENSIONS = """\
Of `fencecast compare`. Dimensions: `variant`, `compared` (all but the first), `weather`, `segment`, `scrambling`, `lens`,
`distance`. What a run has too is named as in `results.nc`.

"""


def _variables(meanings: Mapping[str, tuple[str, str]]) -> str:
    rows = "".join(f"| `{name}` | {unit} | {meaning} |\n" for name, (unit, meaning) in meanings.items())
    return "| variable | unit | meaning |\n| --- | --- | --- |\n" + rows


def study_page() -> str:
    """The page as Markdown."""
    brackets = {"sensors": "[sensors.NAME]", "lenses": "[lenses.NAME]"}
    weather = ("weather", "weather_file", "armed")
    shared = ", ".join(f"`{brackets.get(name, f'[{name}]')}`" for name in SHARED if name not in weather)
    shared += ", and `[[weather]]` or `[weather_file]` with `[armed]`"
    return "\n".join(
        [
            OPENING.format(shared=shared),
            "## Top level\n\n" + top_table(TOP, NEEDED, MEANINGS[""]),
            "## `[equal]`: what a layout may use\n\n" + key_table(Equal, MEANINGS["equal"]),
            "The first amount is the one that is judged; others make the cost-performance fronts.\n",
            "## `[yards]`: invented yards\n\n" + key_table(Yards, MEANINGS["yards"]),
            "Yard 7 stays yard 7 when `count` grows.\n",
            "## `[[yard]]`: site files as yards\n\n" + key_table(Yard, MEANINGS["yard"]),
            "Beside or instead of `[yards]`. A site file's fences, obstacles, rules and mountings count; its cameras are left\n"
            "out, and the study's tables stand in place of its own.\n",
            HOURS,
            "## What `study.nc` holds\n\n" + STUDY_DIMENSIONS + _variables(STUDY_MEANINGS),
            "## What `compare.nc` holds\n\n" + COMPARE_DIMENSIONS + _variables(COMPARE_MEANINGS),
            f"**{CAUTION}**\n",
        ]
    )


if __name__ == "__main__":
    write("study-file.md", study_page())
