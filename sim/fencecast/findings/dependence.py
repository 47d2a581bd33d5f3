"""What the answer depends on, in words: of N50, noise, threshold and clutter the one that moves each class most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from fencecast.estimate.places import worst_first
from fencecast.estimate.results import Results
from fencecast.findings.blocks import LEFT, RIGHT, Block, Heading, Line, Table
from fencecast.findings.calibration import calibration_of, judged_words
from fencecast.findings.words import first_upper, listed, signed

# Variable of the results, head of its column, and what it is in a sentence.
FACTORS = (
    ("n50", "ln N50", "N50"),
    ("clutter", "ln clutter", "clutter"),
    ("threshold", "ln threshold", "the threshold"),
    ("netd", "ln NETD", "sensor noise (NETD)"),
)
# Below this share of the change with ln N50 the others together with geometry leave the answer to N50.
_COUNTS = 0.1
# A mean Pd that moves by less than this for ten per cent of anything depends on geometry alone.
_MOVES = 0.001
# Ten per cent is a step that a reader can picture.
_STEP = math.log(1.1)


@dataclass(frozen=True)
class Dependence:
    """One weather class: d mean Pd / d ln of each factor, by its name, and half the width of its interval (0 when unknown)."""

    weather: str
    slopes: dict[str, float]
    errors: dict[str, float] = field(default_factory=dict)

    def known(self, name: str) -> bool:
        """Whether the interval of a slope leaves out 0."""
        return abs(self.slopes[name]) > self.errors.get(name, 0.0)

    @property
    def rivals(self) -> tuple[str, ...]:
        """The factors that may move the mean Pd most, the largest estimate first; one alone when its interval is apart."""
        least = max(abs(v) - self.errors.get(name, 0.0) for name, v in self.slopes.items())
        order = sorted(self.slopes, key=lambda name: -abs(self.slopes[name]))
        return tuple(name for name in order if abs(self.slopes[name]) + self.errors.get(name, 0.0) >= least)

    @property
    def largest(self) -> str:
        """The factor that moves the mean Pd most."""
        return max(self.slopes, key=lambda name: abs(self.slopes[name]))

    @property
    def only_n50(self) -> bool:
        """Whether the other three are each under a tenth of N50."""
        others = [name for name in self.slopes if name != "n50"]
        return self.known("n50") and all(abs(self.slopes[name]) < _COUNTS * abs(self.slopes["n50"]) for name in others)

    @property
    def moves(self) -> bool:
        """Whether ten per cent of any factor moves the mean Pd visibly."""
        return abs(_STEP * self.slopes[self.largest]) >= _MOVES


def dependences(results: Results) -> list[Dependence]:
    """Every class with data, worst first."""
    found = []
    for c in worst_first(results):
        slopes = {name: float(results.at(f"dpd_dln_{name}", weather=c.index)) for name, _, _ in FACTORS}
        if not any(math.isnan(slope) for slope in slopes.values()):
            errors = {}
            for name in slopes:
                if f"dpd_dln_{name}_low" in results:
                    low, high = (float(results.at(f"dpd_dln_{name}_{end}", weather=c.index)) for end in ("low", "high"))
                    errors[name] = 0.5 * (high - low)
            found.append(Dependence(c.name, slopes, errors))
    return found


def dependence_blocks(results: Results) -> list[Block]:
    """The table of slopes and its sentences; nothing when no class has data."""
    found = dependences(results)
    if not found:
        return []
    facts = calibration_of(results.attrs)
    columns = [("class", LEFT), *((f"per {head}", RIGHT) for _, head, _ in FACTORS)]
    rows = [[each.weather, *(_cell(each, name) for name, _, _ in FACTORS)] for each in found]
    return [
        Heading("What the answer depends on: change of the mean Pd"),
        Table.of(columns, rows),
        Line(dependence_sentence(found, calibrated=facts is not None, judged=judged_words(facts or {}))),
    ]


def _cell(each: Dependence, name: str) -> str:
    """'−0.123', or 'cannot tell' where the interval holds 0 and the number would not be printed as 0."""
    text = signed(each.slopes[name])
    return text if each.known(name) or abs(each.slopes[name]) < 0.0005 else "cannot tell"


def dependence_sentence(
    found: Sequence[Dependence], closing: bool = True, calibrated: bool = False, judged: str = ""
) -> str:  # fmt: skip
    """For each factor the classes that it moves most, with numbers for the one that it moves most of all; then where geometry
    and N50 are nearly the complete answer, and where nothing moves. closing: what is a judgement; calibrated: N50 is walked,
    judged: what of it is not, as `judged_words` has it."""
    parts: list[str] = []
    moving = [each for each in found if each.moves]
    words_of = {name: words for name, _, words in FACTORS}
    unknown = [each for each in moving if not each.only_n50 and (len(each.rivals) > 1 or not each.known(each.largest))]
    for name, words in words_of.items():
        group = [each for each in moving if each.largest == name and not each.only_n50 and each not in unknown]
        if not group:
            continue
        top = max(group, key=lambda each, name=name: abs(each.slopes[name]))
        second = max((other for other in words_of if other != name), key=lambda other, top=top: abs(top.slopes[other]))
        where = f"in {top.weather} " if len(group) > 1 else ""
        text = f"{first_upper(listed([each.weather for each in group]))}: {words} moves the mean Pd most, {where}"
        text += f"{_moved(top.slopes[name])} for 10 % more"
        if abs(top.slopes[second]) >= _COUNTS * abs(top.slopes[name]) and top.known(second):
            text += f"; {words_of[second]} comes next, {_moved(top.slopes[second])}"
        parts.append(text + ".")
    alike: dict[frozenset[str], list[Dependence]] = {}  # classes with the same rivals are told together
    for each in unknown:
        alike.setdefault(frozenset(each.rivals), []).append(each)
    for group in alike.values():
        names = [words_of[name] for name in group[0].rivals]
        which = f"whether {', '.join(names[:-1])} or {names[-1]}" if len(names) > 1 else "what"
        parts.append(f"{first_upper(listed([each.weather for each in group]))}: cannot tell {which} moves the mean Pd most.")
    alone = [each for each in moving if each.only_n50]
    if alone:
        top = max(alone, key=lambda each: abs(each.slopes["n50"]))
        parts.append(
            f"{first_upper(listed([each.weather for each in alone]))}: geometry and N50 are "
            f"nearly the whole answer; in {top.weather} 10 % more N50 moves the mean Pd {_moved(top.slopes['n50'])}, 10 % more "
            "clutter, threshold or noise by under a tenth of that."
        )
    still = [each.weather for each in found if not each.moves]
    if still:
        parts.append(f"{first_upper(listed(still))}: 10 % more of any of the four moves the mean Pd by less than {_MOVES:g}.")
    if closing and calibrated:
        walked = judged or "from walks on this site"
        parts.append(f"N50, the detail that the analytics need, is {walked}; clutter is a judgement.")
    elif closing:
        parts.append("N50, the detail that the analytics need, is a judgement until walk tests calibrate it; so is clutter.")
    return " ".join(parts)


def _moved(slope: float) -> str:
    change = _STEP * slope
    return "by less than 0.001" if abs(change) < 0.0005 else f"by {signed(change)}"
