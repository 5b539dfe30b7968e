"""What a scanner reads on the label of a roll: "FR", the number of the roll, two check digits.

A roll's code is the shop's own text, so it cannot tell a scan from typing. The mark can: it has a
prefix of its own and the check digits of ISO/IEC 7064 MOD 97-10, which find every single wrong
digit and every swap of two neighbours. Frames have another prefix and another check.
"""

from __future__ import annotations

import re
import unicodedata

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

PREFIX = "FR"
_MODULUS, _REST = 97, 1
_SHAPE = re.compile(r"(?:\][A-Z][0-9A-Z])?FR([0-9]{4,15})([0-9]{2})", re.ASCII)


def check_digits(digits: str) -> str:
    """Return the check digits of ISO/IEC 7064 MOD 97-10.

    References
    ----------
    .. [1] ISO/IEC 7064:2003, Check character systems, MOD 97-10 (the example is from memory).

    Examples
    --------
    >>> check_digits("794")
    '44'
    """
    return f"{(_MODULUS + _REST - int(digits + '00') % _MODULUS) % _MODULUS:02d}"


def roll_mark(roll_id: int) -> str:
    """Return what is printed as a symbol on the label of a roll.

    >>> roll_mark(1)
    'FR000195'
    """
    digits = f"{roll_id:04d}"
    return PREFIX + digits + check_digits(digits)


def looks_like_roll_mark(text: str) -> bool:
    """Whether the text has the shape of a roll's mark; the check digits are not looked at."""
    return _SHAPE.fullmatch(_tidy(text)) is not None


def read_roll_mark(text: str) -> int:
    """Return the number of the roll that was scanned.

    Raises
    ------
    NotValid
        If the text is no mark of a roll, or its check digits do not match.
    """
    shape = _SHAPE.fullmatch(_tidy(text))
    if shape is None or check_digits(shape[1]) != shape[2]:
        raise NotValid(
            say("“{text}” is not the mark of a roll.", text=" ".join(text.split())[:40]),
            hint=say("Scan the label again, or type the roll's code."),
            argument="code",
        )
    return int(shape[1])


def _tidy(text: str) -> str:
    """Upper case, without blanks and control characters."""
    return "".join(c for c in text.upper() if unicodedata.category(c)[0] not in "CZ")
