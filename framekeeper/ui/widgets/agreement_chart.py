"""How far two meters read apart, place by place, with their bias and limits of agreement."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtWidgets import QVBoxLayout, QWidget

from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.plot_kit import DASHED, add_level, dress_plot, new_plot, pen

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.meter_studies import MeterStudy


class AgreementChart(QWidget):
    """Difference of each pair over its mean; the words beside it say the same."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._theme, self._formatter = theme, formatter
        self._study: MeterStudy | None = None
        self._plot: pyqtgraph.PlotWidget | None = None
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self.setAccessibleName(tr("Differences of two meters"))
        theme.changed.connect(self._draw)

    def show_study(self, study: MeterStudy) -> None:
        """Show a comparison."""
        self._study = study
        if self._plot is None:
            self._plot = new_plot(self, by_date=False)
            layout = self.layout()
            assert layout is not None
            layout.addWidget(self._plot)
        self._draw()

    def _draw(self) -> None:
        plot, study = self._plot, self._study
        if plot is None or study is None or study.agreement is None:
            return
        import numpy as np
        import pyqtgraph

        plot.clear()
        dress_plot(
            plot, self._theme, left=tr("Difference, N/cm"), bottom=tr("Mean of the two, N/cm")
        )
        pairs = np.asarray(study.record.rows, dtype=np.float64)
        means, differences = pairs.mean(axis=1), pairs[:, 0] - pairs[:, 1]
        plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=means,
                y=differences,
                size=10,
                pen=pen(self._theme, "ink", 1.25),
                brush=self._theme.palette.colour("surface"),
            )
        )
        found, f = study.agreement, self._formatter
        bias = pen(self._theme, "press", 2)
        limit = pen(self._theme, "quiet", 1.25, DASHED)
        for level, line in ((found.upper, limit), (found.bias, bias), (found.lower, limit)):
            add_level(plot, self._theme, level, f.number(level, 2), line)
        low, high = min(differences.min(), found.lower), max(differences.max(), found.upper)
        wide = max(float(np.ptp(means)), 1.0)
        plot.setYRange(low, high, padding=0.15)
        plot.setXRange(means.min() - 0.05 * wide, means.max() + 0.15 * wide, padding=0)
