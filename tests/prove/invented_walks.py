"""An invented plan for tests of what reads one: two cameras along one fence, invented probabilities, nothing simulated."""

from __future__ import annotations

import hashlib
from pathlib import Path

from fencecast.cautions import CAUTION
from fencecast.prove.walks.planfile import Asked, Chance, Claim, Expected, Kind, Place, Trial, WalkPlan

SITE = Path(__file__).parents[1] / "data" / "proof" / "short-yard.toml"
MARKS = ("W", "E")
CHAINAGES = (9.0, 15.0, 21.0, 27.0, 33.0, 39.0)
GAITS = ("walk", "crouch")
# Pd of camera W, of camera E and of both at once: invented, W better near 0, E near 46 m.
PD = {
    ("walk", 9.0): (0.99, 0.62, 0.615), ("walk", 15.0): (0.97, 0.74, 0.72), ("walk", 21.0): (0.93, 0.86, 0.81),
    ("walk", 27.0): (0.86, 0.93, 0.81), ("walk", 33.0): (0.74, 0.97, 0.72), ("walk", 39.0): (0.62, 0.99, 0.615),
    ("crouch", 9.0): (0.96, 0.40, 0.39), ("crouch", 15.0): (0.90, 0.52, 0.49), ("crouch", 21.0): (0.80, 0.66, 0.57),
    ("crouch", 27.0): (0.66, 0.80, 0.57), ("crouch", 33.0): (0.52, 0.90, 0.49), ("crouch", 39.0): (0.40, 0.96, 0.39),
}  # fmt: skip


def _kind(number: int, gait: str, chainage: float) -> Kind:
    west, east, both = PD[gait, chainage]
    pd = west + east - both
    patterns = {"": 1.0 - pd, "W": west - both, "E": east - both, "W+E": both}
    return Kind(
        kind=f"K{number}", place=f"front {chainage:g}", gait=gait, direction="in", angle_deg=0.0, path_s=6.0, pd=pd,
        pd_low=pd - 0.3, pd_high=min(pd + 0.05, 1.0), pd_camera={"W": west, "E": east}, patterns=patterns,
        delay_s=((0.0, 0.9), (0.5, 0.1)), information_ln_n50=4.0, information_r=0.3,
    )  # fmt: skip


def invented_plan(rounds: int = 3) -> WalkPlan:
    """Six places, walk and crouch, `rounds` walks of each, one pooled claim over all of them."""
    text = SITE.read_text(encoding="utf-8")
    places = tuple(
        Place(
            place=f"front {x:g}", section="front", chainage_m=x, x_m=x, y_m=0.0, start_m=(x, 0.3), finish_m=(x, 8.0), role="pool"
        )
        for x in CHAINAGES
    )
    kinds = tuple(_kind(i + 1, gait, x) for i, (x, gait) in enumerate((x, gait) for x in CHAINAGES for gait in GAITS))
    trials = tuple(
        Trial(trial=r * len(kinds) + i + 1, kind=kind.kind, round=min(r + 1, 2), claim="C1")
        for r in range(rounds)
        for i, kind in enumerate(kinds)
    )
    walks = len(trials)
    claim = Claim(
        claim="C1", of="pool", where="6 places of front", kinds=tuple(kind.kind for kind in kinds), stops=(walks,),
        confidence=0.95,
        chance=Chance(predicted=0.12, low_end=0.004, over_prior=0.1, at=((0.90, 0.022), (0.95, 0.16))), expected_walks=walks,
    )  # fmt: skip
    return WalkPlan(
        title="Kelpen reed depot", version="0.1.0", seed=1, created="2026-11-29T18:00:00", site_toml=text,
        site_sha256=hashlib.sha256(text.encode("utf-8")).hexdigest(), weather="clear night", goal="both", from_fence=True,
        together=False, requirement=Asked(pd=0.90, confidence=0.95), prior_median=2.0, prior_spread=0.5, path_m=8.0, marks=MARKS,
        places=places, kinds=kinds, trials=trials, claims=(claim,), minutes=110.0, expected=Expected(sd_ln_n50=0.09, sd_r=0.21),
        caution=CAUTION,
    )  # fmt: skip
