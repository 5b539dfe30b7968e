"""Orders slots, labels and mesh names as people count: A2 before A10."""

from __future__ import annotations

import re

_DIGITS = re.compile(r"(\d+)")


def natural(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key for text with numbers in it; nothing for an empty text.

    >>> sorted(["A10", "A2"], key=natural)
    ['A2', 'A10']
    """
    if not text:
        return ()
    parts = _DIGITS.split(text.casefold())
    return tuple(
        (0, int(part), "") if place % 2 else (1, 0, part) for place, part in enumerate(parts)
    )
