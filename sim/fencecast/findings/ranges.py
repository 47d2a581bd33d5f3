"""What `fencecast ranges` says: one column for each camera, every number of the JSON object, and what the words mean."""

from __future__ import annotations

from collections.abc import Callable

from fencecast.findings.blocks import LEFT, NOTE, RIGHT, TITLE, Block, Cell, Heading, Line, Table
from fencecast.findings.limits import PD_WORDS, limit_lines
from fencecast.findings.nuisancewords import NOT_AMONG_THEM
from fencecast.findings.words import feet, rate_text
from fencecast.site import Site

_CAMERAS_IN_A_ROW = 6
# What each of the three counts stands for (Johnson 1958).
_TASKS = ("something is there", "a person", "which kind of person")


def alarm_words(confirm_m: int, confirm_n: int) -> str:
    """'90 % of alarms after 3 of 5 looks'."""
    return f"90 % of alarms after {confirm_m} of {confirm_n} looks"


def ranges_blocks(ranges: dict, site: Site) -> list[Block]:
    """The report; ranges: the object of `fencecast.ranges`."""
    cameras, decision = ranges["cameras"], site.decision
    # As many in each part as evenly fit: seven cameras are four and three, not six and one.
    parts = -(-len(cameras) // _CAMERAS_IN_A_ROW)
    each = -(-len(cameras) // parts)
    groups = [cameras[first : first + each] for first in range(0, len(cameras), each)]
    blocks: list[Block] = [Line(site.title, TITLE), Line("")]
    for group in groups:
        blocks += [_table(group, _optics_rows(group, site), "camera"), Line("")]
    blocks[-1:] = [
        Heading("Ranges by counts of cycles"),
        *(block for group in groups for block in (_table(group, _range_rows(group, site), "range, m"), Line(""))),
        Line(
            "Johnson's counts as published (1958, not checked against the original): 1.0, 4.0, 6.4 cycles across the smaller "
            "dimension, 0.5 m of a person; in two dimensions 0.75, 3, 6 cycles on a characteristic dimension of 0.75 m. They "
            "stand for: something is there, it is a person, which kind of person (with a load, say), half of all observers.",
            NOTE,
        ),
        Line(
            f"Looks classified, by this site's decision: 50 % where the person gives {decision.cycles_50.middle():g} cycles "
            "(cycles_50) on sqrt(height x width), 90 % nearer.",
            NOTE,
        ),
        Line(
            f"{PD_WORDS}, reaches 0.90 at shorter distances in the simulator: the counts are for 50 % and one look at full "
            "contrast, a Pd of 0.90 is for nine alarms in ten, each from several looks at a moving person in weather.",
            NOTE,
        ),
        Heading("What the words mean"),
        Line(
            "Slant ranges on axis, small angles, full contrast, for a person of 1.8 x 0.5 m: no weather, no noise. Pixels are on "
            "1.8 m upright.",
            NOTE,
        ),
        Line(
            "Blind ground, the dead zone under a camera: from the camera to where that height enters the picture, along the "
            f"bearing{_blind_words(cameras)} A head leaves where the upper edge of the picture cuts it off.",
            NOTE,
        ),
        Line(
            "Alarms: m of n looks that are independent, one window of n, at full contrast; the same for the smallest posture "
            "that the site's intruders have, crossing the view.",
            NOTE,
        ),
        Line(f"False alarms: from sensor noise alone. {NOT_AMONG_THEM}", NOTE),
    ]
    return [*blocks, *limit_lines(tuple(ranges["not_modelled"]))]


def _blind_words(cameras: list[dict]) -> str:
    values = [value for camera in cameras for value in camera["blind_m"].values()]
    words = []
    if None in values:
        words.append("none: it is in the picture down to the foot of the post")
    if "undefined" in values:
        words.append("undefined: the camera looks over the horizon")
    return f" ({'; '.join(words)})." if words else "."


def _table(cameras: list[dict], rows: list[list[str | Cell]], head: str) -> Table:
    return Table.of([(head, LEFT), *((camera["mark"], RIGHT) for camera in cameras)], rows)


def _row(cameras: list[dict], name: str, value: Callable[[dict], str | Cell]) -> list[str | Cell]:
    return [name, *(value(camera) for camera in cameras)]


def _distance(value: float | str | None, units: str, none: str = "") -> str | Cell:
    """Metres to a tenth, feet below them with units 'us'; words as they are."""
    if value is None:
        return none
    if isinstance(value, str):
        return value
    return Cell(f"{value:,.1f}", below=f"{feet(value):,.0f} ft" if units == "us" else "")


def _optics_rows(cameras: list[dict], site: Site) -> list[list[str | Cell]]:
    units, lenses = site.units, {camera.mark: site.lenses[camera.lens] for camera in site.camera}
    rows = [
        _row(cameras, "lens, mm", lambda c: f"{lenses[c['mark']].focal_length_mm:g}"),
        _row(cameras, "one pixel (IFOV), mrad", lambda c: f"{c['ifov_mrad']:.3g}"),
        _row(cameras, "field, horizontal, degrees", lambda c: f"{c['horizontal_field_deg']:.1f}"),
        _row(cameras, "field, vertical, degrees", lambda c: f"{c['vertical_field_deg']:.1f}"),
    ]
    for part in ("feet", "waist", "head"):
        rows.append(_row(cameras, f"blind ground, {part}, m", lambda c, p=part: _distance(c["blind_m"][p], units, "none")))
    rows.append(_row(cameras, "head leaves the picture at, m", lambda c: _distance(c["head_leaves_frame_m"], units, "never")))
    for key in cameras[0]["pixels_on_person"]:
        rows.append(_row(cameras, f"pixels on a person at {key} m", lambda c, k=key: f"{c['pixels_on_person'][k]:.1f}"))
    rows.append(_row(cameras, "false alarms from noise, per day", lambda c: rate_text(c["noise_alarms_per_day"])))
    return rows


def _range_rows(cameras: list[dict], site: Site) -> list[list[str | Cell]]:
    units, rows = site.units, []
    for table, across in (("cycles_range_m", "across 0.5 m"), ("cycles_2d_range_m", "on 0.75 m")):
        for key, task in zip(cameras[0][table], _TASKS):
            name = f"{task}: {key} cycle{'' if float(key) == 1.0 else 's'} {across}"
            rows.append(_row(cameras, name, lambda c, t=table, k=key: _distance(c[t][k], units)))
    rows.append(_row(cameras, "50 % of looks classified", lambda c: _distance(c["range_50_m"], units)))
    rows.append(_row(cameras, "90 % of looks classified", lambda c: _distance(c["range_90_m"], units)))
    alarm = alarm_words(*site.decision.confirm)
    rows.append(_row(cameras, alarm, lambda c: _distance(c["range_alarm_90_m"], units)))
    smallest = f"the same, {cameras[0]['smallest_gait']}"
    rows.append(_row(cameras, smallest, lambda c: _distance(c["range_alarm_90_smallest_m"], units)))
    return rows
