"""Proves that papers are written where the person says, whole or not at all."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from framekeeper.services import check
from framekeeper.services.desk import Desk
from framekeeper.services.papers import LabelSetup
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.label_memory import LabelMemory
from framekeeper.ui.printing import (
    save_due_sheet,
    save_labels,
    save_round_sheet,
    save_tension_sheet,
)
from tests.fakes import FakeClock, FakePrompter
from tests.ui.small_shop import inline_bench, put_away, stocked_desk

Save = Callable[[Bench, QWidget, FakePrompter, str], None]
SHEETS: dict[str, Save] = {
    "due": lambda bench, page, prompter, code: save_due_sheet(bench, page, prompter=prompter),
    "round": lambda bench, page, prompter, code: save_round_sheet(
        bench, page, meter="Blue case", prompter=prompter
    ),
    "tension": lambda bench, page, prompter, code: save_tension_sheet(
        bench, page, code, prompter=prompter
    ),
}


@pytest.fixture
def stocked(sqlite_place: str, clock: FakeClock) -> tuple[Desk, list[str]]:
    desk, codes = stocked_desk(sqlite_place, clock)
    check.survey(desk, codes[0], check.SurveyRequest((24.0,), (17.0,)))
    return desk, codes


@pytest.fixture
def codes(stocked: tuple[Desk, list[str]]) -> list[str]:
    return stocked[1]


@pytest.fixture
def bench(
    qapp: QApplication, stocked: tuple[Desk, list[str]], monkeypatch: pytest.MonkeyPatch
) -> Iterator[Bench]:
    made = inline_bench(qapp, stocked[0], monkeypatch)
    yield made
    put_away(made)


@pytest.fixture
def page(qtbot: QtBot) -> QWidget:
    widget = QWidget()
    qtbot.addWidget(widget)
    return widget


@pytest.fixture
def memory(tmp_path: Path) -> LabelMemory:
    return LabelMemory(tmp_path / "bench" / "labels.json")


def text_of(path: Path) -> str:
    return "\n".join(p.extract_text() for p in PdfReader(io.BytesIO(path.read_bytes())).pages)


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_is_saved_where_the_person_says(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path, name: str
) -> None:
    """It carries the frame's code, and the message line says where it is."""
    told: list[str] = []
    bench.told.connect(told.append)
    path = tmp_path / f"{name}.pdf"
    prompter = FakePrompter([str(path)])
    SHEETS[name](bench, page, prompter, codes[0])
    assert codes[0] in text_of(path)
    assert len(prompter.asked) == 1
    assert str(path) in told[-1]


@pytest.mark.parametrize("name", SHEETS)
def test_a_folder_that_is_not_there_is_told(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path, name: str
) -> None:
    """What happened, what was kept, what to do; and no success is claimed."""
    told: list[str] = []
    refused: list[str] = []
    bench.told.connect(told.append)
    bench.refused.connect(refused.append)
    path = tmp_path / "gone" / "x.pdf"
    SHEETS[name](bench, page, FakePrompter([str(path)]), codes[0])
    assert not told
    assert str(path) in refused[0]
    assert "Choose another folder" in refused[0]


def test_an_older_paper_stays_whole_where_the_new_one_cannot_be_written(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path
) -> None:
    """A name that is a folder cannot be replaced, and what lies in it is untouched."""
    kept = tmp_path / "due.pdf"
    kept.mkdir()
    (kept / "inside.txt").write_text("still here", encoding="utf-8")
    refused: list[str] = []
    bench.refused.connect(refused.append)
    save_due_sheet(bench, page, prompter=FakePrompter([str(kept)]))
    assert refused
    assert (kept / "inside.txt").read_text(encoding="utf-8") == "still here"


def test_a_frame_that_is_not_there_is_told_before_anybody_is_asked(
    bench: Bench, page: QWidget
) -> None:
    """No file is asked for what cannot be made."""
    refused: list[str] = []
    bench.refused.connect(refused.append)
    prompter = FakePrompter()
    save_tension_sheet(bench, page, "nobody", prompter=prompter)
    assert refused
    assert not prompter.asked


def test_a_sheet_speaks_in_the_units_of_the_shop(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path
) -> None:
    """Paper and screen say the same."""
    bench.formatter.length_unit = "inch"
    path = tmp_path / "t.pdf"
    save_tension_sheet(bench, page, codes[0], prompter=FakePrompter([str(path)]))
    assert "23 × 31 in" in text_of(path)


def test_labels_are_saved_and_opened(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path, memory: LabelMemory
) -> None:
    """Every code is on the sheet, and the file is handed to the computer's own program."""
    opened: list[Path] = []
    path = tmp_path / "labels.pdf"

    def show(shown: Path) -> bool:
        opened.append(shown)
        return True

    save_labels(
        bench, page, codes, setup=LabelSetup("a4_3x7", 4), memory=memory,
        prompter=FakePrompter([str(path)]), show_file=show,
    )  # fmt: skip
    assert all(code in text_of(path) for code in codes)
    assert opened == [path]


def test_a_damaged_label_is_printed_again_without_a_question(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path, memory: LabelMemory
) -> None:
    """On the same sheet, from the next free cell, into the folder of the last time."""
    first = FakePrompter([str(tmp_path / "labels.pdf")])
    setup = LabelSetup("roll_bar_100x20", 1, (1.0, 0.5))
    save_labels(
        bench, page, codes, setup=setup, memory=memory, prompter=first, show_file=Path.exists
    )
    nobody = FakePrompter()
    save_labels(bench, page, codes[:1], memory=memory, prompter=nobody, show_file=Path.exists)
    again = tmp_path / f"label {codes[0]}.pdf"
    assert not nobody.asked
    assert codes[0] in text_of(again)
    size = PdfReader(io.BytesIO(again.read_bytes())).pages[0].mediabox
    assert (float(size.width), float(size.height)) == pytest.approx(
        (100 / 25.4 * 72, 20 / 25.4 * 72), abs=0.1
    )


def test_the_first_label_of_a_bench_asks_where_to_go(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path, memory: LabelMemory
) -> None:
    """Nothing is remembered yet, so the one key asks once."""
    prompter = FakePrompter([str(tmp_path / "first.pdf")])
    save_labels(bench, page, codes[:1], memory=memory, prompter=prompter, show_file=Path.exists)
    assert len(prompter.asked) == 1
    assert codes[0] in text_of(tmp_path / "first.pdf")


@pytest.mark.parametrize("broken", ["", "{", "[]", '{"version": 99, "shops": {}}', '{"shops": 3}'])
def test_a_broken_memory_is_an_empty_one(
    bench: Bench, codes: list[str], page: QWidget, tmp_path: Path, broken: str
) -> None:
    """Nothing hangs on it: labels are printed all the same."""
    path = tmp_path / "labels.json"
    path.write_text(broken, encoding="utf-8")
    save_labels(
        bench, page, codes[:1], memory=LabelMemory(path),
        prompter=FakePrompter([str(tmp_path / "x.pdf")]), show_file=Path.exists,
    )  # fmt: skip
    assert codes[0] in text_of(tmp_path / "x.pdf")
