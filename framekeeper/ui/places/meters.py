"""The meters: how far each can be trusted and why, what was learnt, drift, studies, findings."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtWidgets import QStackedWidget, QWidget

from framekeeper.domain.changes import Changes
from framekeeper.domain.errors import FramekeeperError, NotValid, StorageTrouble
from framekeeper.domain.records import MeterRecord
from framekeeper.services.desk import Desk, Done
from framekeeper.services.meter_checks import MeterPage, meter_pages
from framekeeper.services.meter_drift import Drift, drifts
from framekeeper.services.meter_studies import MeterStudy, StudyDone, studies
from framekeeper.ui.bench import Bench
from framekeeper.ui.places.meter_forms import (
    CertificateForm,
    CheckForm,
    ComparisonForm,
    GaugeForm,
    MishapForm,
    PlanForm,
    ReferenceForm,
    ZeroForm,
)
from framekeeper.ui.places.meter_found import FoundOutPage
from framekeeper.ui.places.meter_memory import HalfStudy, StudyMemory
from framekeeper.ui.places.meter_overview import MeterOverview
from framekeeper.ui.places.meter_result import StudyResult
from framekeeper.ui.places.meter_step import MeterStep
from framekeeper.ui.places.meter_walk import StudyWalk
from framekeeper.ui.places.place import Place
from framekeeper.ui.text import tr, tr_count
from framekeeper.ui.widgets.notices import EmptyState, KeyHintButton, PlaceHeader


@dataclass(frozen=True, slots=True)
class _Looked:
    """All that this place shows."""

    shop: str
    today: dt.date
    pages: list[MeterPage]
    drifts: dict[int, tuple[Drift, Drift]]
    studies: list[MeterStudy]


def _look(desk: Desk) -> _Looked:
    pages = meter_pages(desk)
    return _Looked(
        desk.shop.url.render_as_string(hide_password=True),
        desk.today(),
        pages,
        {page.trust.meter.id: drifts(page) for page in pages},
        studies(desk),
    )


class Meters(Place):
    """The list with its keys; a study, its result and a finding each take the place for a while."""

    def __init__(self, bench: Bench, memory_path: Path | None = None) -> None:
        super().__init__(bench)
        self._memory_path = memory_path
        self._memory: StudyMemory | None = None
        self._halves: dict[str, HalfStudy] = {}
        self._looked: _Looked | None = None
        theme = bench.theme
        self._add = KeyHintButton(theme, tr("Add a meter …"), "Ctrl+N")
        self._edit = KeyHintButton(theme, tr("Edit the meter …"), "Ctrl+E")
        self._first = KeyHintButton(theme, tr("Add the first meter …"), "Ctrl+N")
        self._header = PlaceHeader(
            theme, tr("Meters"), tr("Looking at the meters …"), (self._edit, self._add)
        )
        self.overview = MeterOverview(bench)
        self.walk, self.result, self.found = (
            StudyWalk(bench), StudyResult(bench), FoundOutPage(bench),
        )  # fmt: skip
        self._pages = QStackedWidget()
        self._empty = EmptyState(
            theme,
            bench.icons,
            "meters",
            tr("The shop has no meter yet"),
            tr("Add the meter that you read tension with; each reading then knows its meter."),
            self._first,
        )
        for page in (self.overview, self._empty, self.walk, self.result, self.found):
            self._pages.addWidget(page)
        self.column.addWidget(self._header)
        self.column.addWidget(self._pages, 1)
        self._connect()

    def _connect(self) -> None:
        for button in (self._add, self._first):
            button.clicked.connect(self._add_meter)
        self._edit.clicked.connect(self._edit_meter)
        keys = self.overview.keys
        for key, slot in (
            ("zero", self._zero),
            ("reference", self._reference),
            ("certificate", self._certificate),
            ("drop", self._dropped),
            ("repair", self._repaired),
            ("found_out", self._found_out),
            ("comparison", self._compare),
            ("gauge", self._gauge),
        ):
            keys[key].clicked.connect(slot)
        self.overview.meters.asked.connect(self._zero)
        self.overview.meters.chosen_changed.connect(self._show_chosen)
        self.overview.studies.asked.connect(self._show_study)
        self.overview.confirmed.connect(self._confirm)
        self.walk.changed.connect(self._keep)
        self.walk.saved.connect(self._study_saved)
        self.walk.forgotten.connect(self._forget_study)
        for step in (self.walk, self.result, self.found):
            step.left.connect(self._back_to_list)

    # what is shown

    def take_focus(self) -> None:
        shown = self._pages.currentWidget()
        if isinstance(shown, MeterStep):
            shown.focus_work()
        else:
            self.overview.take_focus()

    def follows(self, changes: Changes) -> bool:
        return bool(changes.kinds & {"meters", "frames", "settings"})

    def refresh(self) -> None:
        self.bench.read(_look, self._show, owner=self)

    def _show(self, looked: _Looked) -> None:
        self._looked = looked
        if self._memory is None:
            self._memory = StudyMemory(self._memory_path)
            self._halves = self._memory.recall(looked.shop)
        has_meters = bool(looked.pages)
        shown = self._pages.currentWidget()
        if not isinstance(shown, MeterStep):
            self._go_to(self.overview if has_meters else self._empty)
        self._offer_keys()
        self._header.set_purpose(_purpose(looked.pages) if has_meters else "")
        self.overview.show_meters(looked.pages)
        self.overview.show_studies(looked.studies)
        self._name_half_typed()
        self._show_chosen()
        if self.result.study is not None and shown is self.result:
            self._refresh_result(looked.studies)

    def _go_to(self, page: QWidget) -> None:
        self._pages.setCurrentWidget(page)
        self._offer_keys()

    def _offer_keys(self) -> None:
        """The keys at the head are those of the list."""
        for button in (self._add, self._edit):
            button.setVisible(self._pages.currentWidget() is self.overview)

    def _refresh_result(self, known: list[MeterStudy]) -> None:
        """A study that was taken back is shown no longer."""
        assert self.result.study is not None
        wanted = self.result.study.record.id
        study = next((s for s in known if s.record.id == wanted), None)
        if study is None:
            self._back_to_list()
        else:
            self.result.show_study(study)

    def _show_chosen(self) -> None:
        page, looked = self.overview.chosen(), self._looked
        self._edit.setEnabled(page is not None)
        several = looked is not None and len(looked.pages) > 1
        self.overview.enable(page is not None, can_compare=several)
        charted = looked.drifts.get(page.trust.meter.id) if looked and page else None
        self.overview.show_page(page, charted)

    def _page(self) -> MeterPage | None:
        return self.overview.chosen()

    # the meters themselves

    def _add_meter(self) -> None:
        self._open_meter(None)

    def _edit_meter(self) -> None:
        page = self._page()
        if page is not None:
            self._open_meter(page.trust.meter)

    def _open_meter(self, meter: MeterRecord | None) -> None:
        from framekeeper.ui.dialogs.meter import MeterForm

        MeterForm(self.bench, meter, self).open()

    # what is learnt

    def _zero(self) -> None:
        if (page := self._page()) is not None:
            self.overview.open_form(ZeroForm(self.bench, page))

    def _reference(self) -> None:
        if (page := self._page()) is not None:
            self.overview.open_form(ReferenceForm(self.bench, page))

    def _certificate(self) -> None:
        if (page := self._page()) is not None and self._looked is not None:
            self.overview.open_form(CertificateForm(self.bench, page, self._looked.today))

    def _dropped(self) -> None:
        if (page := self._page()) is not None:
            self.overview.open_form(MishapForm(self.bench, page, "drop"))

    def _repaired(self) -> None:
        if (page := self._page()) is not None:
            self.overview.open_form(MishapForm(self.bench, page, "repair"))

    def _confirm(self) -> None:
        form = self.overview.form
        try:
            if isinstance(form, PlanForm):
                self._begin(HalfStudy(form.plan()))
            elif isinstance(form, CheckForm):
                order = form.order()
                form.wait()
                self.bench.change(order, self._recorded, owner=self, fail=self._refused)
        except NotValid as refused:
            self._refused(refused)

    def _recorded(self, _done: Done) -> None:
        self.overview.close_form()

    def _refused(self, error: FramekeeperError) -> None:
        form = self.overview.form
        if form is not None:
            form.refuse(error, self.bench.formatter)
        else:
            self.bench.show_trouble(error)

    def _found_out(self) -> None:
        if (page := self._page()) is not None:
            self._go_to(self.found)
            self.found.begin(page)

    # studies

    def _gauge(self) -> None:
        if (page := self._page()) is not None and not self._go_on("gauge"):
            self.overview.open_form(GaugeForm(self.bench, page.trust.meter.name))

    def _compare(self) -> None:
        page, looked = self._page(), self._looked
        if page is None or looked is None or self._go_on("comparison"):
            return
        name = page.trust.meter.name
        others = [m for p in looked.pages if (m := p.trust.meter.name) != name]
        self.overview.open_form(ComparisonForm(self.bench, name, others))

    def _go_on(self, kind: str) -> bool:
        """Go on with a study that was left half typed."""
        half = self._halves.get(kind)
        if half is not None:
            self._begin(half)
        return half is not None

    def _begin(self, half: HalfStudy) -> None:
        self.overview.close_form()
        self._halves[half.plan.kind] = half
        self._go_to(self.walk)
        self.walk.begin(half)

    def _keep(self) -> None:
        half = self.walk.half
        if half is not None:
            self._halves[half.plan.kind] = half
            self._write_memory()

    def _write_memory(self) -> None:
        if self._memory is None or self._looked is None:
            return
        try:
            self._memory.keep(self._looked.shop, self._halves)
        except StorageTrouble as trouble:
            self.bench.show_trouble(trouble)

    def _study_saved(self, done: StudyDone) -> None:
        assert done.study is not None
        self._halves.pop(done.study.record.kind, None)
        self._write_memory()
        self._open_result(done.study)

    def _forget_study(self, kind: str) -> None:
        self._halves.pop(kind, None)
        self._write_memory()
        self._back_to_list()

    def _show_study(self) -> None:
        chosen = self.overview.studies.chosen()
        if len(chosen) == 1:
            self._open_result(chosen[0])

    def _open_result(self, study: MeterStudy) -> None:
        self._go_to(self.result)
        self.result.show_study(study)
        self.result.focus_work()

    def _back_to_list(self) -> None:
        has_meters = self._looked is not None and bool(self._looked.pages)
        self._go_to(self.overview if has_meters else self._empty)
        self._name_half_typed()
        self.overview.take_focus()

    def _name_half_typed(self) -> None:
        self.overview.name_half_typed({kind: len(h.values) for kind, h in self._halves.items()})


def _purpose(pages: list[MeterPage]) -> str:
    bad = [p.trust.meter.name for p in pages if p.trust.answer == "below"]
    if bad:
        return tr("Do not measure with: {meters}.", meters=", ".join(bad))
    soon = sum(p.trust.answer == "soon" for p in pages)
    if soon:
        return tr_count("{n} meter wants a look.", "{n} meters want a look.", soon)
    return tr_count("{n} meter, and it holds.", "{n} meters, and all hold.", len(pages))
