"""What is said wherever numbers rest on walks of a rehearsal, which nobody walked.

Tests: tests/findings/test_rehearsal_words.py.
"""

from __future__ import annotations

NOBODY = "Rehearsal: nobody walked. These walks are simulated, and nothing here was tested."
BAR = "REHEARSAL. Nobody walked: the walks are simulated, and nothing here was tested."


def with_rehearsal(text: str, rehearsal: bool) -> str:
    """The subtitle of a picture, with what it is in front of it: `Rehearsal, nobody walked. Pd in ...`"""
    return f"Rehearsal, nobody walked. {text}" if rehearsal else text


def line_of_test(of: str, found: str, rehearsal: bool, lower: bool, sign: str = "") -> str:
    """`Walk test of 36 walks in clear night: two of four claims shown.` of: ` of 36 walks in clear night`; lower: found goes on
    with a small letter; sign: between the two, by default a colon before a small letter, else a semicolon."""
    name = "Rehearsal of a walk test (nobody walked)" if rehearsal else "Walk test"
    return f"{name}{of}{sign or (':' if lower else ';')} {found[:1].lower() if lower else found[:1]}{found[1:]}"
