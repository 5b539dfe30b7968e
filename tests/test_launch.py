"""Which command lines open the window at once, and which are read in full."""

from __future__ import annotations

import pytest

from framekeeper.launch import WindowWords, window_words


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([], WindowWords()),
        (["--demo"], WindowWords(demo=True)),
        (["--db", "shop.db"], WindowWords(db="shop.db")),
        (["--db=shop.db", "--by", "Ana"], WindowWords(db="shop.db", by="Ana")),
        (["--by=Ana"], WindowWords(by="Ana")),
        (["due"], None),
        (["--db", "shop.db", "due"], None),
        (["--db"], None),
        (["--demo", "--db", "shop.db"], None),
        (["--demo=yes"], None),
        (["--help"], None),
    ],
)
def test_only_a_plain_request_for_the_window_is_read_at_once(
    arguments: list[str], words: WindowWords | None
) -> None:
    """Anything beyond the shop and the person goes to the full command line."""
    assert window_words(arguments) == words
