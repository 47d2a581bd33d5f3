"""Who is looked at: the intruder, or another body by the name of a `[[stimulus]]` or of its kind, at its medians."""

from __future__ import annotations

import math
from dataclasses import dataclass

from fencecast.errors import UsageError, close_match, name_list
from fencecast.physics.body import PARTS
from fencecast.physics.coat import BARE_MUZZLE_SHARE, FUR_EMISSIVITY, VEHICLE_EMISSIVITY
from fencecast.site.geometry import vertices
from fencecast.site.quantity import Quantity
from fencecast.site.stimuli import BodyStimulus, Stimulus, missing_keys, resolve
from fencecast.site.stimuluskinds import BODIES, FAMILIES, KINDS, OTHER_WORDS, WINTER_COAT_BELOW_C

_PARTS = {
    "person": PARTS,
    "four-legged": ("head", "trunk", "fore legs", "hind legs"),
    "flying": ("head", "trunk", "wing", "other wing"),
    "vehicle": ("bonnet", "sides", "cabin", "wheels"),
}


@dataclass(frozen=True)
class Subject:
    """Whom a look is at. noun: 'person', 'fox'; part: what the budget follows, 'torso', 'trunk'; of_file: has the numbers of the
    site file's stimulus, else of its kind; stimulus: None for the intruder, who has the gaits and clothing of the site."""

    noun: str = "person"
    part: str = "torso"
    parts: tuple[str, ...] = PARTS
    stimulus: BodyStimulus | None = None
    of_file: bool = False

    @property
    def is_person(self) -> bool:
        """Whether it has a person's sizes, clothing and gaits."""
        return self.stimulus is None or self.stimulus.silhouette == "person"

    @property
    def confused(self) -> float:
        """Share taken for a person when the shape is fully resolved."""
        return 1.0 if self.stimulus is None else self.stimulus.confused

    @property
    def bare_share(self) -> float:
        """Bare skin of an animal's head."""
        return BARE_MUZZLE_SHARE if self.stimulus is not None and self.stimulus.silhouette == "four-legged" else 0.0

    @property
    def dry_emissivity(self) -> float:
        """Of coat, legs and sides, at its median."""
        vehicle = self.stimulus is not None and self.stimulus.over_air_k is not None
        return VEHICLE_EMISSIVITY if vehicle else 0.5 * sum(FUR_EMISSIVITY)


INTRUDER = Subject()


def subject_of(site, body: str | None) -> Subject:
    """The intruder for None, else the stimulus of the site file with that name, else the kind with its own numbers.

    Raises UsageError with near names for an unknown one, and for what has no body to look at.
    """
    if body is None:
        return INTRUDER
    found = next((each for each in site.stimulus if body == (each.name or each.kind)), None)
    of_file = found is not None
    if found is None:
        if body not in {kind.name for kind in BODIES}:
            _unknown(site, body)
        # How often and how far outside it comes does not matter to one look.
        found = Stimulus(kind=body, per_night=Quantity.fixed(1.0))
        if "offset_m" in missing_keys(found):
            found = Stimulus(kind=body, per_night=Quantity.fixed(1.0), offset_m=Quantity.fixed(0.0))
    if found.family == "burst":
        raise UsageError(f'"{body}" stands on no ground: there is nothing that one look could be at; {_known(site)}')
    stimulus = resolve(found, site.nuisance.uncertainty)
    noun = "body" if found.kind in FAMILIES else "person" if found.kind == "people" else found.kind
    part = {"person": "torso", "vehicle": "side"}.get(stimulus.silhouette, "trunk")
    return Subject(noun, part, _PARTS[stimulus.silhouette], stimulus, of_file)


def _known(site) -> str:
    """Which bodies there are: those of the file, then the kinds."""
    own = [each.name or each.kind for each in site.stimulus if each.family == "body"]
    kinds = [kind.name for kind in BODIES if kind.name not in own]
    start = f"stimuli of the site: {name_list(own)}; " if own else ""
    return f"{start}kinds: {name_list(kinds)}"


def _unknown(site, body: str) -> None:
    own = {str(each.name or each.kind): str(each.name or each.kind) for each in site.stimulus}
    called = {kind: kind for kind in KINDS} | {word: kind for kind, words in OTHER_WORDS.items() for word in words} | own
    near = close_match(body, called)
    hint = f'; did you mean "{called[near]}"?' if near else ""
    if near and called[near] in KINDS and KINDS[called[near]].family == "burst":
        hint = f', and "{called[near]}" stands on no ground: there is nothing that one look could be at'
    raise UsageError(f'no body "{body}"{hint}; {_known(site)}')


def size_m(stimulus: BodyStimulus) -> tuple[float, float, float]:
    """Height, breadth and depth along the heading [m] of a body that is no person."""
    height, length, breadth = stimulus.size_m or (math.nan, math.nan, math.nan)
    return height, breadth, length


def coat_m2k_w(stimulus: BodyStimulus, air_temperature_c: float) -> float:
    """Thermal resistance of the coat [m2 K/W] worn at that air temperature, at its median; NaN without a coat."""
    if stimulus.coat_m2k_w is None:
        return math.nan
    winter, summer = stimulus.coat_m2k_w
    return (winter if air_temperature_c < float(WINTER_COAT_BELOW_C.value) else summer).middle()


def base_m(site, stimulus: BodyStimulus | None, x: float, y: float) -> float:
    """Height of the lowest point over the ground [m] at its median; a barrier that it alights on is the nearest to (x, y)."""
    if stimulus is None or stimulus.way != "over":
        return 0.0
    base = stimulus.base_m.middle()
    if not stimulus.base_of_barrier:
        return base
    nearest = min(site.perimeter, key=lambda section: _distance_m(vertices(section), x, y))
    return base * (0.0 if nearest.barrier == "none" else nearest.barrier_height_m)


def _distance_m(points, x: float, y: float) -> float:
    """From a place to a polyline (n, 2) [m]."""
    best = math.inf
    for (ax, ay), (bx, by) in zip(points[:-1], points[1:]):
        along = (bx - ax) ** 2 + (by - ay) ** 2
        share = min(max(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / max(along, 1e-12), 0.0), 1.0)
        best = min(best, math.hypot(ax + share * (bx - ax) - x, ay + share * (by - ay) - y))
    return best
