"""What lies under a mast, and what behind a camera; metres at their limit; gaits beside walkers."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fencecast.findings.checksentences import fix_text, measured_text
from fencecast.review import inview
from fencecast.review.cycles import GAITS
from fencecast.review.finding import over
from fencecast.review.optics import eyes_of
from fencecast.review.review import check as review
from review.yards import alone, base, found, metres


def test_what_lies_behind_a_camera_is_not_under_its_mast():
    """Catches: ground behind or beside a camera said to be under it, with the advice to tilt it down. The camera stands in the
    middle and looks along the fence at +90 degrees: below its frame lie 20 m to 27 m (3 m over tan 22.65 degrees are 7.2 m), and
    what is farther back than its foot can be had by turning it alone."""
    site = alone(position_m=[20.0, 1.5])
    mast, out = found(site, "under-mast"), found(site, "not-in-view")
    assert [f.name for f in mast] == ["A"]
    ((start, end),) = metres(mast)
    assert 20.0 - inview._FOOT_M <= start <= 20.0 and end == pytest.approx(27.0, abs=0.6)
    ((first, last),) = metres(out)
    assert first == 0.0 and last == pytest.approx(start, abs=0.6)
    assert out[0].facts["cameras"] == "A" and 5.0 < out[0].facts["behind"] < 12.0
    assert "behind or beside A, which stands near" in measured_text(site, out[0]) and "tilting does not" in fix_text(site, out[0])
    assert "or tilt it down" in fix_text(site, mast[0])
    assert "tilt" not in fix_text(site, replace(mast[0], facts={**mast[0].facts, "tilts": 0.0}))


def test_tilting_brings_in_what_is_said_to_lie_beneath():
    """Catches: a wrong side of the axis or a wrong width. The reference tilts the camera by brute force and asks its frame."""
    eye = eyes_of(base())[0]
    x, y = eye.x_m + np.linspace(-12.0, 12.0, 49)[:, None], eye.y_m + np.linspace(-6.0, 6.0, 25)[None]
    x, y = (a.ravel() for a in np.broadcast_arrays(x, y))
    tilts = [eye.turned(depression_rad=t) for t in np.arange(0.0, math.pi / 2 - eye.depression_rad + 0.002, 0.002)]
    shown = np.any([tilted.frames(x, y, 1.0) for tilted in tilts], axis=0)
    below = shown & ~eye.frames(x, y, 1.0) & (np.hypot(x - eye.x_m, y - eye.y_m) < eye.blind_m(1.0))
    said = eye.beneath(x, y, 1.0)
    assert below.sum() > 20 and (said & ~shown).sum() == 0
    # A camera that points straight down also has a little ground behind it; and one step of the tilt at the edge.
    assert (below & ~said).sum() <= 0.35 * below.sum()


def test_what_is_printed_as_equal_to_its_limit_is_no_finding():
    """Catches: half metres that add up to 3.0000000004, or >= in place of >: "3.0 m; limit 3 m" is within the limit."""
    assert not over(3.0000000004, 3.0) and not over(3.04, 3.0) and over(3.06, 3.0) and not over(3.0, 3.0)
    site = base(a={"position_m": [-1.0, 1.5]}, decision={"cycles_50": 2.3})
    (far,) = [f for f in found(site, "gait-far") if f.name == "crouch"]
    for limit, there in ((far.value, False), (far.value - 0.5, True)):
        names = [f.name for f in found(site.replace(check={"limits": {"gait-far-m": limit}}), "gait-far")]
        assert ("crouch" in names) is there


def test_a_gait_is_said_beside_walkers():
    """Catches: metres that walkers lose too, counted as those of a gait. Recounted here from the ceilings of both."""
    site = base(a={"position_m": [-1.0, 1.5]}, decision={"cycles_50": 2.3})
    (far,) = [f for f in found(site, "gait-far") if f.name == "crouch"]
    assert measured_text(site, far).startswith(f"{far.value:.1f} m more than for walkers below the requirement")
    cover = review(site).cover
    names = [GAITS[walker.gait] for walker, _ in cover.walkers]
    walk, crouch = (cover.per_place(cover.gait_ceiling[:, names.index(name)]) for name in ("walk", "crouch"))
    most = cover.places.length_m[(crouch < 0.9) & (walk >= 0.9)].sum()
    assert 0.0 < far.value <= most + 1e-9


def test_a_camera_at_a_corner_has_its_own_foot_before_it():
    """Catches: the foot of a camera that looks along the fence, called a wedge between cameras. It looks along the line, 2 m
    beside it: the waist is below the frame up to 7.2 m, and left of it until 2 m are less than 1.36 / 6 of the depth along the
    axis, x cos 13 + 3 sin 13: x = 8.4 m. All of that is at its foot; tilting helps on part."""
    site = alone(position_m=[0.0, 2.5], bearing_deg=90.0)
    assert [f.id for f in review(site).findings if f.severity == "stop" and f.spans] == ["under-mast"]
    (mast,) = found(site, "under-mast")
    assert metres([mast])[0] == (0.0, pytest.approx(8.4, abs=0.3))
    assert 0.0 < mast.facts["tilts"] < mast.value
    assert f"this helps on {mast.facts['tilts']:.1f} m; the rest is behind it or beside it" in fix_text(site, mast)
