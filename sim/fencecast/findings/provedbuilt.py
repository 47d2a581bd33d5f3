"""Cameras as built, for the report: from the file of `fencecast built`.

Tests: tests/findings/test_proved_words.py.
"""

from __future__ import annotations

from fencecast.findings.blocks import BAD, LEFT, NOTE, RIGHT, TEXT, UNBROKEN, Block, Cell, Heading, Line, Table
from fencecast.findings.words import (
    listed,
    number_word,
    plural,
)
from fencecast.prove.proof.builtfile import BuiltPart, CameraPart

Z95 = 1.959964
# What a bracket can be set to (judgement): less is not worth a word.
LEAST_DEG, LEAST_M = 0.3, 0.10
_ANGLES = (("bearing_deg", "bearing"), ("depression_deg", "depression"), ("roll_deg", "roll"))


def moved(camera: CameraPart) -> bool:
    """Whether the marks say for certain that a camera is not as it was designed, by as much as a bracket can be set to."""
    turned = any(_certain(camera, name, LEAST_DEG) for name, _ in _ANGLES)
    return camera.fits and (turned or any(_certain(camera, name, LEAST_M) for name in ("height_m", "x_m", "y_m")))


def _certain(camera: CameraPart, name: str, least: float) -> bool:
    by = abs(getattr(camera.moved, name))
    return by >= least and by > Z95 * getattr(camera.sd, name)


def built_finding(built: BuiltPart) -> str:
    """`Of two cameras that were measured one is not as designed, and one fits no pose.` Which is not said."""
    many, odd, off = len(built.cameras), sum(not camera.fits for camera in built.cameras), sum(map(moved, built.cameras))
    start = "The one camera that was measured" if many == 1 else f"Of {plural(many, 'camera')} that were measured"
    if many == 1:
        return (
            f"{start} {'fits no pose' if odd else 'is not as designed' if off else 'is as designed, as far as its marks tell'}."
        )
    parts = [f"{number_word(off)} {'is' if off == 1 else 'are'} not as designed"] if off else []
    parts += [f"{number_word(odd)} {'fits' if odd == 1 else 'fit'} no pose"] if odd else []
    return f"{start} {', and '.join(parts)}." if parts else f"{start} all are as designed, as far as their marks tell."


def client_built_finding(built: BuiltPart) -> str:
    """The same without a count of cameras, for the edition that is passed on."""
    odd, off = any(not camera.fits for camera in built.cameras), any(map(moved, built.cameras))
    if not (odd or off):
        return "The cameras that were measured are as designed, as far as their marks tell."
    said = ["hang differently from the drawing"] if off else []
    return f"Some cameras {' and '.join([*said, *(['could not be measured well enough'] if odd else [])])}."


def camera_blocks(built: BuiltPart) -> list[Block]:
    """A row for each camera, and those that fit no pose or were not read."""
    rows: list[list[str | Cell]] = []
    for camera in built.cameras:
        names = [*((name, 1) for name, _ in _ANGLES), ("height_m", 2)]
        changes = [_change(getattr(camera.moved, name), getattr(camera.sd, name), digits) for name, digits in names]
        state = Cell("moved" if moved(camera) else "as designed", TEXT) if camera.fits else Cell("fits no pose", BAD)
        rows.append([camera.mark, *(changes if camera.fits else [""] * len(changes)), state])
    columns = [("camera", UNBROKEN), *((f"{word}, °", RIGHT) for _, word in _ANGLES), ("height, m", RIGHT), ("found", LEFT)]
    blocks: list[Block] = [
        Heading("Cameras as built"),
        Table.of(columns, rows),
        Line(
            "Built minus designed, with the half width of the 95 % interval that the marks leave. Positive: to the right, lower, "
            "right side lower, higher up. A pose is relative to the ground through its marks: a slope is invisible.",
            NOTE,
        ),
    ]
    for camera in built.cameras:
        if not camera.fits:
            why = listed([each.what for each in camera.explanations]) if camera.explanations else "no single mistake explains it"
            blocks.append(Line(f"{camera.mark} fits no pose and counts as designed: {why}."))
    if built.not_read:
        blocks.append(Line(f"Not measured, as designed: {listed(list(built.not_read))}."))
    return blocks


def _change(by: float, sd: float, decimals: int) -> str:
    return f"{by:+.{decimals}f} ±{Z95 * sd:.{decimals}f}".replace("-", "−")
