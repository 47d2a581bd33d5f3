"""Why nobody is in view or heard, on small sites whose one fault is known: the sentence names it."""

import pytest

from fencecast.estimate.results import Results
from fencecast.estimate.weakest import lowest_places
from fencecast.findings.readings import reading
from fencecast.job import run
from fencecast.site import parse_site
from kernels.kernel_sites import CAMERA, FENCE, LINE, NIGHT, site_text

FAR = CAMERA | {"mark": "C2", "position_m": [44.0, 2.0], "aim_m": [28.0, 2.0]}
NEAR = CAMERA | {"position_m": [-4.0, 2.0], "aim_m": [12.0, 2.0]}
LONG = {"focal_length_mm": 5.0, "f_number": 1.0}
BALES = {"name": "Bales", "footprint_m": [[10.0, 0.3], [14.0, 0.3], [14.0, 3.0], [10.0, 3.0]], "height_m": 2.0}
SHED = {"name": "Shed", "footprint_m": [[6.0, 2.6], [10.0, 2.6], [10.0, 4.0], [6.0, 4.0]], "height_m": 3.0}
THIN = NIGHT | {"clutter_k": 0.8}
DEEP, C1_ONLY = LINE | {"offset_m": 1.0}, LINE | {"cameras": ["C1"]}
ELSEWHERE = FAR | {"aim_m": [70.0, 30.0]}


def said(at_m: float, **tables) -> str:
    """The sentences of the named place that holds this chainage."""
    site = parse_site(site_text(segment_length_m=2.0, lens=LONG, **tables))
    results = Results.of(run(site, precision=0.05, max_crossings=256))
    for place in lowest_places(results):
        starts, ends = results["segment_start_m"].values, results["segment_end_m"].values
        if starts[place.segments[0]] <= at_m < ends[place.segments[-1]]:
            return reading(results, place)
    raise AssertionError(f"nothing is named at {at_m} m")


@pytest.mark.parametrize(
    ("at_m", "tables", "words"),
    [
        (
            11.0,
            {"camera": (NEAR, FAR), "obstacle": (BALES,), "rule": (DEEP,)},
            "The rule's line is blocked by the Bales",
        ),
        (39.5, {"camera": (NEAR, FAR), "rule": (LINE | {"offset_m": 3.0},)}, "The fence and its rule end here"),
        (38.0, {"camera": (NEAR | {"aim_m": [2.0, 2.0]},)}, "No camera assigned here sees so far: C1, "),
        (1.0, {"camera": (CAMERA,)}, "No camera assigned here sees the blind ground below C1, within "),
        (20.0, {"camera": (ELSEWHERE,)}, "No camera assigned here looks this way; the nearest is C2, "),
        (
            31.0,
            {"camera": (NEAR, FAR), "rule": (C1_ONLY,), "weather": (THIN,)},
            "no rule here listens to C2: heard too, Pd ",
        ),
        (38.0, {"camera": (NEAR, ELSEWHERE)}, "Best camera here: C1, "),
    ],
)
def test_the_fault_is_named(at_m, tables, words):
    """Catches: one reason for all; a reason of another place; a camera that could be heard for nothing left unsaid."""
    assert words in said(at_m, **tables)


def test_what_hides_a_place_is_named_with_what_is_seen_without_it():
    """Catches: a hidden place called out of view without a name, or by the name of an obstacle that hides nothing."""
    stack = SHED | {"name": "Stack", "footprint_m": [[30.0, -3.0], [34.0, -3.0], [34.0, -2.0], [30.0, -2.0]]}
    screen = {"name": "Screen", "footprint_m": [[4.0, 0.1], [4.4, 0.1], [4.4, 2.0], [4.0, 2.0]], "height_m": 4.0}
    text = said(12.0, camera=(NEAR | {"position_m": [-4.0, 3.0], "aim_m": [12.0, 0.0]},), obstacle=(stack, screen))
    assert text.startswith("Hidden by the Screen from C1, ") and "without it Pd " in text and "Stack" not in text


def test_a_nearer_camera_that_is_of_no_use_is_said():
    """Catches: a far camera called the best without a word for the near one that looks elsewhere."""
    text = said(36.0, camera=(NEAR, ELSEWHERE), weather=(THIN,))
    assert "(C2, only 5 m away, looks the other way)" in text or "(C2, only 8 m away, looks" in text


def test_nothing_is_said_of_a_fence_without_the_fault():
    """Catches: sentences that are always there."""
    ring = FENCE | {"points_m": [[0.0, 0.0], [30.0, 0.0]]}
    results = Results.of(run(parse_site(site_text(perimeter=(ring,), camera=(NEAR, FAR), segment_length_m=2.0)), precision=0.05))
    text = " ".join(reading(results, place) for place in lowest_places(results))
    assert not any(word in text for word in ("Hidden", "blocked", "end here", "listens", "elsewhere"))
