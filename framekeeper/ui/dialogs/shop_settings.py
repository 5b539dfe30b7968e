"""The shop's own choices: units, paper, allowances and times."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QLineEdit, QWidget

from framekeeper.domain.errors import FramekeeperError
from framekeeper.domain.points import OWN, PATTERN_NAMES, point_pattern
from framekeeper.domain.sizes import USUAL_FRAME_MM
from framekeeper.services import settings
from framekeeper.services.desk import Desk, Done
from framekeeper.services.settings import ShopSettings, own_points_in, own_points_text
from framekeeper.ui.bench import Bench
from framekeeper.ui.dialogs.fields import choices, number_field, number_in, whole_in
from framekeeper.ui.dialogs.form import FormDialog
from framekeeper.ui.text import MM_PER_INCH, tr
from framekeeper.ui.widgets.frame_drawing import FrameDrawing
from framekeeper.ui.widgets.frame_picture import FramePicture, PointPicture


class ShopSettingsForm(FormDialog):
    """Everything that a shop chooses once, with the reason for each default."""

    def __init__(self, bench: Bench, current: ShopSettings, parent: QWidget | None = None) -> None:
        super().__init__(bench, tr("The shop"), tr("Save"), parent=parent, wide=66)
        self._inches = bench.formatter.length_unit == "inch"
        self.shop_name = QLineEdit(current.shop_name)
        self.shop_name.setMaxLength(200)
        self.length_unit = choices({"mm": tr("mm"), "inch": tr("inch")}, current.length_unit)
        self.count_unit = choices(
            {"inch": tr("threads per inch"), "cm": tr("threads per cm")}, current.count_unit
        )
        self.paper = choices({"a4": tr("A4"), "letter": tr("Letter")}, current.paper)
        self.currency = QLineEdit(current.currency)
        self.currency.setMaxLength(8)
        self.currency.setPlaceholderText(tr("as it stands beside a price"))
        allowance = current.cut_allowance_mm / (MM_PER_INCH if self._inches else 1)
        self.allowance = number_field(allowance, bench.formatter, 2)
        self.regrind = number_field(current.regrind_after_stretches, bench.formatter)
        self.cure = number_field(current.cure_minutes, bench.formatter)
        self.rest = number_field(current.rest_minutes, bench.formatter)
        patterns = {name: tr("{count} points", count=name) for name in PATTERN_NAMES}
        patterns["1"] = tr("1 point, the centre")
        patterns[OWN] = tr("own points, as below")
        self.pattern = choices(patterns, current.point_pattern)
        self.own_points = QLineEdit(own_points_text(current.own_points))
        self.own_points.setPlaceholderText(tr("such as 50 50; 20 20; 80 20; 80 80; 20 80"))
        self.drawing = FrameDrawing(bench.theme, bench.formatter, "card")
        self.drawn_words = self.note("")
        self.pattern.currentIndexChanged.connect(self._draw_points)
        self.own_points.textChanged.connect(self._draw_points)
        self._lay_out()
        self._draw_points()

    def _lay_out(self) -> None:
        allowance = (
            tr("&Mesh beyond the frame, in") if self._inches else tr("&Mesh beyond the frame, mm")
        )
        left, right = self.two_columns()
        self.add_field("shop_name", tr("&Name on papers"), self.shop_name)
        self.add_field("length_unit", tr("&Sizes in"), self.length_unit, form=left)
        self.add_field("count_unit", tr("Mesh &counts in"), self.count_unit, form=left)
        self.add_field("paper", tr("&Paper"), self.paper, form=left)
        self.add_field("currency", tr("Curr&ency"), self.currency, form=left)
        self.add_field(
            "cut_allowance_mm", allowance, self.allowance,
            tr("What the clamps need, both ends together: the cut is the frame plus this."),
            form=left,
        )  # fmt: skip
        self.add_field(
            "cure_minutes", tr("C&ure of the glue, minutes"), self.cure,
            tr("The adhesive’s own sheet decides; this is only what the form proposes."),
            form=left,
        )  # fmt: skip
        self.add_field("rest_minutes", tr("&Rest after a stage, minutes"), self.rest, form=left)
        self.add_field(
            "regrind_after_stretches", tr("Re&grind after stretches"), self.regrind, form=left
        )
        self.add_field("point_pattern", tr("P&oints of a survey"), self.pattern, form=right)
        self.add_field("own_points", tr("O&wn, % of the inside"), self.own_points, form=right)
        right.addRow(self.drawn_words)
        right.addRow(self.drawing)

    def _draw_points(self) -> None:
        """Show where the chosen points lie on a usual frame, print side up."""
        pattern = self.pattern.currentData()
        try:
            own = own_points_in(self.own_points.text())
            if pattern == OWN and not own:
                self._show_points((), tr("x to the right, y down; the middle is 50 50."))
                return
            places = point_pattern(pattern, *USUAL_FRAME_MM, own=own)
        except FramekeeperError as refused:
            self._show_points((), self.bench.formatter.sentence(refused.said))
            return
        size = self.bench.formatter.size(*USUAL_FRAME_MM)
        self._show_points(places, tr("On a frame of {size}.", size=size))

    def _show_points(self, places: tuple[tuple[float, float], ...], words: str) -> None:
        points = tuple(PointPicture(x, y) for x, y in places)
        width, height = USUAL_FRAME_MM
        self.drawing.show_picture(FramePicture(width, height, "white", "ready", points=points))
        self.drawn_words.setText(words)

    def order(self) -> Callable[[Desk], Done]:
        formatter = self.bench.formatter
        allowance = number_in(self.allowance, "cut_allowance_mm", formatter)
        values: dict[str, object] = {
            "shop_name": self.shop_name.text().strip(),
            "length_unit": self.length_unit.currentData(),
            "count_unit": self.count_unit.currentData(),
            "paper": self.paper.currentData(),
            "currency": self.currency.text().strip(),
            "cut_allowance_mm": round(allowance * (MM_PER_INCH if self._inches else 1)),
            "cure_minutes": whole_in(self.cure, "cure_minutes", formatter),
            "rest_minutes": whole_in(self.rest, "rest_minutes", formatter),
            "regrind_after_stretches": whole_in(self.regrind, "regrind_after_stretches", formatter),
            "point_pattern": self.pattern.currentData(),
            "own_points": own_points_in(self.own_points.text()),
        }
        return lambda desk: settings.change_settings(desk, **values)
