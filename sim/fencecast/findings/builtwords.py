"""What is said of a camera as it was built: how it is turned, what its marks cannot tell, and what is wrong with readings that do
not fit. For an installer on a ladder: which way, how far."""

from __future__ import annotations

import math

from fencecast.findings.words import listed, plural
from fencecast.prove.built import mistakes
from fencecast.prove.built.built import LENS_FREE_FROM, AsBuilt, BuiltCamera
from fencecast.prove.built.mistakes import NAMES_A_MARK_FROM, Explanation
from fencecast.prove.built.seen import BEARING, DEPRESSION, HEIGHT, ROLL, X, Y

Z95 = 1.959964
# Said in words when surely moved (beyond its 95 % interval), and by so much at least: what a bracket can be set to (judgement).
LEAST_DEG, LEAST_M = 0.3, 0.10
SLOPE = (
    "A slope is invisible: where the ground falls away from a mast by 2 %, everything reads as if the camera looked 1 degree "
    "higher. A pose is relative to the ground through its marks; give z_m in the file of marks where levels are known."
)

MAST = (
    "The interval of a bearing counts on a mast within 0.05 m of the site file's place: one that stands 0.10 m off leaves it at "
    "80 % instead of 95 %, while the written pose still fits the ground it was read on."
)


def moved_words(camera: BuiltCamera) -> list[str]:
    """`K2 looks 1.8 degrees lower than designed: turn it up.`, a sentence for all that surely moved, the farthest first."""
    by, sd = camera.moved, camera.pose.sd
    found = []
    ways = (
        (DEPRESSION, "looks {} lower than designed: turn it up", "looks {} higher than designed: turn it down"),
        (BEARING, "looks {} too far to the right: turn it left", "looks {} too far to the left: turn it right"),
        (ROLL, "leans, its right side {} too low: lift that side", "leans, its left side {} too low: lift that side"),
    )
    for which, more, less in ways:
        size = math.degrees(abs(by[which]))
        if size >= LEAST_DEG and abs(by[which]) > Z95 * sd[which]:
            found.append((size, f"{camera.mark} {(more if by[which] > 0.0 else less).format(_degrees(size))}."))
    found.sort(key=lambda each: -each[0])
    texts = [text for _, text in found]
    if abs(by[HEIGHT]) >= LEAST_M and abs(by[HEIGHT]) > Z95 * sd[HEIGHT]:
        texts.append(
            f"{camera.mark} is mounted {abs(by[HEIGHT]):.2f} m {'higher' if by[HEIGHT] > 0.0 else 'lower'} than designed."
        )
    if "lens" in camera.written:
        texts.append(f"{camera.mark} has a lens of {camera.focal_mm:.2f} mm, not {camera.design_focal_mm:g} mm.")
    return texts


def change_words(camera: BuiltCamera) -> str:
    """`bearing −2.8°, depression −0.2°, roll −0.9°, height +0.03 m`: built minus designed."""
    by = camera.moved
    angles = (("bearing", BEARING), ("depression", DEPRESSION), ("roll", ROLL))
    turns = [f"{name} {signed_number(math.degrees(by[k]), 1)}°" for name, k in angles]
    return ", ".join([*turns, f"height {signed_number(float(by[HEIGHT]), 2)} m"])


def signed_number(value: float, decimals: int) -> str:
    """`+1.8`, `−0.2`; a zero has no sign."""
    text = f"{value:+.{decimals}f}".replace("-", "−")
    return text[1:] if float(text[1:]) == 0.0 else text


def _degrees(size: float) -> str:
    text = f"{size:.1f}"
    return f"{text} degree{'' if text == '1.0' else 's'}"


def misfit_words(camera: BuiltCamera) -> list[str]:
    """Why the readings of a camera that fits no pose may be wrong; one sentence, or a few when several causes fit."""
    start = f"{camera.mark}: its readings fit no pose (p {p_text(camera.pose.p)}), so it keeps the pose of the site file"
    if not camera.explanations:
        if len(camera.marks) < NAMES_A_MARK_FROM:
            return [f"{start}. Three marks show that something is wrong, not which mark; read a fourth."]
        return [f"{start}. No single mistake explains it: read its marks again, and measure their places."]
    if len(camera.explanations) == 1:
        return [f"{start}. One single mistake explains it: {explanation_words(camera, camera.explanations[0])}."]
    causes = [f"{explanation_words(camera, each)} (p {p_text(each.p)})" for each in camera.explanations]
    return [f"{start}. Each of these alone would explain it, the likeliest first: {'; '.join(causes)}."]


def explanation_words(camera: BuiltCamera, cause: Explanation) -> str:
    """One cause, without a full stop."""
    if cause.kind == mistakes.HALF_TURN:
        return "the picture is turned by half; the camera is upside down, or columns and rows were read from the wrong corner"
    if cause.kind == mistakes.MIRROR:
        return "the picture is mirrored, or columns were read from the right"
    if cause.kind == mistakes.EXCHANGED:
        return "column and row are exchanged"
    if cause.kind == mistakes.LARGER:
        size = f"{cause.scale * camera.image.columns}x{cause.scale * camera.image.rows}"
        return f"it was read in a picture {cause.scale} times as large; type --picture {size}"
    if cause.kind == mistakes.SWAPPED:
        return f"marks {cause.marks[0]} and {cause.marks[1]} are exchanged"
    if cause.kind == mistakes.MISREAD:
        return f"mark {cause.marks[0]} was misread, or does not lie where the file says; without it all others fit"
    if cause.kind == mistakes.TAPE:
        fits = f"{cause.pose.value[HEIGHT]:.2f} m fits, not {camera.read.tape_m:.2f} m"
        return f"its height by tape is wrong ({fits}); measure it again"
    if cause.kind == mistakes.MAST:
        beside = math.hypot(*(cause.pose.value[[X, Y]] - camera.design[[X, Y]]))
        return f"it stands {beside:.1f} m beside the place in the site file; measure that, and change position_m there"
    focal = camera.design_focal_mm * math.exp(cause.pose.value[-1])
    return f"its lens has {focal:.2f} mm, not {camera.design_focal_mm:g} mm; look at the lens, then type --lens-free"


def limit_words(found: AsBuilt) -> list[str]:
    """What the marks cannot tell."""
    three = [each.mark for each in found.cameras if len(each.marks) < NAMES_A_MARK_FROM]
    words = []
    if three:
        have = "has three marks" if len(three) == 1 else "have three marks each"
        words.append(f"{listed(three)} {have}: a misread one can be seen, never named. Four tell.")
    few = [each.mark for each in found.cameras if len(each.marks) < LENS_FREE_FROM]
    if few:
        words.append(f"Whether a lens has another focal length, {LENS_FREE_FROM} marks or more show (--lens-free).")
    return [*words, SLOPE, MAST]


def headline(found: AsBuilt) -> str:
    """`K2 looks 1.8 degrees lower than designed; K5 fits no pose: mark 3`, computed from what moved most."""
    odd = [odd_words(each) for each in found.cameras if not each.fits]
    fitting = [each for each in found.cameras if each.fits]
    moved = sorted((each for each in fitting if moved_words(each)), key=lambda each: -_largest_turn(each))
    parts = []
    if moved:
        parts.append(moved_words(moved[0])[0].split(":")[0].rstrip("."))
        if len(moved) > 1:
            parts.append(f"{plural(len(moved) - 1, 'other')} moved too")
    elif fitting:
        parts.append(f"{listed([each.mark for each in fitting])} as designed, as far as the marks tell")
    return "; ".join([*odd[:2], *parts]) or "No camera was read"


def odd_words(camera: BuiltCamera) -> str:
    """`K5 fits no pose: mark 3 misread`, with the likeliest cause where there is one."""
    if not camera.explanations:
        return f"{camera.mark} fits no pose"
    cause = camera.explanations[0]
    alone = "" if len(camera.explanations) == 1 else " perhaps"
    short = {
        mistakes.HALF_TURN: "picture turned by half",
        mistakes.MIRROR: "picture mirrored",
        mistakes.EXCHANGED: "column and row exchanged",
        mistakes.LARGER: f"picture {cause.scale} times as large",
        mistakes.LENS: "another lens",
        mistakes.TAPE: "height by tape wrong",
        mistakes.MAST: "not where the site file has it",
    }.get(cause.kind)
    if cause.kind == mistakes.SWAPPED:
        short = f"marks {cause.marks[0]} and {cause.marks[1]} exchanged"
    elif cause.kind == mistakes.MISREAD:
        short = f"mark {cause.marks[0]} misread"
    return f"{camera.mark} fits no pose:{alone} {short}"


def _largest_turn(camera: BuiltCamera) -> float:
    return max((abs(float(camera.moved[k])) for k in (BEARING, DEPRESSION, ROLL)), default=0.0)


def p_text(p: float) -> str:
    """`0.36`, `0.004`, `<0.001`."""
    return "<0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"
