"""Words that a prediction must not use, wherever it speaks."""

from __future__ import annotations

import re

NEVER = ("secure", "safe", "detects", "covers", "guaranteed", "blind-free")


def wrong_words(texts) -> list[str]:
    """Texts that hold one of the words; the caution line's 'life safety' is not 'safe'."""
    pattern = re.compile(r"\b(" + "|".join(NEVER) + r")\b", re.IGNORECASE)
    return [text for text in texts if pattern.search(text)]
