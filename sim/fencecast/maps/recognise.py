"""What a feature stands for: from its property `kind`, its layer, or a whole word of its name."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from fencecast.errors import UsageError, close_match
from fencecast.maps.features import AREA, LINE, POINT, SHAPE_WORDS, Drawing, Feature, plain_words

_BUILDINGS = (
    "building", "obstacle", "stack", "tank", "shed", "container", "hall", "office", "workshop", "warehouse", "hut", "house",
    "garage",
)  # fmt: skip
# Kind: (words that name it anywhere, words that name it in a property or a layer only, shapes that it may have).
# `wall` is no word of a kind: walls of offices would become fences. "land" and "area" in a name say little ("loading area").
KINDS: dict[str, tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]] = {
    "fence": (("fence", "perimeter", "boundary", "palisade", "quay"), (), (LINE, AREA)),
    "building": (_BUILDINGS, (), (AREA,)),
    "gate": (("gate",), (), (LINE, POINT)),
    "camera": (("camera", "cam"), (), (POINT, LINE)),
    "aim": (("aim",), (), (POINT,)),
    "mounting": (("mount", "mounting", "mast", "post"), (), (POINT, LINE, AREA)),
    "rule": (("alarm line",), ("rule",), (LINE, AREA)),
    "area": (("alarm area",), ("area",), (AREA,)),
    "land": ((), ("land", "ground"), (AREA,)),
}
# Written by `to-map` beside what was drawn: read back they are not drawn things.
RESULT_KINDS = ("result", "view", "blind ground", "finding", "corner")
BY_SHAPE = {LINE: "fence", AREA: "building", POINT: "camera"}
_ORDERS = {POINT: "a point", LINE: "a line", AREA: "an area"}


@dataclass(frozen=True)
class Recognised:
    """A feature with its kind, what it was recognised by, and whether that was a guess from its shape alone."""

    feature: Feature
    kind: str
    by: str
    word: str = ""
    guessed: bool = False


def parse_as(texts: Sequence[str]) -> list[tuple[str, str]]:
    """`--as "WORD=KIND"` as pairs; UsageError for a kind that does not exist."""
    pairs = []
    for text in texts:
        word, sep, kind = text.rpartition("=")
        kind = kind.strip().lower()
        if not sep or not word.strip() or kind not in KINDS:
            near = close_match(kind, KINDS)
            hint = f'did you mean "{near}"? ' if near and near != kind else ""
            raise UsageError(
                f'--as "{text}": {hint}type WORD=KIND with a kind of {", ".join(KINDS)}, for instance --as "A-BLDG=building"'
            )
        pairs.append((word.strip().lower(), kind))
    return pairs


def recognise(
    drawing: Drawing, pairs: Sequence[tuple[str, str]]
) -> tuple[list[Recognised], list[tuple[str, str]], list[tuple[Feature, str]]]:
    """Features with a kind; (label, why) of those left out; (feature, words) of those whose shape does not fit their kind."""
    found, left, wrong = [], [], []
    kinds = [(feature, _kind(feature, pairs, drawing.form)) for feature in drawing.features]
    none_has = not any(kind for _, kind in kinds) and drawing.form != "DXF"
    for feature, kind in kinds:
        if none_has and _result_kind(feature) is None and not _unknown_kind(feature, drawing.form):
            found.append(
                Recognised(
                    feature,
                    BY_SHAPE[feature.shape],
                    f"{SHAPE_WORDS[feature.shape]}, as nothing in this drawing has a kind",
                    guessed=True,
                )
            )
            continue
        if kind is None:
            own = _result_kind(feature)
            why = f"kind {own}: what a map file tells about the site, and not part of it" if own else _why(feature, drawing.form)
            left.append((feature.label, why))
            continue
        name, by, word = kind
        if feature.shape not in KINDS[name][2]:
            shapes = " or ".join(_ORDERS[shape] for shape in KINDS[name][2])
            wrong.append((feature, f"{name} (by {by}) is drawn as {shapes}, and this is {SHAPE_WORDS[feature.shape]}"))
            continue
        found.append(Recognised(feature, name, by, word))
    return found, left, wrong


def _result_kind(feature: Feature) -> str | None:
    return next((kind for kind in RESULT_KINDS if feature.kind.lower() == kind), None)


def _why(feature: Feature, form: str) -> str:
    fits = ", ".join(kind for kind, (_, _, shapes) in KINDS.items() if feature.shape in shapes)
    how = f"name its kind if it is one of {fits}"
    if _unknown_kind(feature, form):
        near = close_match(feature.kind, KINDS)
        meant = f'did you mean "{near}"? ' if near else ""
        return f"its kind {feature.kind!r} is not known, so it is not used; {meant}{how}"
    texts = [text for text in (feature.kind, feature.layer, feature.name) if text]
    said = f"nothing in {', '.join(repr(text) for text in texts)} names a kind" if texts else "it has no kind, layer or name"
    return f"{said}, so it is not used; {how}"


def _unknown_kind(feature: Feature, form: str) -> bool:
    """Whether a kind is given that is none; the <type> of GPX holds words of any program."""
    return bool(feature.kind) and form != "GPX" and _word_in(feature.kind, feature.shape, named=False) is None


def unknown_layers(found: Sequence[Recognised]) -> list[str]:
    """Notes on layers and folders that name no kind, whose features went by a word of their names."""
    layers: dict[str, list[str]] = {}
    for each in found:
        if each.by.startswith("a word of its name") and each.feature.layer:
            layers.setdefault(each.feature.layer, []).append(each.feature.label)
    return [
        f'the layer or folder "{layer}" names no kind: {labels[0]}'
        f"{f' and {len(labels) - 1} more' if len(labels) > 1 else ''} went by a word of the name"
        for layer, labels in layers.items()
    ]


def _kind(feature: Feature, pairs: Sequence[tuple[str, str]], form: str) -> tuple[str, str, str] | None:
    """(kind, by what, the word), or None."""
    texts = (("its property kind", feature.kind), ("its layer", feature.layer), ("a word of its name", feature.name))
    for word, kind in pairs:
        if any(word in text.lower() for _, text in texts):
            return kind, f"--as {word}", plain_words(word)
    if _result_kind(feature) is not None or _unknown_kind(feature, form):
        return None
    for by, text in texts:
        found = _word_in(text, feature.shape, named=by.endswith("name"))
        if found:
            return *found[:1], f"{by}, {text!r}" if not by.endswith("name") else f"{by}, {found[1]!r}", found[1]
    return None


def _word_in(text: str, shape: str, named: bool) -> tuple[str, str] | None:
    """(kind, word) by the last whole word of a text that names one: of "tank fence" it is the fence.

    Words whose kind is drawn in this shape go first: a line "fence by the shed" is no building.
    """
    words = plain_words(text)
    hits = []
    for kind, (anywhere, elsewhere, shapes) in KINDS.items():
        for word in anywhere if named else (*anywhere, *elsewhere):
            plural = word[:-1] + "ies" if word.endswith("y") and word != "quay" else word + "s"
            for hit in re.finditer(rf"\b(?:{word}|{plural})\b", words):
                hits.append((shape in shapes, hit.end(), len(word), kind, word))
    return max(hits)[3:] if hits else None
