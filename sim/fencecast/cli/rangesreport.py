"""What `fencecast ranges` prints: one column for each camera, every number of the JSON object, and what the words mean."""

from __future__ import annotations

from fencecast.cautions import CAUTION
from fencecast.cli.layout import LEFT, RIGHT, paragraph, styled, table
from fencecast.findings.words import feet

_CAMERAS_IN_A_ROW = 6


def ranges_report(ranges: dict, site) -> list:
    """The parts of the report for `output.say`; ranges: the object of `fencecast.lensranges`."""
    cameras = ranges["cameras"]
    parts: list = [styled(site.title, "bold")]
    # As many in each block as evenly fit: seven cameras are four and three, not six and one.
    blocks = -(-len(cameras) // _CAMERAS_IN_A_ROW)
    per_block = -(-len(cameras) // blocks)
    for first in range(0, len(cameras), per_block):
        parts += ["", _block(cameras[first : first + per_block], site)]
    decision = site.decision
    legend = [
        "Slant ranges on axis, small angles, full contrast, for a person of 1.8 x 0.5 m: no weather, no noise. "
        "Pixels are on 1.8 m upright.",
        "Cycles count on sqrt(height x width); 1, 4 and 8 are the usual steps to tell that something, that a person, and what "
        "kind of person (with a load, say) is there: common practice, no source.",
        f"50 % and 90 %: where the person gives {decision.cycles_50:g} cycles (cycles_50) and enough for nine of ten looks to be "
        "classified.",
        "Blind ground: from the mast to where that height enters the picture, along the bearing"
        + _blind_words(cameras)
        + " A head leaves where the upper edge of the picture cuts it off.",
        "Noise-only alarms: sensor noise alone, no animals, no weather.",
    ]
    return [*parts, "", *(paragraph(line, "dim") for line in legend), styled(CAUTION, "bold")]


def _blind_words(cameras) -> str:
    values = [value for camera in cameras for value in camera["blind_m"].values()]
    words = []
    if None in values:
        words.append("none: it is in the picture down to the mast")
    if "undefined" in values:
        words.append("undefined: the camera looks over the horizon")
    return f" ({'; '.join(words)})." if words else "."


def _block(cameras: list[dict], site):
    units = site.units
    optics = {camera.mark: camera for camera in site.camera}

    def distance(value) -> str:
        if not isinstance(value, (int, float)):
            return value
        return f"{value:,.1f}" + (f"\n{feet(value):,.0f} ft" if units == "us" else "")

    def row(name: str, unit: str, value) -> list[str]:
        return [f"{name}, {unit}" if unit else name, *(value(camera) for camera in cameras)]

    rows = [
        row("lens", "mm", lambda c: f"{site.lenses[optics[c['mark']].lens].focal_length_mm:g}"),
        row("one pixel (IFOV)", "mrad", lambda c: f"{c['ifov_mrad']:.3g}"),
        row("field, horizontal", "degrees", lambda c: f"{c['horizontal_field_deg']:.1f}"),
        row("field, vertical", "degrees", lambda c: f"{c['vertical_field_deg']:.1f}"),
    ]
    for name in ("feet", "waist", "head"):
        rows.append(
            row(f"blind ground, {name}", "m", lambda c, n=name: distance("none" if c["blind_m"][n] is None else c["blind_m"][n]))
        )
    rows.append(
        row(
            "head leaves the picture at",
            "m",
            lambda c: distance("never" if c["head_leaves_frame_m"] is None else c["head_leaves_frame_m"]),
        )
    )
    for key in cameras[0]["pixels_on_person"]:
        rows.append(row(f"pixels on a person at {key} m", "", lambda c, k=key: f"{c['pixels_on_person'][k]:.1f}"))
    for key in cameras[0]["cycles_range_m"]:
        cycles = "1 cycle" if key == "1" else f"{key} cycles"
        rows.append(row(f"range for {cycles}", "m", lambda c, k=key: distance(c["cycles_range_m"][k])))
    rows.append(row("range for 50 %", "m", lambda c: distance(c["range_50_m"])))
    rows.append(row("range for 90 %", "m", lambda c: distance(c["range_90_m"])))
    rows.append(row("noise-only alarms per day", "", lambda c: alarms_text(c["noise_alarms_per_day"])))
    return table([("camera", LEFT), *((camera["mark"], RIGHT) for camera in cameras)], rows)


def alarms_text(per_day: float) -> str:
    """A rate that may be 1e-37 or 400."""
    return "<0.001" if per_day < 0.001 else f"{per_day:,.3g}" if per_day < 1000 else f"{per_day:,.0f}"
