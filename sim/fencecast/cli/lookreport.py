"""What `fencecast explain` and `eye` print: the budget of one look, and the numbers beside the camera's picture."""

from __future__ import annotations

from fencecast.cautions import CAUTION
from fencecast.cli.layout import LEFT, RIGHT, heading, paragraph, styled, table
from fencecast.findings.looktext import (
    celsius_text,
    distance_text,
    gait_text,
    in_both_units,
    kelvin_text,
    lens_text,
    signed_kelvin_text,
)
from fencecast.findings.lookwords import finding
from fencecast.findings.words import first_upper


def look_report(look: dict, site) -> list:
    """The parts of the report for `output.say`; look: the object of `fencecast.explain`."""
    units = site.units
    contrast = [rung for rung in look["rungs"] if rung["part"] == 1]
    chances = [rung for rung in look["rungs"] if rung["part"] == 2]
    fog = in_both_units(look["fog_text"] or "", units)
    said = [first_upper(look["weather"]), fog, lens_text(site, look["lens"]), f"person {gait_text(look['gait'])}"]
    parts = [
        styled(finding(look), "bold"),
        paragraph(", ".join(part for part in said if part) + "; every varying quantity at its median.", "dim"),
    ]
    if not look["in_frame"]:
        parts.append(paragraph("The person is not in the picture at this distance: nothing of him is drawn.", "bold"))
    rows = [
        [
            _named(rung, units),
            "" if rung["factor"] is None else f"x {rung['factor']:.3f}".replace("-", "−"),
            kelvin_text(rung["after_k"], units),
            rung["check"],
        ]
        for rung in contrast
    ]
    parts += [
        heading("Contrast of the torso"),
        table([("step", LEFT), ("factor", RIGHT), ("contrast", RIGHT), ("check by hand", LEFT)], rows),
        paragraph(
            f"Noise {kelvin_text(look['noise_k'], units)}, threshold {kelvin_text(look['threshold_k'], units)}; strongest pixel "
            f"{kelvin_text(look['peak_k'], units)}, {look['peak_snr']:.1f} times its noise and clutter.",
        ),
        heading("Chances"),
        table(
            [("step", LEFT), ("value", RIGHT), ("check by hand", LEFT)],
            [[_named(rung, units), f"{rung['value']:.3f}", rung["check"]] for rung in chances],
        ),
    ]
    return [*parts, *_air(look, units), *_geometry(look, units), "", styled(CAUTION, "bold")]


def _named(rung: dict, units: str):
    from rich.text import Text

    detail = in_both_units(rung["detail"], units)
    return Text.assemble(rung["name"], ("\n" + detail if detail else "", "dim"))


def _air(look: dict, units: str) -> list:
    passed = [
        ("gas", f"{look['water_vapour_g_m3']:.2f} g/m³ of water vapour"),
        ("fog", in_both_units(look["fog_text"] or "haze only", units)),
        ("rain", ""),
        ("snow", ""),
        ("window", ""),
    ]
    rows = [[name, f"{look[f'tau_{name}']:.3f}", words] for name, words in passed if look[f"tau_{name}"] < 1.0 or name == "gas"]
    rows.append(["all", f"{look['tau']:.3f}", ""])
    parts = [
        [
            part["name"],
            celsius_text(part["temperature_c"], units),
            f"{part['emissivity']:.3f}",
            f"{part['contrast_w_m2_sr']:+.4f} W/m²sr".replace("-", "−"),
        ]
        for part in look["parts"]
    ]
    ground = f"ground {celsius_text(look['ground_temperature_c'], units)}"
    return [
        heading(f"Air over {distance_text(look['range_m'], units)}: share that passes"),
        table([("part", LEFT), ("share", RIGHT), ("", LEFT)], rows),
        heading(f"Body: air {celsius_text(look['air_temperature_c'], units)}, {ground}, {look['clo']:.2f} clo"),
        table([("part", LEFT), ("temperature", RIGHT), ("emissivity", RIGHT), ("contrast that arrives, no blur", RIGHT)], parts),
    ]


def _geometry(look: dict, units: str) -> list:
    behind = look["background_range_m"]
    lines = [
        f"{distance_text(look['distance_m'], units)} along the ground, {distance_text(look['range_m'], units)} slant to mid body"
        + (
            f"; ground behind mid body {distance_text(behind, units)} away"
            if behind is not None
            else "; behind mid body the horizon"
        )
        + ("; an obstacle stands behind" if look["obstacle_behind"] else ""),
        f"{look['pixels_wide']:.1f} x {look['pixels_tall']:.1f} pixels, {look['pixels_in_view']} in view, "
        f"{look['seen_share']:.2f} of the signal seen, {look['cycles']:.2f} cycles",
        f"noise {look['noise_w_m2_sr']:.5f} W/m²sr, clutter {look['clutter_w_m2_sr']:.5f} W/m²sr",
    ]
    return [heading("Geometry and noise"), *(paragraph(line) for line in lines)]


def view_report(frames, site) -> list:
    """One line for each frame, for `output.say`; frames: the list of `fencecast.eye`."""
    units = site.units
    rows = [
        [
            frame.weather,
            distance_text(frame.distance_m, units),
            signed_kelvin_text(frame.peak_k, units),
            kelvin_text(frame.threshold_k, units, 2),
            f"{frame.pixels_over} of {frame.pixels}",
        ]
        for frame in frames
    ]
    columns = [("class", LEFT), ("distance", RIGHT), ("strongest pixel", RIGHT), ("threshold", RIGHT), ("pixels over it", RIGHT)]
    return [
        styled(f"{site.title}: camera {frames[0].camera}, person {gait_text(frames[0].gait)}", "bold"),
        "",
        table(columns, rows),
        styled(CAUTION, "bold"),
    ]
