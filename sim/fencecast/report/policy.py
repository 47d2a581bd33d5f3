"""What a page may do: its own script and style sheets by their hashes, and nothing else; no address is ever asked.

Sources: Content Security Policy Level 3 (W3C), `script-src` and `style-src` with hashes, section 2.3.1.
"""

from __future__ import annotations

import base64
import hashlib
import json
from typing import Any

_DIRECTIONS = dict.fromkeys((*range(0x202A, 0x202F), *range(0x2066, 0x206A)), "\ufffd")


def hash_source(text: str) -> str:
    """`'sha256-...'` of the text of an inline script or style sheet."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"


def content_policy(styles: tuple[str, ...], script: str | None) -> str:
    """The policy of a page with these style sheets, and this script or none."""
    style = " ".join(hash_source(text) for text in styles)
    code = "'none'" if script is None else hash_source(script)
    return f"default-src 'none'; script-src {code}; style-src {style}; img-src 'none'; base-uri 'none'; form-action 'none'"


def css_string(text: str) -> str:
    """A text as a CSS string: every sign but letters, digits and blanks by its number. The blank after a number belongs to it."""
    signs = one_direction(text)
    plain = "".join(sign if sign.isascii() and (sign.isalnum() or sign == " ") else f"\\{ord(sign):06x} " for sign in signs)
    return f'"{plain}"'


def one_direction(text: str) -> str:
    """The text with a replacement mark for every sign that embeds, overrides or isolates a direction of writing.

    Such a sign in a name could show the words around it, the handling mark among them, in another order than they are written.
    Letters of any script and the two weak marks (U+200E, U+200F) stay. Source: Unicode Standard Annex 9, sections 2.1 to 2.4.
    """
    return text.translate(_DIRECTIONS)


def script_json(data: Any) -> str:
    """Data for a script element of type application/json: nothing in it can end the element or begin another."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text
