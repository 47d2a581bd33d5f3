"""The words of an aim sheet that say what is to be done: how a camera is turned by its marks, what is kept clear.

Tests: tests/findings/test_aim_words.py.
"""

from __future__ import annotations

from fencecast.findings.words import listed
from fencecast.prove.aim import CameraAim
from fencecast.prove.marks import BOTTLE_M, FEWEST, PERSON_M
from fencecast.prove.mount import Mount

CLEAR_BELOW_M, LENS_CLEAR_M = 0.3, 0.5  # common practice, no source
NO_MARKS = {
    "over the horizon": "it looks over the horizon, and no ground is in its picture",
    "no fence": "no ground beside the fence is in its picture",
    "hidden": "a building or a fence hides all ground beside the fence that is in its picture",
    "too far": "the ground beside the fence that it sees is too near to the picture's edge or too far away to be read",
}


def no_marks_words(camera: CameraAim) -> str:
    """Why a camera has no marks, as a sentence."""
    return f"No marks: {NO_MARKS[camera.choice.reason]}."


def how_lines(camera: CameraAim) -> tuple[str, ...]:
    """What to do, in order."""
    mount, choice = camera.mount, camera.choice
    level = "Level the bracket (roll), then set the height."
    per_degree = f"{mount.px_per_deg:.1f} px in the middle of the picture are 1 degree."
    if not choice.marks:
        told = f"{no_marks_words(camera)} Set bearing and depression by instrument."
        look = "Look for the fence, the buildings and the horizon where the picture on the left has them."
        return (level, told, *(() if mount.only_sky else (look,)), per_degree)
    numbers = "mark 1" if len(choice.marks) == 1 else f"marks 1 to {len(choice.marks)}"
    if choice.stands_on == "bottle":
        stand = f"stand a bottle of hot water ({BOTTLE_M:g} m) on a mark, and read where its foot appears."
    else:
        stand = f"let a person ({PERSON_M:g} m) stand on a mark, and read the middle of the feet."
    lines = [
        level,
        f"Put out {numbers} by tape. Paint is not seen in a thermal picture: {stand}",
        "Turn the camera until mark 1 is right" + (", then check the others." if len(choice.marks) > 1 else "."),
        "A mark too far left: turn the camera left. Too low: tilt it down. Turn towards where the mark is.",
        per_degree,
        f"Right when {'the mark' if len(choice.marks) == 1 else 'every mark'} is within {tolerance_words(mount)}"
        f"{_unless_given(mount)}.",
    ]
    if len(choice.marks) >= FEWEST:
        lines.append(
            "All marks off the same way: bearing or depression. Left ones high and right ones low, or the other way: roll. "
            "Near ones off, far ones right: height."
        )
    else:
        lines.append("With fewer than three marks roll and height cannot be checked by the picture: measure both.")
    return tuple(lines)


def tolerance_words(mount: Mount) -> str:
    """`3 px, both ways`, `3 px across and 2 px up and down`."""
    across, down = mount.tolerance_px
    return f"{across} px, both ways" if across == down else f"{across} px across and {down} px up and down"


def _unless_given(mount: Mount) -> str:
    return "" if mount.tolerance_given else " (the site file allows no error: [tolerance] is not given)"


def told_words(camera: CameraAim) -> str:
    """What the marks tell when they are read to one pixel; "" for too few."""
    sd = camera.choice.sd
    if not sd:
        return ""
    parts = [f"{key.split('_')[0]} to {value:.2f}{' m' if key.endswith('_m') else '°'}" for key, value in sd.items()]
    return f"Read to 1 px each, these marks tell {listed(parts)} (one standard deviation)."


def keep_clear_words(mount: Mount) -> tuple[str, ...]:
    """What may not stand in the way, and for which lens the numbers are."""
    return (
        "Keep clear: nothing may stand, lie or grow in the shaded ground of the plan higher than "
        f"{CLEAR_BELOW_M:g} m, not for one night, and nothing within {LENS_CLEAR_M:g} m of the lens in its field. Hood, bracket "
        "and cable stay out of the picture.",
        f"These numbers are for {mount.focal_length_mm:g} mm and a sensor of {mount.columns} × {mount.rows} pixels; with another "
        "lens the sheet is void.",
    )
