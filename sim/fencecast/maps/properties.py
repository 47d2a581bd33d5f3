"""Properties of features, read by the very checks of the site file's keys."""

from __future__ import annotations

import re
from collections.abc import Mapping

from fencecast.errors import close_match, show_value
from fencecast.maps.features import Feature
from fencecast.maps.synonyms import GATE_KEYS, HINTS, PLAIN_KEYS, bookkeeping, plain_key
from fencecast.site.fields import Names, OneOf, YesNo
from fencecast.site.mounting import Mounting, NumberList
from fencecast.site.number import Check, Number, Refused
from fencecast.site.schema import Camera, Obstacle, Perimeter, Rule, Table, check_of

_TABLES: dict[str, tuple[type[Table], tuple[str, ...]]] = {
    "fence": (Perimeter, ("inside", "barrier", "barrier_height_m", "barrier_open_share")),
    "building": (Obstacle, ("height_m",)),
    "camera": (Camera, ("height_m", "bearing_deg", "depression_deg", "sensor", "lens", "price", "depends_on")),
    "mounting": (Mounting, ("heights_m", "spacing_m", "price")),
    "rule": (Rule, ("perimeter", "offset_m", "direction", "time_window_s", "cameras")),
    "area": (Rule, ("perimeter", "offset_m", "dwell_s", "cameras")),
    "gate": (Perimeter, ()),
    "aim": (Camera, ()),
}
_NUMBER = Number("the number of a rule", 1, at_least=1, at_most=100_000, whole=True)
# Keys of drawings alone, which no table of the site file has.
_EXTRA: dict[str, dict[str, Check]] = {
    "gate": {"width_m": Number("a width", 4.0, above=0, at_most=100, unit="m")},
    "rule": {"rule": _NUMBER, "inside": OneOf(("left", "right"))},
    "area": {"rule": _NUMBER},
}
_AIM = ("aim", "camera")


def known_keys(kind: str) -> tuple[str, ...]:
    """Keys that features of a kind may give."""
    cls_keys = _TABLES.get(kind, (Table, ()))[1]
    more = ("camera",) if kind == "aim" else ("aim",) if kind == "camera" else ("ground",) if kind == "land" else ()
    return (*cls_keys, *_EXTRA.get(kind, {}), *more)


EVERY_KEY = tuple(sorted({key for kind in (*_TABLES, "land") for key in known_keys(kind)} | {"kind", "layer", "folder", "name"}))
_UNIT_KEYS = tuple(key for key in EVERY_KEY if key.endswith(("_m", "_deg")))


def read_properties(kind: str, feature: Feature) -> tuple[dict[str, object], list[str], list[str], list[str]]:
    """Values by key; what is wrong with those that were refused; notes on plain words that were read as keys; names of properties
    that were not taken, each with what it may stand for."""
    cls, keys = _TABLES.get(kind, (Table, ()))
    checks = {key: check_of(cls, key) for key in keys} | _EXTRA.get(kind, {})
    known = known_keys(kind)
    values: dict[str, object] = {}
    wrong: list[str] = []
    notes: list[str] = []
    passed: list[str] = []
    given = [(_key(typed), typed, value) for typed, value in feature.properties.items() if value is not None and value != ""]
    # Keys themselves go before plain words for them.
    for key, typed, value in sorted(given, key=lambda each: each[0] not in checks):
        plain, unit = ("", "") if key in checks else plain_key(kind, key, known)
        if key in checks or (plain in checks and plain not in values):
            check = checks[plain or key]
            try:
                values[plain or key] = check.parse(_with_unit(_as_typed(check, _degrees(plain or key, value)), unit))
                if plain:
                    notes.append(f"{typed.strip()[:60]} read as {plain}")
            except Refused as refused:
                problem = refused.refusals[0]
                wrong.append(f"{key} = {show_value(problem.value)} is not allowed: {problem.allowed}")
        elif plain:
            passed.append(f"{typed[:60]} ({plain} goes first)")
        elif key in _AIM and key in known and isinstance(value, (str, int)):
            values[key] = str(value).strip()
        elif key == "ground" and kind == "land":
            values[key] = str(value)
        elif kind == "gate" and key in GATE_KEYS:
            passed.append(f"{key} (a gate lies where it is drawn)")
        elif not bookkeeping(key):
            near = HINTS.get(kind, {}).get(key) or _near(key, known)
            shown = " ".join(typed.split())[:60]
            passed.append(f"{shown} (did you mean {near}?)" if near else shown)
    return values, wrong, notes, passed


def _key(typed: str) -> str:
    return re.sub(r"[\s-]+", "_", typed.strip().lower())


def _degrees(key: str, value: object) -> object:
    """Text such as `60 deg` of a key in degrees without its unit."""
    return (
        re.sub(r"(?i)\s*(\u00b0|deg|degrees?)$", "", value.strip()) if isinstance(value, str) and key.endswith("_deg") else value
    )


def _with_unit(value: object, unit: str) -> object:
    """A number of a property whose name spells its unit."""
    return f"{value:g} {unit}" if unit and isinstance(value, (int, float)) and not isinstance(value, bool) else value


def _near(key: str, known: tuple[str, ...]) -> str | None:
    near = close_match(key, known)
    # A looser likeness would ask about every property that mapping programs write.
    from difflib import SequenceMatcher

    return near if near and SequenceMatcher(None, key, near).ratio() > 0.85 else None


def _as_typed(check: Check, value: object) -> object:
    """Text of formats that know nothing else, and of fields of mapping programs, as the value that it spells."""
    if not isinstance(value, str):
        return [value] if isinstance(check, NumberList) and isinstance(value, (int, float)) else value
    text = value.strip()
    if isinstance(check, Number):
        return _number(text)
    if isinstance(check, YesNo):
        return {"true": True, "yes": True, "false": False, "no": False}.get(text.lower(), text)
    if isinstance(check, Names):
        return [part.strip() for part in text.split(",") if part.strip()]
    if isinstance(check, NumberList):
        return [_number(part.strip()) for part in text.strip("[]").split(",") if part.strip()]
    return text


def _number(text: str) -> object:
    if re.fullmatch(r"[+-]?(\d{1,15}(\.\d{0,17})?|\.\d{1,17})([eE][+-]?\d{1,2})?", text):
        return float(text)
    return text


def description_properties(text: str) -> Mapping[str, str]:
    """`key = value` or `key: value` lines of a description with its tags taken out, of keys that are known or with a number; also
    `facing 60`, of plain words: many mapping programs let people type nowhere else."""
    import html

    plain = html.unescape(re.sub(r"<[^>]*>", "", re.sub(r"(?i)<(br|/p|/div|/tr|/li)[^>]*>", "\n", text)))
    found = {}
    for line in plain.splitlines():
        hit = re.fullmatch(r"\s*([A-Za-z_][\w -]{0,40}?)\s*[=:]\s*(.{1,200}?)\s*", line)
        if hit and ((key := _key(hit[1])) in EVERY_KEY or key in PLAIN_KEYS or re.match(r"[+-]?\.?\d", hit[2])):
            found[key] = hit[2]
            continue
        hit = re.fullmatch(r"\s*([A-Za-z_]{1,40})\s+([+-]?\d.{0,60}?)\s*", line)
        if hit and (key := hit[1].lower()) in (*PLAIN_KEYS, *_UNIT_KEYS):
            found[key] = hit[2]
    return found
