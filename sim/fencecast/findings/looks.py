"""What `fencecast explain` and `view` say: the budget of one look, and the numbers beside the camera's picture."""

from __future__ import annotations

from collections.abc import Sequence

from fencecast.cautions import not_modelled
from fencecast.findings.blocks import FINDING, LEFT, NOTE, RIGHT, TITLE, Block, Cell, Heading, Line, Table
from fencecast.findings.limits import limit_lines
from fencecast.findings.lookscene import others_sentence, way_sentences
from fencecast.findings.looktext import celsius_text, distance_text, kelvin_text, lens_text, phrase, signed_kelvin_text, who_text
from fencecast.findings.lookwords import body_sentence, finding
from fencecast.findings.viewwords import reason_text
from fencecast.findings.words import first_upper
from fencecast.onelook.frames import ViewFrame
from fencecast.site import Site

# What the chance of a look is not.
_LOOK_WORDS = "One look, not an alarm: Pd, the probability of an alarm after confirmation, is the answer of `fencecast run`."


def look_blocks(look: dict, site: Site) -> list[Block]:
    """The report; look: the object of `fencecast.explain`."""
    units = site.units
    about = [first_upper(look["weather"]), phrase(look, "fog_text", units), lens_text(site, look["lens"])]
    about.append(who_text(look["who"], look["gait"]))
    blocks: list[Block] = [
        Line(finding(look), FINDING),
        Line(", ".join(part for part in about if part) + f"; every varying quantity at its median. {_LOOK_WORDS}", NOTE),
    ]
    blocks += [Line(text, FINDING) for text in way_sentences(look, units)]
    others = others_sentence(look)
    if others:
        blocks.append(Line(others))
    return [
        *blocks,
        *_body(look, units),
        *_contrast(look, units),
        *_chances(look, units),
        *_air(look, units),
        *_geometry(look, units),
        *limit_lines(tuple(look["not_modelled"])),
    ]


def _body(look: dict, units: str) -> list[Block]:
    """Whose numbers these are, and how warm its surfaces are; nothing for the intruder."""
    body = look["body"]
    if body is None:
        return []
    rows = [
        [rung["name"], signed_kelvin_text(rung["minus_air_k"], units), signed_kelvin_text(rung["after_k"], units), rung["check"]]
        for rung in look["rungs"]
        if rung["part"] == 0
    ]
    columns = [("surface", LEFT), ("above air", RIGHT), ("over the ground, before the air", RIGHT), ("check by hand", LEFT)]
    blocks: list[Block] = [Line(body_sentence(look, units))]
    return [*blocks, Heading(f"Warmth of the {look['who']}"), Table.of(columns, rows)] if rows else blocks


def _contrast(look: dict, units: str) -> list[Block]:
    rows = [
        [
            _named(rung, units),
            "" if rung["factor"] is None else f"x {rung['factor']:.3f}".replace("-", "−"),
            kelvin_text(rung["after_k"], units),
            rung["check"],
        ]
        for rung in look["rungs"]
        if rung["part"] == 1
    ]
    return [
        Heading(f"Contrast of the {look['part']}"),
        Table.of([("step", LEFT), ("factor", RIGHT), ("contrast", RIGHT), ("check by hand", LEFT)], rows),
        Line(
            f"Noise {kelvin_text(look['noise_k'], units)}, threshold {kelvin_text(look['threshold_k'], units)}; strongest pixel "
            f"{kelvin_text(look['peak_k'], units)}, {look['peak_snr']:.1f} times its noise and clutter."
        ),
    ]


def _chances(look: dict, units: str) -> list[Block]:
    rows = [[_named(rung, units), f"{rung['value']:.3f}", rung["check"]] for rung in look["rungs"] if rung["part"] == 2]
    return [Heading("Chances"), Table.of([("step", LEFT), ("value", RIGHT), ("check by hand", LEFT)], rows)]


def _named(rung: dict, units: str) -> Cell:
    return Cell(rung["name"], below=phrase(rung, "detail", units))


def _air(look: dict, units: str) -> list[Block]:
    passed = [
        ("gas", f"{look['water_vapour_g_m3']:.2f} g/m³ of water vapour"),
        ("fog", phrase(look, "fog_text", units) or "haze only"),
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
            f"{part['contrast_w_m2_sr']:+.4f} W/(m²·sr)".replace("-", "−"),
        ]
        for part in look["parts"]
    ]
    ground = f"ground {celsius_text(look['ground_temperature_c'], units)}"
    cover = "" if look["clo"] is None else f", {look['clo']:.2f} clo"
    return [
        Heading(f"Air over {distance_text(look['range_m'], units)}: share that passes"),
        Table.of([("part", LEFT), ("share", RIGHT), ("", LEFT)], rows),
        Heading(f"Body: air {celsius_text(look['air_temperature_c'], units)}, {ground}{cover}"),
        Table.of(
            [("part", LEFT), ("temperature", RIGHT), ("emissivity", RIGHT), ("contrast that arrives, no blur", RIGHT)], parts
        ),
    ]


def _geometry(look: dict, units: str) -> list[Block]:
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
        f"noise {look['noise_w_m2_sr']:.5f} W/(m²·sr), clutter {look['clutter_w_m2_sr']:.5f} W/(m²·sr)",
    ]
    return [Heading("Geometry and noise"), *(Line(line) for line in lines), Line("")]


def view_blocks(frames: Sequence[ViewFrame], site: Site) -> list[Block]:
    """One row for each frame; frames: the list of `fencecast.view`."""
    units = site.units
    rows = [
        [
            frame.weather,
            distance_text(frame.distance_m, units),
            signed_kelvin_text(frame.peak_k, units),
            kelvin_text(frame.threshold_k, units, 2),
            f"{frame.pixels_over} of {frame.pixels}" if frame.pixels else reason_text(frame),
        ]
        for frame in frames
    ]
    columns = [("class", LEFT), ("distance", RIGHT), ("strongest pixel", RIGHT), ("threshold", RIGHT), ("pixels over it", RIGHT)]
    return [
        Line(f"{site.title}: camera {frames[0].camera}, {who_text(frames[0].who, frames[0].gait)}", TITLE),
        Line(_LOOK_WORDS, NOTE),
        Line(""),
        Table.of(columns, rows),
        *limit_lines(not_modelled(frames[0].who != "person", site.calibration is not None)),
    ]
