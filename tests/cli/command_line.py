"""Typing commands in tests: in this process for speed, or in a real one for signals and pipes."""

import io
import signal
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from typing import NamedTuple

CAUTION = "Planning aid: a prediction, not a proof and not life safety. Only tests on the finished site are proof."
PICTURES = ["plan.png", "fence-strip.png", "cause-strip.png", "distance.png", "summary.png", "summary.pdf"]

# Where `place` may put cameras beside the boundary of TINY, and of HOURLY.
MOUNTING = """
[[mounting]]
name = "inside"
points_m = [[-6.0, 2.0], [18.0, 2.0]]
heights_m = [4.0]
spacing_m = 6.0
"""
# One camera, 12 m of boundary in three segments, two classes: under a second to simulate.
TINY = """\
schema = 2
title = "Tiny yard"
seed = 4

[site]
ground = "gravel"
segment_length_m = 4.0

[[perimeter]]
name = "south"
points_m = [[0.0, 0.0], [12.0, 0.0]]
inside = "left"

[sensors.core]
columns = 160
rows = 120
pitch_um = 17.0
netd_mk = 50.0

[lenses.long]
focal_length_mm = 6.0
f_number = 1.0

[[camera]]
mark = "C1"
position_m = [-14.0, 2.0]
height_m = 4.0
aim_m = [6.0, 0.0]
sensor = "core"
lens = "long"

[[rule]]
kind = "line"
perimeter = "south"

[[weather]]
name = "clear night"
hours_per_year = 3000
air_temperature_c = 5.0
relative_humidity = 0.75
ground_minus_air_k = -2.0

[[weather]]
name = "thick fog"
hours_per_year = 200
air_temperature_c = 7.0
relative_humidity = 0.99
ground_minus_air_k = 0.3
fog = "radiation"
visibility_m = 12.0
sky = "overcast"
"""
SECOND_SECTION = """
[[perimeter]]
name = "river side"
points_m = [[12.0, 0.0], [12.0, 8.0]]
inside = "left"
"""
# The same yard with an hourly record autumn.csv, of which the tests write a few weeks.
HOURLY = (
    TINY.split("[[weather]]")[0].replace('ground = "gravel"', 'ground = "gravel"\nlatitude = 54.0\nlongitude = 4.0')
    + """
[weather_file]
path = "autumn.csv"
least_share = 0.05
utc_offset_h = 0.0
time = { column = "time", zone = "local standard", marks = "start" }

[weather_file.columns]
air_temperature = { column = "air_c", unit = "degC" }
relative_humidity = { column = "humidity_percent", unit = "percent" }
wind = { column = "wind_m_s", unit = "m/s" }
cloud = { column = "cloud_okta", unit = "okta" }
visibility = { column = "visibility_m", unit = "m" }
rain = { column = "rain_mm", unit = "mm" }
snow = { column = "snow_mm", unit = "mm" }

[armed]
hours = ["18:00-06:00"]
"""
)
QUICK = ("--precision", "0.1", "--no-pictures")


class Ended(NamedTuple):
    """How a command ended."""

    code: int
    out: str
    err: str


def typed(*words: str) -> Ended:
    """Run a command in this process as a shell would: exit code, standard output, standard error."""
    from fencecast.cli import main

    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        try:
            main([str(word) for word in words], prog_name="fencecast")
            code = 0
        except SystemExit as end:
            code = end.code or 0
    return Ended(code, out.getvalue(), err.getvalue())


def started(*words: str, **options) -> subprocess.Popen:
    """The same in a process of its own."""
    command = [sys.executable, "-m", "fencecast", *(str(word) for word in words)]
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, preexec_fn=hear_interrupts, **options
    )


def hear_interrupts() -> None:
    """In a child before it starts: a shell that runs the tests in the background makes every process ignore SIGINT."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def flat(text: str) -> str:
    """The text on one line, as it was before the console wrapped it."""
    return " ".join(text.split())


def errors_of(ended: Ended) -> list[str]:
    """The lines of standard error that are no progress."""
    return [line for line in ended.err.splitlines() if not line.endswith(" ...")]
