"""The one place that knows where a shop lives and how a desk or a window is put together."""

from __future__ import annotations

from pathlib import Path

from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Clock, Desk, SystemClock

SHOP_FILE = "shop.db"


def default_shop() -> Path:
    """Return this person's own shop, in the folder where their system keeps a user's data."""
    from platformdirs import user_data_path

    return user_data_path("framekeeper", appauthor=False, ensure_exists=True) / SHOP_FILE


def open_desk(db: str | Path | None = None, by: str = "", clock: Clock | None = None) -> Desk:
    """Open the shop at a path or address; without one, this person's own.

    Raises
    ------
    StorageTrouble
        If there is no such place, or it cannot be opened or belongs to another program.
    """
    place = default_shop() if db is None else db
    from framekeeper.storage.shop import Shop  # what asks for help only must start fast

    try:
        shop = Shop.open(place)
    except ModuleNotFoundError as absent:
        if absent.name != "psycopg":
            raise
        raise StorageTrouble(
            say("What speaks to a PostgreSQL server is not installed here."),
            kept=say("Nothing was written."),
            hint=say("Install Framekeeper with its extra “server”."),
        ) from absent
    return Desk(shop, clock or SystemClock(), by.strip())


def demo_shop() -> Path:
    """Return a fresh copy of the demo shop."""
    from framekeeper.demo import open_copy

    return open_copy()


def take_pictures(folder: Path, db: str | Path, *, further: bool = True) -> list[Path]:
    """Write a picture of every place of the window, and of its further pages, without a screen."""
    from framekeeper.ui.pictures import take

    return take(folder, lambda: open_desk(db), further=further)
