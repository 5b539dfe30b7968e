"""Frame codes that survive a misread: "FK", a number, and a check character.

The check character is that of ISO/IEC 7064 MOD 37-2, the pure system: its weights are powers of 2
modulo the prime 37, so every single wrong character and every swap of two different neighbours
changes the sum. (The hybrid system MOD 37,36 has an ordinary check character for every number, but
misses some swaps.) MOD 37-2 needs a 37th check character, "*", which many scanners and people
trip over; numbers that would get it are skipped.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from framekeeper.domain.errors import NotValid
from framekeeper.domain.sentence import say

PREFIX = "FK"
MIN_DIGITS = 4
LAST_NUMBER = 1_000_000

_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_MODULUS = 37
_STAR_REMAINDER = 2  # what the text before it leaves where the check character is "*": 38 - 2 = 36

_SHAPE = re.compile(r"FK(?P<number>[0-9]{4}|[1-9][0-9]{4,6})[0-9A-Z]")
_UNFINISHED = re.compile(r"FK[0-9]{1,4}")
_SYMBOLOGY = re.compile(r"^\][A-Z][0-9A-Z](?=FK)")  # some scanners send the kind of symbol first


def _step(remainder: int, value: int) -> int:
    """One step of the recursive method of ISO/IEC 7064 for pure systems."""
    return (remainder + value) * 2 % _MODULUS


def _remainder(text: str) -> int:
    remainder = 0
    for character in text:
        remainder = _step(remainder, _ALPHABET.index(character))
    return remainder


def _check_character(text: str) -> str:
    return _ALPHABET[(1 - _remainder(text)) % _MODULUS]


@cache
def _usable(remainder: int, digits: int) -> int:
    """How many ways to go on from `remainder` with so many digits do not end in "*"."""
    if digits == 0:
        return int(remainder != _STAR_REMAINDER)
    return sum(_usable(_step(remainder, digit), digits - 1) for digit in range(10))


def new_code(number: int) -> str:
    """Return the `number`-th code of the sequence that leaves out whatever would need "*".

    Because numbers are skipped, the digits run ahead of `number` by about one in 37. Every number
    from 1 to 1 000 000 has exactly one code, and no two share one.

    Parameters
    ----------
    number : int
        From 1 to 1 000 000.

    Returns
    -------
    str
        "FK", at least four digits, and the check character.

    Raises
    ------
    NotValid
        If the number is outside that range.

    References
    ----------
    .. [1] ISO/IEC 7064:2003, Check character systems, MOD 37-2.

    Examples
    --------
    >>> new_code(1), new_code(117)
    ('FK0001R', 'FK01237')
    """
    if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= LAST_NUMBER:
        raise NotValid(
            say("There is no frame code number {number}.", number=number),
            hint=say("Choose a whole number from 1 to {last}.", last=LAST_NUMBER),
            argument="number",
        )
    start = _remainder(PREFIX)
    length = MIN_DIGITS
    left = number + (_check_character(PREFIX + "0" * MIN_DIGITS) != "*")  # 0000 is never given out
    first_digit = 0
    while True:
        fitting = sum(_usable(_step(start, d), length - 1) for d in range(first_digit, 10))
        if left <= fitting:
            break
        left -= fitting
        length += 1
        first_digit = 1
    body = PREFIX + _digits(start, length, first_digit, left)
    return body + _check_character(body)


def _digits(remainder: int, length: int, first_digit: int, left: int) -> str:
    """Walk down the tree of digits to the `left`-th usable leaf (counted from 1)."""
    digits = ""
    for place in range(length):
        for digit in range(first_digit if place == 0 else 0, 10):
            below = _step(remainder, digit)
            leaves = _usable(below, length - place - 1)
            if left <= leaves:
                break
            left -= leaves
        digits += str(digit)
        remainder = below
    return digits


def check(code: str) -> bool:
    """Whether `code` is a frame code exactly as printed, with the right check character.

    Examples
    --------
    >>> check("FK01237"), check("FK01327"), check("fk01237")
    (True, False, False)
    """
    shape = _SHAPE.fullmatch(code)
    return (
        shape is not None and int(shape["number"]) > 0 and _check_character(code[:-1]) == code[-1]
    )


def _tidy(text: str) -> str:
    """Upper case, without blanks, hyphens, control characters and the scanner's own prefix."""
    plain = unicodedata.normalize("NFKC", text).upper()
    kept = "".join(c for c in plain if unicodedata.category(c)[0] not in "CZ" and c != "-")
    return _SYMBOLOGY.sub("", kept)


def looks_like_code(text: str) -> bool:
    """Whether `text` has the shape of a frame code; the check character is not looked at.

    Meant for a burst of characters from a scanner: `read_code` then says what is wrong with it.
    """
    return _SHAPE.fullmatch(_tidy(text)) is not None


def read_code(text: str) -> str:
    """Return the frame code that was typed or scanned, in the form in which it is printed.

    Case, blanks, hyphens, line ends and other control characters do not matter.

    Raises
    ------
    NotValid
        If the text is no frame code, or if its check character does not match the rest.
    """
    code = _tidy(text)
    if check(code):
        return code
    if _SHAPE.fullmatch(code):
        raise NotValid(
            say(
                "{code} cannot be a frame code: its last character does not match the rest, "
                "so at least one character was misread or mistyped.",
                code=code,
            ),
            hint=say("Scan the label again, or type the code exactly as it is printed."),
            argument="code",
        )
    if _UNFINISHED.fullmatch(code):
        raise NotValid(
            say("{code} is only part of a frame code.", code=code),
            hint=say("Type all of it, with the check character at the end, as in FK01237."),
            argument="code",
        )
    raise NotValid(
        say("“{text}” is not a frame code.", text=" ".join(text.split())[:40]),
        hint=say("A frame code looks like FK01237: FK, at least four digits, one check character."),
        argument="code",
    )
