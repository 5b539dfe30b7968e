"""Opens the window on a shop; imports nothing of the shop before the first paint."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from pathlib import Path

    from framekeeper.services.desk import Desk
    from framekeeper.ui.window import Window


class WindowWords(NamedTuple):
    """What a command line that only opens the window may say."""

    db: str | None = None
    demo: bool = False
    by: str = ""


def window_words(arguments: Sequence[str]) -> WindowWords | None:
    """Read a command line that only opens the window.

    None where it says anything else: then the whole command line is read, which takes longer than
    a window may wait. `--demo` beside `--db` is left to it as well, to be refused there.
    """
    words = WindowWords()
    rest = list(arguments)
    while rest:
        name, mark, value = rest.pop(0).partition("=")
        if name == "--demo" and not mark:
            words = words._replace(demo=True)
        elif name in ("--db", "--by") and (mark or rest):
            told = value if mark else rest.pop(0)
            words = words._replace(db=told) if name == "--db" else words._replace(by=told)
        else:
            return None
    return None if words.demo and words.db is not None else words


def open_window(words: WindowWords, *, watch: Callable[[Window], None] | None = None) -> int:
    """Show the window until it is closed and return the exit code of the program.

    A copy of the demo shop goes away with the window. `watch` gets the window before it is shown.
    """
    from framekeeper.ui.start import run

    copies: list[Path] = []

    def open_desk() -> Desk:
        from framekeeper import bootstrap

        if words.demo:
            copies.append(bootstrap.demo_shop())
        return bootstrap.open_desk(copies[0] if copies else words.db, words.by)

    try:
        return run(open_desk, watch=watch)
    finally:
        for copy in copies:
            import shutil

            shutil.rmtree(copy.parent, ignore_errors=True)
