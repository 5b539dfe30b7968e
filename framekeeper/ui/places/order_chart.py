"""The stock of one mesh against what is expected to be needed, day by day until the delivery."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from framekeeper.ui.lengths import MM_PER_METRE, MM_PER_YARD, roll_length, roll_unit_word
from framekeeper.ui.text import Formatter, tr
from framekeeper.ui.theme import Theme
from framekeeper.ui.widgets.plot_kit import DASHED, add_level, dress_plot, pen
from framekeeper.ui.widgets.told_chart import BAND_ALPHA, ToldChart

if TYPE_CHECKING:
    import pyqtgraph

    from framekeeper.services.order import DayNeed, MeshOrder

_SIDE = 0.05  # of the width, left and right of the days
_AIR = 1.18  # of the highest value: room for its words
_TICKS = 6  # at most, so that dates do not touch
_STEPS = (1, 2, 5, 7, 14, 28, 56, 112)


class OrderChart(ToldChart):
    """Shows when the stock is likely to be used up; arrow keys tell the numbers of each day."""

    def __init__(self, theme: Theme, formatter: Formatter, parent: QWidget | None = None) -> None:
        super().__init__(
            theme, formatter, parent, name=tr("Stock and need of this mesh"), least_height=200
        )
        self._order: MeshOrder | None = None
        self._said.setProperty("quiet", True)
        self._said.setFixedHeight(round(3 * theme.px("body")))

    def show_order(self, order: MeshOrder | None) -> None:
        """Show this mesh; None where none is chosen."""
        self._order, self._told = order, None
        self._show(is_anything=order is not None)

    def _stops(self) -> int:
        return 0 if self._order is None else len(self._order.curve)

    def _tell(self) -> None:
        if self._order is None:
            self._said.clear()
        elif self._told is None:
            self._said.setText(
                tr(
                    "Line: expected need. Band: about eight of ten cases. Delivery: if ordered "
                    "today. Left and Right tell the numbers."
                )
            )
        else:
            self._said.setText(self._describe(self._order, self._order.curve[self._told]))
        self.setAccessibleDescription(self._said.text())

    def _describe(self, order: MeshOrder, point: DayNeed) -> str:
        f = self._formatter
        return tr(
            "Until {day}: {mean} expected, eight of ten from {low} to {high}; {there} can be used.",
            day=f.date(order.today + dt.timedelta(days=round(point.day))),
            mean=roll_length(f, point.mean_mm),
            low=roll_length(f, point.low_mm),
            high=roll_length(f, point.high_mm),
            there=roll_length(f, self._stock_on(order, point.day)),
        )

    @staticmethod
    def _stock_on(order: MeshOrder, day: float) -> int:
        """What can be used by a day, with what is on its way once it is expected."""
        coming = order.coming
        if coming is None or day < coming.days_until(order.today):
            return order.usable_mm
        return order.usable_mm + coming.length_mm

    # drawing

    def _shown(self, length_mm: float) -> float:
        return length_mm / (MM_PER_METRE if self._formatter.length_unit == "mm" else MM_PER_YARD)

    def _draw(self) -> None:
        plot, order = self._plot, self._order
        if plot is None:
            return
        plot.clear()
        plot.setVisible(order is not None)
        if order is None:
            return
        dress_plot(plot, self._theme, left=roll_unit_word(self._formatter), bottom="")
        plot.getAxis("bottom").setTicks([self._ticks(order)])
        self._draw_need(plot, order)
        self._draw_stock(plot, order)
        self._draw_delivery(plot, order)
        if self._told is not None:
            self._draw_told(plot, order.curve[self._told])
        last = order.curve[-1]
        top = max(self._shown(last.high_mm), self._shown(self._shown_stock(order)), 1.0)
        plot.setYRange(0, _AIR * top, padding=0)
        plot.setXRange(0, last.day, padding=_SIDE)

    @staticmethod
    def _shown_stock(order: MeshOrder) -> float:
        """The stock, unless it lies so high that the need beside it could not be read."""
        most = 4 * max(order.curve[-1].high_mm, order.reorder_mm, 1.0)
        there = float(order.there_mm)
        return there if there <= most else max(order.curve[-1].high_mm, order.reorder_mm)

    def _ticks(self, order: MeshOrder) -> list[tuple[float, str]]:
        last = order.curve[-1].day
        step = next((s for s in _STEPS if last / s <= _TICKS), _STEPS[-1])
        days = range(0, int(last) + 1, step)
        dated = [
            (float(d), self._formatter.day_and_month(order.today + dt.timedelta(days=d)))
            for d in days[1:]
        ]
        return [(0.0, tr("today")), *dated]

    def _draw_need(self, plot: pyqtgraph.PlotWidget, order: MeshOrder) -> None:
        import pyqtgraph

        x = [p.day for p in order.curve]
        tone = self._theme.palette.colour("place")
        tone.setAlpha(BAND_ALPHA)
        edge = pen(self._theme, "place", 1)
        low, high, mean = (
            [self._shown(value) for value in values]
            for values in zip(*((p.low_mm, p.high_mm, p.mean_mm) for p in order.curve), strict=True)
        )
        edges = [pyqtgraph.PlotCurveItem(x, y, pen=edge, antialias=True) for y in (low, high)]
        line = pyqtgraph.PlotCurveItem(x, mean, pen=pen(self._theme, "ink", 2), antialias=True)
        for item in (pyqtgraph.FillBetweenItem(*edges, brush=tone), *edges, line):
            plot.addItem(item)

    def _draw_stock(self, plot: pyqtgraph.PlotWidget, order: MeshOrder) -> None:
        import pyqtgraph

        f = self._formatter
        add_level(
            plot, self._theme, self._shown(order.reorder_mm),
            tr("reorder point {length}", length=roll_length(f, order.reorder_mm)),
            pen(self._theme, "press", 1.5, DASHED), at_left=True,
        )  # fmt: skip
        words = tr("can be used {length}", length=roll_length(f, order.usable_mm))
        if order.there_mm > self._shown_stock(order):
            words = tr("{stock}, far above", stock=words)
            note = pyqtgraph.TextItem(words, color=self._theme.palette.ink, anchor=(1, 0))
            note.setFont(self._theme.font("small"))
            note.setPos(order.curve[-1].day, _AIR * self._shown(self._shown_stock(order)))
            plot.addItem(note)
            return
        line = pen(self._theme, "holds", 2)
        # the words lie on the side of their line on which the need does not
        is_below = order.usable_mm < order.curve[-1].mean_mm
        side, day = (1, order.curve[-1].day) if order.coming is None else (0, 0.0)
        note = pyqtgraph.TextItem(
            words, color=self._theme.palette.ink, anchor=(side, 0 if is_below else 1)
        )
        note.setFont(self._theme.font("small"))
        note.setPos(day, self._shown(order.usable_mm))
        plot.addItem(note)
        last = order.curve[-1].day
        arrives = float(order.coming.days_until(order.today)) if order.coming else last
        before, after = self._shown(order.usable_mm), self._shown(order.there_mm)
        x, y = [0.0, min(arrives, last)], [before, before]
        if arrives < last:
            x, y = [*x, arrives, last], [*y, after, after]
        plot.addItem(pyqtgraph.PlotCurveItem(x, y, pen=line))

    def _draw_delivery(self, plot: pyqtgraph.PlotWidget, order: MeshOrder) -> None:
        """Mark the day on which mesh comes that is ordered today."""
        import pyqtgraph

        item = pyqtgraph.InfiniteLine(
            pos=order.lead.days,
            angle=90,
            pen=pen(self._theme, "quiet", 1, DASHED),
            label=tr("delivery"),
            labelOpts={
                "position": 0.96, "anchors": [(1, 0.5)] * 2, "color": self._theme.palette.ink,
            },
        )  # fmt: skip
        item.label.setFont(self._theme.font("small"))
        plot.addItem(item)

    def _draw_told(self, plot: pyqtgraph.PlotWidget, point: DayNeed) -> None:
        import pyqtgraph

        plot.addItem(
            pyqtgraph.ScatterPlotItem(
                x=[point.day],
                y=[self._shown(point.mean_mm)],
                size=11,
                pen=pen(self._theme, "ink", 1.25),
                brush=self._theme.palette.colour("place"),
            )
        )
