"""Conditioning a year on a bad state: `visibility_m<=100 and wind_m_s<2` keeps the hours in which that holds.

The text is read by the small parser below and never evaluated as code:

    either      = both { "or" both }
    both        = comparison { "and" comparison }
    comparison  = "(" either ")" | field sign number | "fog" ("==" or "!=") kind
    sign        = < <= > >= == !=

Fields are the hour's middle values (means over its joint states), `month` (1 to 12), `clock_hour` (0 to 23, local standard time
of the record), `sun_elevation_deg`, and `fog`, the likeliest kind of the hour.
"""

from __future__ import annotations

import math
import operator
import re
from dataclasses import dataclass, replace

import numpy as np

from fencecast.errors import UsageError, did_you_mean, name_list
from fencecast.meteorology.classes import FOG_KINDS
from fencecast.meteorology.year import LEAST_YEARS, MIDDLE_FIELDS, Year

EXAMPLE = "visibility_m<=100"
GRAMMAR = (
    "a condition is a field, a sign and a number (fog a kind), several are joined by and, or and parentheses; there is no not "
    "(turn the sign) and no range in one (a<=FIELD<=b is FIELD>=a and FIELD<=b)"
)
SIGNS = {
    "<=": operator.le,
    ">=": operator.ge,
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    ">": operator.gt,
}
FIELDS = (*MIDDLE_FIELDS, "month", "clock_hour", "sun_elevation_deg", "fog")
_MOST_PARENTHESES = 20
_PIECE = re.compile(r"\s*(?:(<=|>=|==|!=|<|>)|([()])|(-?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)|([A-Za-z_]\w*)|(\S))")


@dataclass(frozen=True)
class _Piece:
    """One word of the condition: kind is sign, bracket, number, word or end; at counts characters from 1."""

    kind: str
    text: str
    at: int


def _pieces(text: str) -> list[_Piece]:
    pieces, at = [], 0
    while text[at:].strip():
        found = _PIECE.match(text, at)
        kind = ("sign", "bracket", "number", "word", "unknown")[found.lastindex - 1]
        pieces.append(_Piece(kind, found[found.lastindex], found.start(found.lastindex) + 1))
        at = found.end()
    return [*pieces, _Piece("end", "", len(text.rstrip()) + 1)]


def clock_of(time: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Month (1 to 12) and clock hour (0 to 23) of each of these times (hours,), as the record's clock shows them."""
    month = time.astype("datetime64[M]").astype(np.int64) % 12 + 1
    return month, (time.astype("datetime64[h]") - time.astype("datetime64[D]")).astype(np.int64)


def likeliest_fog(year: Year) -> np.ndarray:
    """Code of the kind of fog (none included) that has most of each hour's weight, (hours,); -1 where the hour is unknown."""
    share = np.zeros((len(year.armed), len(FOG_KINDS)))
    np.add.at(share, (year.states.hour, year.states.fog), year.states.weight)
    return np.where(share.sum(axis=1) > 0.0, share.argmax(axis=1), -1)


class _Reader:
    """Reads the pieces from left to right and works out, for each hour, whether the condition holds."""

    def __init__(self, text: str, year: Year):
        self.text, self.year, self.next, self.depth = text, year, 0, 0
        self.pieces = _pieces(text)

    def wrong(self, piece: _Piece, why: str, instead: str = EXAMPLE) -> UsageError:
        what = f'"{piece.text}"' if piece.text else "the end"
        where = f"at character {piece.at}, {what}"
        return UsageError(f'stress condition "{self.text}" is not allowed: {where}: {why}; type for instance "{instead}"')

    def take(self) -> _Piece:
        piece = self.pieces[self.next]
        self.next += 1
        return piece

    def is_word(self, word: str) -> bool:
        piece = self.pieces[self.next]
        return piece.kind == "word" and piece.text.lower() == word

    def whole(self) -> np.ndarray:
        holds = self.either()
        left = self.pieces[self.next]
        if left.kind != "end":
            unit = "; numbers stand without a unit" if self.pieces[self.next - 1].kind == "number" else ""
            why = f'here the condition ends or goes on with "and" or "or"{unit}; {GRAMMAR}'
            raise self.wrong(left, why, f"{EXAMPLE} and wind_m_s<2")
        return holds

    def either(self) -> np.ndarray:
        holds = self.both()
        while self.is_word("or"):
            self.take()
            holds = holds | self.both()
        return holds

    def both(self) -> np.ndarray:
        holds = self.comparison()
        while self.is_word("and"):
            self.take()
            holds = holds & self.comparison()
        return holds

    def comparison(self) -> np.ndarray:
        piece = self.take()
        if piece.text == "(":
            self.depth += 1
            if self.depth > _MOST_PARENTHESES:
                raise self.wrong(piece, f"more than {_MOST_PARENTHESES} parentheses inside each other")
            holds = self.either()
            self.depth -= 1
            closing = self.take()
            if closing.text != ")":
                raise self.wrong(closing, "a parenthesis is open; here it closes", f"({EXAMPLE} or rain_mm_h>5) and month==11")
            return holds
        if piece.kind != "word" or piece.text.lower() in ("and", "or"):
            raise self.wrong(piece, f"here stands a field of the hour: {', '.join(FIELDS)}; {GRAMMAR}")
        if piece.text not in FIELDS:
            raise self.wrong(piece, f"no such field{did_you_mean(piece.text, FIELDS)}; fields are {', '.join(FIELDS)}; {GRAMMAR}")
        sign = self.take()
        if sign.kind != "sign":
            raise self.wrong(sign, f"after {piece.text} comes one of {' '.join(SIGNS)}", self.example_of(piece.text))
        if piece.text == "fog":
            return self.kind_of_fog(sign)
        number = self.take()
        if number.kind != "number":
            raise self.wrong(number, "here stands a number in the field's unit, without the unit", self.example_of(piece.text))
        if not math.isfinite(float(number.text)):
            raise self.wrong(number, "an infinite number; here stands a finite one", self.example_of(piece.text))
        # A comparison with NaN (the hour is unknown) is false, and must stay so for != as well.
        values = self.values(piece.text)
        return SIGNS[sign.text](values, float(number.text)) & ~np.isnan(values)

    def kind_of_fog(self, sign: _Piece) -> np.ndarray:
        if sign.text not in ("==", "!="):
            raise self.wrong(sign, "fog is a kind, not a number: only == or !=", self.example_of("fog"))
        kind = self.take()
        if kind.kind != "word" or kind.text not in FOG_KINDS:
            raise self.wrong(
                kind, f"kinds of fog are {name_list(FOG_KINDS)}{did_you_mean(kind.text, FOG_KINDS)}", self.example_of("fog")
            )
        likeliest = likeliest_fog(self.year)
        return SIGNS[sign.text](likeliest, FOG_KINDS[kind.text]) & (likeliest >= 0)

    def values(self, field: str) -> np.ndarray:
        if field in ("month", "clock_hour"):
            return clock_of(self.year.records.time)[("month", "clock_hour").index(field)].astype(float)
        if field == "sun_elevation_deg":
            return np.asarray(self.year.sun_elevation_deg, dtype=float)
        return np.asarray(self.year.middle[field], dtype=float)

    @staticmethod
    def example_of(field: str) -> str:
        return {"fog": "fog==radiation", "visibility_m": EXAMPLE, "month": "month==11", "clock_hour": "clock_hour>=22"}.get(
            field, f"{field}<=1"
        )


def stress_mask(year: Year, text: str) -> np.ndarray:
    """For each hour of a year whether a condition holds, (hours,) bool; false where the hour's field is unknown.

    Raises UsageError, which names the place in the text, what may stand there and what to type instead.
    """
    return _Reader(text, year).whole()


def conditioned(year: Year, text: str) -> Year:
    """The year with every hour disarmed in which the condition does not hold.

    Raises UsageError when the condition cannot be read, or no armed hour with a known state is left.
    """
    kept = replace(year, armed=year.armed & stress_mask(year, text))
    if not kept.counted.any():
        raise UsageError(
            f'stress condition "{text}" leaves none of the {int(year.counted.sum()):,} armed hours of the record: '
            "nothing to simulate; loosen it, or look at `fencecast weather SITE.toml` for what the record holds"
        )
    return kept


def stress_counts(year: Year, kept: Year) -> dict[str, float]:
    """Armed hours with a known state that meet the condition, and of how many: a year, or of a record much shorter than one."""
    years = year.period_years if year.period_years >= LEAST_YEARS else 1.0
    return {"stress_hours": float(kept.counted.sum() / years), "stress_of_hours": float(year.counted.sum() / years)}
