"""What small plots share: the theme's colours and type on axes, and pens that do not zoom.

The plotting library costs half a second to import, so it is loaded when the first plot is made.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPen
from PySide6.QtWidgets import QWidget

from framekeeper.ui.text import tr
from framekeeper.ui.theme import Theme

if TYPE_CHECKING:
    import pyqtgraph

SOLID, DASHED = Qt.PenStyle.SolidLine, Qt.PenStyle.DashLine


def new_plot(parent: QWidget, *, by_date: bool) -> pyqtgraph.PlotWidget:
    """Make a plot that takes no focus, and of which nothing can be pulled askew."""
    import pyqtgraph

    axes = {"bottom": pyqtgraph.DateAxisItem()} if by_date else {}
    plot = pyqtgraph.PlotWidget(parent, axisItems=axes)
    plot.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    plot.setMenuEnabled(False)
    plot.setMouseEnabled(x=False, y=False)
    plot.hideButtons()
    plot.setAccessibleName(tr("Chart"))
    return plot


def dress_plot(plot: pyqtgraph.PlotWidget, theme: Theme, *, left: str, bottom: str) -> None:
    """Give ground, axes and labels the theme's look."""
    colours = theme.palette
    plot.setBackground(colours.surface)
    for side in ("left", "bottom"):
        axis = plot.getAxis(side)
        axis.setPen(QPen(colours.colour("edge"), 1))
        axis.setTextPen(colours.colour("quiet"))
        axis.setTickFont(theme.font("small"))
        axis.setStyle(tickLength=-4)
        axis.enableAutoSIPrefix(False)
    plot.setLabel("left", left, color=colours.quiet)
    plot.setLabel("bottom", bottom, color=colours.quiet)


def pen(theme: Theme, colour: str, width: float, style: Qt.PenStyle = SOLID) -> QPen:
    """Make a pen whose width does not change with the zoom."""
    made = QPen(theme.palette.colour(colour), width, style)
    made.setCosmetic(True)
    return made


def add_level(
    plot: pyqtgraph.PlotWidget,
    theme: Theme,
    level: float,
    words: str,
    line: QPen,
    *,
    at_left: bool = False,
) -> None:
    """Draw a level across the plot, with its words at the right end, or at the left one."""
    import pyqtgraph

    side, place = (0, 0.01) if at_left else (1, 0.99)
    item = pyqtgraph.InfiniteLine(
        pos=level,
        angle=0,
        pen=line,
        label=words,
        labelOpts={"position": place, "anchors": [(side, 1)] * 2, "color": theme.palette.ink},
    )
    item.label.setFont(theme.font("small"))
    plot.addItem(item)
