"""Opens a fresh copy of the demo shop, which is built once a day and kept in the user's cache."""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import importlib.util
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from framekeeper import __version__
from framekeeper.shipped import find

if TYPE_CHECKING:
    from types import ModuleType

SHOP_FILE = "demo.db"
_TEMPLATE = "demo-{version}-{day}-{source}.db"
_MAKING = "making-"
_ABANDONED_S = 3600.0  # a folder that old was left by a process that died while building
_WRITERS = ("domain", "storage", "services")  # the code that decides what a template holds
_SQLITE_HEADER = b"SQLite format 3\x00"
_MODULE = "framekeeper_demo_db"

Progress = Callable[[float], object]


def open_copy(
    *,
    progress: Progress | None = None,
    cache: Path | None = None,
    now: dt.datetime | None = None,
) -> Path:
    """Put a fresh copy of the demo shop into a new temporary folder and return its path.

    Parameters
    ----------
    progress
        Called with the share that is done, from 0 to 1, while the shop is being built.
    cache
        Where the shop of the day is kept; by default the user's cache folder.
    now
        When the history of the shop ends, in the shop's zone; by default now, here.
    """
    ends_at = now or dt.datetime.now(dt.UTC).astimezone()
    copy = Path(tempfile.mkdtemp(prefix="framekeeper-demo-")) / SHOP_FILE
    try:
        shutil.copyfile(_template(cache or _user_cache(), ends_at, progress), copy)
    except OSError:  # a cache that is full, read-only or broken must not keep the demo shut
        copy.unlink(missing_ok=True)
        make_shop(copy, now=ends_at, progress=progress)
    return copy


def make_shop(path: Path, *, now: dt.datetime, progress: Progress | None = None) -> None:
    """Build the demo shop at a path where nothing is yet."""
    from framekeeper.services import forecasts
    from framekeeper.services.desk import Desk
    from framekeeper.storage.shop import Shop

    shop = Shop.open(path)
    try:
        builder().build(shop, now=now, progress=progress)
        forecasts.refresh(Desk(shop, _StoppedClock(now)))
    finally:
        shop.close()


class _StoppedClock:
    """Tells the moment at which the history of the demo shop ends."""

    def __init__(self, now: dt.datetime) -> None:
        self._now = now

    def now(self) -> dt.datetime:
        return self._now.astimezone(dt.UTC)

    def zone(self) -> dt.tzinfo:
        return self._now.tzinfo or dt.UTC


def builder() -> ModuleType:
    """Import the folder that builds the demo shop; it lies in the package or beside it."""
    if _MODULE in sys.modules:
        return sys.modules[_MODULE]
    folder = find("demo_db")
    spec = importlib.util.spec_from_file_location(
        _MODULE, folder / "__init__.py", submodule_search_locations=[str(folder)]
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[_MODULE] = module
    try:
        spec.loader.exec_module(module)
    except BaseException:
        del sys.modules[_MODULE]
        raise
    return module


def _user_cache() -> Path:
    from platformdirs import user_cache_path

    return user_cache_path("framekeeper", appauthor=False)


def _template(cache: Path, now: dt.datetime, progress: Progress | None) -> Path:
    """Return the shop of the day, built if it is not there."""
    name = _TEMPLATE.format(version=__version__, day=now.date().isoformat(), source=_source())
    template = cache / name
    if _is_whole(template):
        return template
    cache.mkdir(parents=True, exist_ok=True)
    making = Path(tempfile.mkdtemp(prefix=_MAKING, dir=cache))
    try:
        make_shop(making / SHOP_FILE, now=now, progress=progress)
        # Another process may have done the same; whoever is last replaces a shop by its like.
        (making / SHOP_FILE).replace(template)
    finally:
        shutil.rmtree(making, ignore_errors=True)
    _tidy(cache, template)
    return template


def _source() -> str:
    """Name the source that a template was built by."""
    package = Path(__file__).resolve().parent
    digest = hashlib.sha256()
    for folder in (find("demo_db"), *(package / name for name in _WRITERS)):
        for path in sorted(folder.rglob("*.py")):
            digest.update(path.relative_to(folder).as_posix().encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:12]


def _is_whole(path: Path) -> bool:
    """Say whether a file is a SQLite database as long as its header says.

    Pages of the size at offset 16, their number at offset 28: the SQLite file format,
    https://www.sqlite.org/fileformat2.html#the_database_header
    """
    try:
        with path.open("rb") as file:
            header = file.read(32)
        length = path.stat().st_size
    except OSError:
        return False
    page = int.from_bytes(header[16:18], "big")
    page = 65_536 if page == 1 else page
    pages = int.from_bytes(header[28:32], "big")
    return header.startswith(_SQLITE_HEADER) and length == page * pages > 0


def _tidy(cache: Path, keep: Path) -> None:
    """Delete the shops of other days and what was left by a build that never ended."""
    for old in cache.glob("demo-*.db"):
        if old != keep:
            with contextlib.suppress(OSError):  # another process may be copying it
                old.unlink()
    for left in cache.glob(f"{_MAKING}*"):
        with contextlib.suppress(OSError):
            if time.time() - left.stat().st_mtime > _ABANDONED_S:
                shutil.rmtree(left, ignore_errors=True)
