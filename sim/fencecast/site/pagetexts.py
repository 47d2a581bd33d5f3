"""What the page of the site file says besides its keys: how to write values, what needs more than a row, and a glossary."""

from __future__ import annotations

from fencecast.site.review import GROUPS, LIMITS
from fencecast.site.stimulusmeanings import STIMULUS_MORE

OPENING = """\
<!-- Made by `python -m fencecast.site.keypage`; change the schema or its meanings, not this file. -->
# The site file, key by key

A site file is TOML. `fencecast example` writes complete ones to start from; this page lists every key. **R** = required. Unknown
keys are errors with a "did you mean", and all problems of a file come in one report that says what to type instead.

Lengths are metres, or text with a unit (`"14 ft"`, `"0.5 in"`); temperatures are Celsius, or text (`"41 F"`). x points east, y
north, z up; bearings run clockwise from grid north. **V** = a quantity that may vary from crossing to crossing, in
`[decision]` from installation to installation (of a sensor or a mounting error nothing varies but by its own spread): a
number, or one of

    { dist = "uniform", low = 2.0, high = 6.0 }
    { dist = "normal", mean = 4.0, sd = 1.0, low = 0.0, high = 9.0 }        # truncated where low or high is given
    { dist = "lognormal", median = 5.0, sigma_ln = 0.35 }
    { dist = "triangular", low = 1.0, mode = 2.0, high = 5.0 }
    { dist = "choice", values = [0.0, 5.0], weights = [3, 1] }

Keys that are not V are the same in every crossing. Pd, here, is the probability of an alarm after confirmation.
"""

_GROUPS = "\n".join(f"| {group} | {', '.join(f'`{name}`' for name in names)} |" for group, names in GROUPS.items())
_LIMITS = "\n".join(f"| {name} | {default:g} | {number.allowed} |" for name, (default, number) in LIMITS.items())

MORE = {
    **STIMULUS_MORE,
    "check": f"""
`fencecast check` asks these, group by group; `run` looks at none of the three tables.

| group | checks |
| --- | --- |
{_GROUPS}

Limits that `limits` may move, such as `limits = {{ sky-share = 0.20, clear-zone-m = 6.0 }}`:

| limit | default | allowed |
| --- | --- | --- |
{_LIMITS}
""",
    "accept": """
`fencecast check --all` prints the lines to paste behind every finding. `object = "*"` accepts a note on whatever it is found; a
stop or a warning is accepted by its object alone. An accepted stop stays black in the picture, with a ring.
""",
    "land": """
`"own"` is ground that belongs to the site beside what the fence encloses. `"private"` and `"public"` count wherever a camera
makes out people there; `"rail"`, `"water"`, `"plants"`, `"loose"` and `"heat"` where they lie within `path_m` of fence that the
camera watches, because what moves there can look like a crossing.
""",
    "perimeter": """
Where one section ends and another begins, give both the same point: ends within 0.5 m count as touching, and places run on from
one section into the next (`B 108 m to D 2 m`). Crossings of a section happen along that section alone.
""",
    "obstacle": """
Obstacles are solid from the ground to `height_m`: they hide what is behind them and stop paths. Something that is open underneath
(a canopy, a pipe bridge, a conveyor) is not modelled. Write a canopy on posts as its posts, each a small footprint with the
canopy's height, and leave the roof out: people below it are then seen as if it were not there, which is too good for a camera
that looks down through it. Where the roof matters, write it as a solid block once as well, and take the lower Pd of the two.
""",
    "camera": """
Where a table says feet, waist or head, it means 0 m, 1.0 m and 1.8 m above the ground. The ground below and before a camera that
is outside its picture is its blind ground (dead zone): see `fencecast ranges`.
""",
    "rule": """
`offset_m` moves the line square to each edge; within one section corners are mitred. Rule lines of two sections are not joined:
at a corner between them each line ends square to its own section, so with an offset inwards they cross at a corner of less than
180 degrees inside, and leave a gap at a corner of more. Draw such a corner as one section, or give the rule its own `points_m`.
""",
    "decision": """
`confirm = [3, 5]`: an alarm needs 3 looks that pass among the last 5; n is at most 8, because the simulation follows every
pattern of the last n looks. `[1, 1]` is no confirmation. `cycles_50` is stated on no data sheet, and results depend on it: 2.0
is common practice (no source). Choose it so that simulated and walked Pd agree at distances where some walks are missed, the
better the analytics the smaller; until there are walks, run 1.5 and 3.0 too. `dpd_dln_n50` in the results says
how much a change would move Pd.

`size_gate = [0.45, 0]` leaves out what looks smaller than 0.45 of an upright person, `[0.45, 2.5]` also what looks larger than
2.5; a size is the square root of the seen area over that of a person of 1.75 x 0.5 m at the same place of the same picture.
Small animals are a third to a half, but people who crawl are about a half too (0.54 seen end on, flat 0.42), and a person half
hidden is smaller as well: a gate against cats costs crawlers, and `run` counts them as missed for the cause "not accepted".
What is judged is the look with the most cycles of each encounter and camera. `shape_cycles` and `foot_point_px` act on animals
and other bodies that are no intruders, `size_spread` on all.

V here is what is not known of one installation, not what changes from crossing to crossing: `run --installations` draws each once
for every installation, and a plain run takes the mean over them. `cycles_50 = { median = 2.0, sigma_ln = 0.15 }` is short for a
lognormal. `explain` and `ranges` use medians.
""",
    "weather": """
`clutter_k` adds to the noise of every pixel [K of apparent temperature, one sigma]: 0.1 on calm nights; add 0.09 for each m/s of
wind above 1 where leaves or grass move, 0.9 in full sun on patchy ground, and up to 0.2 for heavy rain (judgement, no source; the
rules of an hourly record are the same). To measure it: the standard deviation of a quiet scene in the analytics' difference
picture, in kelvin, less the camera's noise in squares.
""",
    "weather_file": """
A blank field is unknown, not 0: a gauge that fails is blank too. Hours without air temperature, humidity, wind, visibility or
precipitation for more than three hours in a row do not count (a file that never has precipitation is taken as dry). Where a
station leaves the hours blank in which nothing falls, say so in `rain`, `snow` or `precipitation` (nowhere else), and those
fields are 0: `precipitation = { column = "precip", unit = "mm", empty = 0.0 }`. Only blank fields are; what `missing` lists, `NA`
and the like stay unknown. How many were taken as 0 is among the problems that `fencecast weather` lists.
""",
    "prices": """
Prices are yours: none is built in, none is converted, and what has no price is named in the bill and never counted as zero. They
stand where the things stand: `price` of `[sensors.NAME]`, `[lenses.NAME]`, `[[camera]]` and `[[mounting]]`, `camera_price` and
`reaim_price` of `[kit]`, and the rest here. Cameras within 2 m of each other share a mast, which is as high as the highest of
them; a mast at a `[[mounting]]` has the price of that, where one is given. A camera within 0.3 m of an obstacle that does not
move, and not higher than 1 m above its top, is taken to be mounted on it. What `depends_on` names is one thing each; where its
name has the word mast, post, pole, column or tower in it and all cameras of one mast alone have it, it is that mast.
""",
    "item": """
A length of cable is known to you and not to a plan: `per = "camera"`, `number = 25`, `unit = "m"` is 25 m for each camera.
""",
    "calibration": """
`fencecast walk fit` writes this table, with `cycles_50` (the median) and `encounter_correlation` (the mean) of `[decision]`.
`run` then takes Pd as the mean over `weight`, and every interval holds what the walks left open as well as what the crossings
leave open; spreads of `cycles_50` and `encounter_correlation` in `[decision]` are not drawn, because the weights replace them.
`compare`, `place`, `tradeoff`, `study`, `explain` and `ranges` use the values of `[decision]`.
""",
    "armed": """
An hour is armed or not for all of its 60 minutes, by its middle: `"22:50-23:05"` holds no middle and arms nothing. All keys that
are given must hold. Only armed hours count anywhere. Beside [[weather]] tables, which say their own hours, only `check` asks it:
for how long the sun stands in a picture. `fencecast weather SITE.toml` shows what a record holds.
""",
}

GLOSSARY = """\
## Words

| word | what it means here |
| --- | --- |
| installation | one yard as built: its mounting errors, its units' noise and what is not known of the analytics drawn once |
| look | one frame that the analytics judge; `looks_per_s` of them in a second |
| crossing | one simulated intruder on one path over the fence, with everything that varies drawn once |
| segment | a piece of the fence, about `segment_length_m` long; its code is `A 10-12 m` |
| class | a weather class: hours of the year that are alike; never a kind of person |
| Pd | the probability of an alarm after confirmation, of one crossing |
| requirement | the Pd that every metre needs in every class, `pd` of `[requirement]` |
| meets, weak, undecided | the interval of Pd lies above the requirement, below it, or across it: more crossings are needed |
| no data | no rule watches the segment |
| lowest | the place with the lowest Pd, on fresh crossings: the lowest of many estimates is too low by selection |
| place | a stretch of fence, by section and metres: `B 58–68 m` |
| post | a mast or another mounting: where a camera stands |
| blind ground | the dead zone under a camera: ground that its picture does not reach |
| stimulus | anything that can raise an alarm and is no intrusion |
| nuisance alarm | an alarm on a stimulus; false alarm: one without any, sensor noise |
| bad night | 19 nights in 20 have so many alarms or fewer |
| margin | the difference of Pd that is too small to matter; designs within it are equivalent |
| not distinguishable | of two designs: the interval of their difference reaches beyond the margin and across zero |
"""
