"""One call of the command line: its words, the desk it works at, and how it answers."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import os
import shutil
import sys
from argparse import Namespace
from collections.abc import Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from framekeeper.cli.values import NOON
from framekeeper.domain.errors import StorageTrouble
from framekeeper.domain.sentence import Sentence, say
from framekeeper.services.desk import Clock, Desk, Done
from framekeeper.services.record import When
from framekeeper.services.wording import PlainWording


class Call:
    """Carries the parsed words; the shop is opened when a command first asks for it."""

    def __init__(self, words: Namespace, clock: Clock) -> None:
        self.words = words
        self.clock = clock
        self._opened: Desk | None = None
        self._demo: Path | None = None

    # the shop

    @cached_property
    def place(self) -> str | Path:
        """Where the shop is: the one that was named, a fresh demo, or this person's own."""
        from framekeeper import bootstrap

        if self.words.demo:
            return self.demo_copy
        named: str | None = self.words.db
        return bootstrap.default_shop() if named is None else named

    @property
    def desk(self) -> Desk:
        """The open shop."""
        if self._opened is None:
            from framekeeper.bootstrap import open_desk

            self._opened = open_desk(self.place, self.words.by, self.clock)
        return self._opened

    @cached_property
    def demo_copy(self) -> Path:
        """A fresh copy of the demo shop; it goes away when this call is closed."""
        from framekeeper import bootstrap

        self._demo = bootstrap.demo_shop()
        return self._demo

    def close(self) -> None:
        """Close the shop if it was opened, and put the copy of the demo away."""
        if self._opened is not None:
            self._opened.shop.close()
        if self._demo is not None:
            shutil.rmtree(self._demo.parent, ignore_errors=True)

    @cached_property
    def wording(self) -> PlainWording:
        """How this shop writes values."""
        from framekeeper.services.settings import read_settings

        unit = read_settings(self.desk).length_unit
        return PlainWording(length_unit=unit, zone=self.clock.zone())

    # times

    def moment(self, told: tuple[dt.date, dt.time | None] | None) -> dt.datetime | None:
        """Turn a date, with or without time, into a moment in the shop's zone.

        A date alone means noon, and today means now: what happened this morning is not ahead.
        """
        if told is None:
            return None
        date, time = told
        now = self.clock.now()
        if time is None and date == now.astimezone(self.clock.zone()).date():
            return now
        return dt.datetime.combine(date, time or NOON, self.clock.zone()).astimezone(dt.UTC)

    def when(self) -> When:
        """When it happened and what was noted, for commands with --at and --note."""
        return When(self.moment(self.words.at), self.words.note)

    # answers

    @property
    def as_json(self) -> bool:
        """Whether a machine is listening."""
        return bool(getattr(self.words, "json", False))

    def tell(self, text: Sentence | str) -> None:
        """Write one line for a person."""
        line = self.wording.sentence(text) if isinstance(text, Sentence) else text
        sys.stdout.write(line + "\n")

    def give(self, value: object) -> None:
        """Write a value for a machine."""
        plain = json.dumps(self._plain(value), ensure_ascii=False, indent=2)
        sys.stdout.write(plain + "\n")

    def done(self, done: Done, **more: object) -> None:
        """Answer with what was done."""
        if self.as_json:
            said = self.wording.sentence(done.said)
            self.give({"said": said, "codes": list(done.codes), **more})
        else:
            self.tell(done.said)

    def table(
        self, rows: Sequence[Mapping[str, object]], columns: Sequence[str], empty: Sentence
    ) -> None:
        """Answer with a list: as it is for a machine, in aligned columns for a person."""
        if self.as_json:
            self.give(list(rows))
        elif not rows:
            self.tell(empty)
        else:
            heads = [name.replace("_", " ") for name in columns]
            cells = [heads, *([self._cell(row[name]) for name in columns] for row in rows)]
            wide = [max(len(line[i]) for line in cells) for i in range(len(columns))]
            for line in cells:
                padded = (text.ljust(room) for text, room in zip(line, wide, strict=True))
                self.tell("  ".join(padded).rstrip())

    def _cell(self, value: object) -> str:
        if value is None:
            return ""
        if isinstance(value, bool):
            return "yes" if value else ""
        if isinstance(value, float):
            return f"{value:.1f}"
        if isinstance(value, dt.datetime):
            return self.wording.moment(value)
        if isinstance(value, dt.date):
            return self.wording.date(value)
        if isinstance(value, Sentence):
            return self.wording.sentence(value)
        if isinstance(value, list):
            return " x ".join(self._cell(part) for part in value)
        return str(value)

    def _plain(self, value: object) -> Any:
        if isinstance(value, dt.datetime):
            return value.astimezone(self.clock.zone()).isoformat(timespec="seconds")
        if isinstance(value, dt.date):
            return value.isoformat()
        if isinstance(value, Sentence):
            return self.wording.sentence(value)
        if isinstance(value, float):
            return round(value, 3)
        if isinstance(value, Mapping):
            return {str(name): self._plain(part) for name, part in value.items()}
        if isinstance(value, list | tuple):
            return [self._plain(part) for part in value]
        if isinstance(value, Path):
            return str(value)
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            fields = dataclasses.fields(value)
            return {f.name: self._plain(getattr(value, f.name)) for f in fields}
        return value

    def write(self, path: Path, data: bytes) -> None:
        """Write a paper, wholly or not at all, and say where it is.

        Raises
        ------
        StorageTrouble
            If the path is a folder, or the disk or the folder refuses it.
        """
        if path.is_dir():
            raise StorageTrouble(
                say("{path} is a folder.", path=path),
                kept=say("Nothing was written."),
                hint=say("Name a file in it."),
            )
        partial = path.with_name(f".{path.name}.partial-{os.getpid()}")
        try:
            try:
                partial.write_bytes(data)
                partial.replace(path)
            finally:
                partial.unlink(missing_ok=True)
        except OSError as trouble:
            raise StorageTrouble(
                say("{path} cannot be written: {cause}.", path=path, cause=trouble.strerror),
                kept=say("Nothing was written."),
                hint=say("Check the folder and the space on the disk."),
            ) from trouble
        if self.as_json:
            self.give({"path": str(path), "bytes": len(data)})
        else:
            self.tell(say("Written: {path}.", path=path))
