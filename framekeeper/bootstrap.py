"""The one place that knows where a shop lives and how a desk or a window is put together."""

from __future__ import annotations

from pathlib import Path

from framekeeper.domain.errors import NotValid, StorageTrouble
from framekeeper.domain.sentence import say
from framekeeper.services.desk import Clock, Desk, SystemClock

SHOP_FILE = "shop.db"
_SERVERS = ("sqlite", "postgresql", "postgres")


def default_shop() -> Path:
    """Return this person's own shop, in the folder where their system keeps a user's data."""
    from platformdirs import user_data_path

    return user_data_path("framekeeper", appauthor=False, ensure_exists=True) / SHOP_FILE


def open_desk(db: str | Path | None = None, by: str = "", clock: Clock | None = None) -> Desk:
    """Open the shop at a path or address; without one, this person's own.

    Raises
    ------
    StorageTrouble
        If the shop cannot be opened or belongs to another program.
    NotValid
        If the address is of no kind that the program can open.
    """
    place = default_shop() if db is None else db
    _refuse_address(str(place))
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


def _refuse_address(place: str) -> None:
    scheme, mark, _ = place.partition("://")
    if mark and scheme.partition("+")[0] not in _SERVERS:
        raise NotValid(
            say("“{place}” is no address of a shop.", place=place),
            hint=say("Name a file, or an address such as postgresql://bench@server/shop."),
            argument="db",
        )


def run_window(db: str | Path | None = None, by: str = "") -> int:
    """Open the window and return its exit code; the shop is opened after the first paint."""
    from framekeeper.ui.start import run

    return run(lambda: open_desk(db, by))
