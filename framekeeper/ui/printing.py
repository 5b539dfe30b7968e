"""Makes papers on the database thread, asks where they shall go, and writes them whole or not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.records import FrameRecord
from framekeeper.services.desk import Desk
from framekeeper.services.papers import LabelSetup
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.asking import (
    Prompter,
    SavePrompter,
    documents,
    open_file,
    write_file,
)
from framekeeper.ui.dialogs.label_memory import LabelHabits, LabelMemory
from framekeeper.ui.text import tr, tr_count

if TYPE_CHECKING:
    from framekeeper.domain.cut_drawing import DrawnPlan
    from framekeeper.services.costs import Costs
    from framekeeper.services.lives import LifeGroup, LivesFound
    from framekeeper.services.order import OrderList

Shower = Callable[[Path], bool]
Fail = Callable[[FramekeeperError], None]


@dataclass(frozen=True, slots=True)
class Paper:
    """A finished file and the name that it is offered."""

    data: bytes
    name: str


def save_due_sheet(bench: Bench, parent: QWidget, *, prompter: Prompter | None = None) -> None:
    """Save the due list as a PDF."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import papers

        return Paper(papers.due_sheet_pdf(desk, bench.formatter), f"due {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the due list"), prompter)


def save_calendar(bench: Bench, parent: QWidget, *, prompter: Prompter | None = None) -> None:
    """Save the plan of the coming days for the calendar of a phone."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import week_calendar

        data = week_calendar.calendar_file(desk, bench.formatter)
        return Paper(data, f"work plan {desk.today()}.ics")

    _save(bench, parent, build, tr("Save the calendar file"), prompter)


def save_round_sheet(
    bench: Bench,
    parent: QWidget,
    codes: Sequence[str] | None = None,
    *,
    meter: str = "",
    prompter: Prompter | None = None,
) -> None:
    """Save the sheet of a tension round as a PDF; without codes, of every screen."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import papers

        pdf = papers.round_sheet_pdf(desk, bench.formatter, codes, meter=meter)
        return Paper(pdf, f"round {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the round sheet"), prompter)


def save_tension_sheet(
    bench: Bench, parent: QWidget, code: str, *, prompter: Prompter | None = None
) -> None:
    """Save the tension sheet of one frame as a PDF."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import tension_paper

        pdf = tension_paper.tension_sheet_pdf(desk, bench.formatter, code)
        return Paper(pdf, f"tension {code} {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the tension sheet"), prompter)


def save_cut_sheet(
    bench: Bench, parent: QWidget, view: DrawnPlan, *, prompter: Prompter | None = None
) -> None:
    """Save the cut plan as it is shown, as a PDF."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import cut_view

        pdf = cut_view.cut_sheet_pdf(desk, view, bench.formatter)
        return Paper(pdf, f"cut sheet {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the cut sheet"), prompter)


def save_order_sheet(
    bench: Bench, parent: QWidget, orders: OrderList, *, prompter: Prompter | None = None
) -> None:
    """Save the mesh order as it is shown, as a PDF."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import order_paper

        pdf = order_paper.order_sheet_pdf(orders, bench.formatter)
        return Paper(pdf, f"mesh order {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the mesh order"), prompter)


def save_order_workbook(
    bench: Bench, parent: QWidget, orders: OrderList, *, prompter: Prompter | None = None
) -> None:
    """Save the mesh order as it is shown, as a workbook."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import order_paper

        data = order_paper.order_workbook(orders, bench.formatter)
        return Paper(data, f"mesh order {desk.today()}.xlsx")

    _save(bench, parent, build, tr("Save the mesh order"), prompter)


def save_lives_report(
    bench: Bench,
    parent: QWidget,
    found: LivesFound,
    group: LifeGroup | None,
    *,
    prompter: Prompter | None = None,
) -> None:
    """Save what the page of lives shows as a PDF, with the curve of the chosen group."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import lives_paper

        pdf = lives_paper.lives_report_pdf(desk, bench.formatter, found, group)
        return Paper(pdf, f"lives {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the report on lives"), prompter)


def save_costs_sheet(
    bench: Bench, parent: QWidget, found: Costs, *, prompter: Prompter | None = None
) -> None:
    """Save the costs as they are shown, as a PDF."""

    def build(desk: Desk) -> Paper:
        from framekeeper.services import cost_paper

        pdf = cost_paper.costs_pdf(desk, bench.formatter, found)
        return Paper(pdf, f"costs {desk.today()}.pdf")

    _save(bench, parent, build, tr("Save the costs"), prompter)


def _save(
    bench: Bench,
    parent: QWidget,
    build: Callable[[Desk], Paper],
    question: str,
    prompter: Prompter | None,
) -> None:
    def ask(paper: Paper) -> None:
        asks = prompter or SavePrompter(parent, documents() / paper.name)
        asks.ask(question, lambda answer: write(paper, Path(str(answer))))

    def write(paper: Paper, path: Path) -> None:
        try:
            write_file(path, paper.data)
        except FramekeeperError as refused:
            bench.show_trouble(refused)
            return
        bench.told.emit(tr("Saved as {path}.", path=str(path)))

    bench.read(build, ask, owner=parent)


# labels


@dataclass(frozen=True, slots=True)
class _Labels:
    pdf: bytes
    name: str
    shop: str
    setup: LabelSetup
    cells: int
    frames: tuple[FrameRecord, ...]


def save_labels(
    bench: Bench,
    parent: QWidget,
    codes: Sequence[str],
    *,
    setup: LabelSetup | None = None,
    memory: LabelMemory | None = None,
    prompter: Prompter | None = None,
    show_file: Shower | None = None,
    then: Callable[[], None] | None = None,
    fail: Fail | None = None,
) -> None:
    """Save labels as a PDF and open it; the next free cell of the sheet is remembered.

    Without a setup the labels go where the last ones ended, on the same sheet and into the same
    folder, so that a damaged label is printed again with one key.
    """
    keeper = memory or LabelMemory()
    refuse = fail or bench.show_trouble

    def build(desk: Desk) -> _Labels:
        return _build_labels(desk, bench, codes, setup, keeper)

    def ask(labels: _Labels) -> None:
        folder = keeper.recall(labels.shop).folder
        if setup is None and folder and Path(folder).is_dir():
            write(labels, Path(folder) / labels.name)
            return
        asks = prompter or SavePrompter(parent, Path(folder or documents()) / labels.name)
        asks.ask(tr("Save the labels"), lambda answer: write(labels, Path(str(answer))))

    def write(labels: _Labels, path: Path) -> None:
        try:
            write_file(path, labels.pdf)
            _remember(labels, path, keeper)
        except FramekeeperError as refused:
            refuse(refused)
            return
        _tell(bench, labels, path, shown=(show_file or open_file)(path))
        if then is not None:
            then()

    bench.read(build, ask, owner=parent, fail=refuse)


def _build_labels(
    desk: Desk,
    bench: Bench,
    codes: Sequence[str],
    setup: LabelSetup | None,
    memory: LabelMemory,
) -> _Labels:
    from framekeeper.formats.label_formats import label_format
    from framekeeper.services import papers
    from framekeeper.services.find import find_frames
    from framekeeper.services.settings import read_settings

    shop = desk.shop.url.render_as_string(hide_password=True)
    with desk.read() as reader:
        frames = tuple(find_frames(reader, codes))
    chosen = setup or _as_last_time(memory.recall(shop))
    pdf = papers.labels_pdf(desk, bench.formatter, codes, chosen)
    key = chosen.format_key or papers.usual_label_format(read_settings(desk))
    name = f"label {frames[0].code}.pdf" if len(frames) == 1 else f"labels {desk.today()}.pdf"
    return _Labels(pdf, name, shop, chosen, label_format(key).cells, frames)


def _as_last_time(habits: LabelHabits) -> LabelSetup:
    return LabelSetup(habits.format_key, habits.next_cell, (habits.right_mm, habits.down_mm))


def _remember(labels: _Labels, path: Path, memory: LabelMemory) -> None:
    habits = memory.recall(labels.shop).after_printing(
        labels.frames,
        format_key=labels.setup.format_key,
        next_cell=(labels.setup.start_cell - 1 + len(labels.frames)) % labels.cells + 1,
        right_mm=labels.setup.offset_mm[0],
        down_mm=labels.setup.offset_mm[1],
        folder=str(path.parent),
    )
    memory.keep(labels.shop, habits)


def _tell(bench: Bench, labels: _Labels, path: Path, *, shown: bool) -> None:
    count = tr_count("{n} label", "{n} labels", len(labels.frames))
    if shown:
        bench.told.emit(tr("{count} saved as {path} and opened.", count=count, path=str(path)))
    else:
        bench.told.emit(
            tr(
                "{count} saved as {path}. This computer has no program that opens a PDF.",
                count=count,
                path=str(path),
            )
        )
