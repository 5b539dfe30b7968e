"""What the forecast believes until the shop has read screens of its own, each with its source."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from framekeeper.services.findings import Findings
from framekeeper.services.findings_telling import trade_words
from framekeeper.ui.bench import Bench
from framekeeper.ui.text import tr
from framekeeper.ui.theme import STEP


class TradeFigures(QWidget):
    """A few lines: how much, of what, and where that comes from."""

    def __init__(self, bench: Bench, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._bench = bench
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 2 * STEP)
        self._grid.setHorizontalSpacing(4 * STEP)
        self._grid.setVerticalSpacing(2 * STEP)
        self._grid.setColumnStretch(2, 1)
        self.setAccessibleName(tr("The trade’s figures"))

    @property
    def said(self) -> list[str]:
        """All that is told, line by line."""
        return [label.text() for label in self.findChildren(QLabel)]

    def show_figures(self, found: Findings) -> None:
        """Tell the figures; they are the same for every shop, so once is enough."""
        if self._grid.count():
            return
        f = self._bench.formatter
        title = QLabel(tr("The trade’s figures until then"))
        title.setFont(self._bench.theme.font("body", bold=True))
        self._grid.addWidget(title, 0, 0, 1, 3)
        for row, figure in enumerate(found.trade, start=1):
            decimals = 1 if figure.percent >= 1 else 2
            much = tr(
                "{percent} % ± {doubt}",
                percent=f.number(figure.percent, decimals),
                doubt=f.number(figure.doubt, decimals),
            )
            for column, words in enumerate(
                (much, f.sentence(figure.what), f.sentence(figure.source))
            ):
                label = QLabel(words)
                label.setAlignment(Qt.AlignmentFlag.AlignTop)
                if column == 2:
                    label.setWordWrap(True)
                    label.setProperty("quiet", True)
                self._grid.addWidget(label, row, column)
        last = QLabel(f.sentence(trade_words(found)))
        last.setWordWrap(True)
        self._grid.addWidget(last, len(found.trade) + 1, 0, 1, 3)
