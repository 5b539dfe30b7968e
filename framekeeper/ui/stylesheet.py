"""Writes the stylesheet from the theme's tokens: flat controls, one border, a focus that is seen.

Fusion paints buttons and fields with gradients; these rules replace those parts and nothing else.
"""

from __future__ import annotations

from string import Template
from typing import TYPE_CHECKING

from framekeeper import shipped

if TYPE_CHECKING:
    from framekeeper.ui.theme import Palette


_RULES = Template("""
QPushButton, QToolButton {
  background: $surface; color: $press; border: 1px solid $edge; border-radius: ${corner}px;
  padding: ${one}px ${three}px; min-height: ${target}px; }
QToolButton { padding: ${one}px; min-width: ${target}px; }
QPushButton:hover, QToolButton:hover { border-color: $press; }
QPushButton:pressed, QToolButton:pressed, QToolButton:checked { background: $place_tint; }
QPushButton:focus, QToolButton:focus { border: 2px solid $press; padding: ${under}px ${eleven}px; }
QToolButton:focus { padding: ${under}px; }
QPushButton:disabled, QToolButton:disabled { color: $quiet; border-color: $line; }
QPushButton[main="true"] { background: $press; color: $on_press; border-color: $press; }
QPushButton[main="true"]:hover { border-color: $ink; }
QPushButton[main="true"]:focus { border: 2px solid $place; }
QPushButton[main="true"]:disabled { background: $line; color: $quiet; border-color: $line; }
QPushButton[map="true"] { text-align: left; border: 2px solid transparent; color: $ink;
  background: transparent; padding: ${two}px ${three}px; }
QPushButton[map="true"]:checked { background: $place_tint; }
QPushButton[map="true"]:hover { border-color: $line; }
QPushButton[map="true"]:focus { border-color: $press; }
QLineEdit, QPlainTextEdit, QTextEdit, QComboBox, QAbstractSpinBox {
  background: $surface; color: $ink; border: 1px solid $edge; border-radius: ${corner}px;
  padding: ${one}px ${two}px; min-height: ${target}px;
  selection-background-color: $place; selection-color: $on_place; }
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus, QComboBox:focus, QAbstractSpinBox:focus {
  border: 2px solid $press; padding: ${under}px ${seven}px; }
QLineEdit:disabled, QComboBox:disabled, QAbstractSpinBox:disabled {
  color: $quiet; border-color: $line; background: $ground; }
QCheckBox::indicator, QRadioButton::indicator, QListWidget::indicator { width: 10px; height: 10px;
  background: $surface; border: 1px solid $edge; padding: 2px; background-clip: content;
  background-origin: content; }
QCheckBox::indicator, QListWidget::indicator { border-radius: 2px; }
QRadioButton::indicator { border-radius: 7px; }
QCheckBox::indicator:focus, QRadioButton::indicator:focus {
  border: 2px solid $press; padding: 1px; }
QCheckBox::indicator:checked, QRadioButton::indicator:checked, QListWidget::indicator:checked {
  background-color: $press; }
QComboBox::drop-down { border: 0; width: ${target}px; }
QComboBox::down-arrow, QAbstractSpinBox::down-arrow { image: url("$down"); width: 12px; }
QAbstractSpinBox::up-arrow { image: url("$up"); width: 12px; }
QAbstractSpinBox::up-button { subcontrol-origin: border; subcontrol-position: top right; border: 0;
  width: ${target}px; }
QAbstractSpinBox::down-button { subcontrol-origin: border; subcontrol-position: bottom right;
  border: 0; width: ${target}px; }
QAbstractSpinBox > QLineEdit, QComboBox > QLineEdit {
  border: 0; padding: 0 ${one}px; min-height: 0; background: transparent; }
QComboBox QAbstractItemView { background: $surface; border: 1px solid $edge; }
QAbstractScrollArea { border: 0; }
QTableView { background: $surface; gridline-color: $line; border: 1px solid $line; outline: 0; }
QTableView:focus { border: 1px solid $press; }
QTableView::item { padding: 0 ${two}px; border: 2px solid transparent; }
QTableView::item:selected { background: $place_tint; color: $ink; }
QTableView::item:focus { border: 2px solid $press; }
QHeaderView { background: $surface; }
QHeaderView::section {
  background: $surface; color: $quiet; border: 0; border-bottom: 1px solid $edge;
  padding: ${one}px ${head}px; min-height: ${target}px; }
QHeaderView::section:hover { color: $ink; }
QScrollBar { background: transparent; border: 0; margin: 0; }
QScrollBar:vertical { width: 12px; } QScrollBar:horizontal { height: 12px; }
QScrollBar::handle { background: $edge; border-radius: 4px; margin: 2px; }
QScrollBar::handle:vertical { min-height: ${target}px; }
QScrollBar::handle:horizontal { min-width: ${target}px; }
QScrollBar::handle:hover { background: $quiet; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }
QProgressBar { background: $line; border: 0; border-radius: ${corner}px; color: $ink;
  text-align: center; min-height: ${target}px; }
QProgressBar::chunk { background: $place; border-radius: ${corner}px; }
QMenu { background: $surface; border: 1px solid $edge; padding: ${one}px; }
QMenu::item { padding: ${two}px ${six}px; border-radius: ${corner}px; }
QMenu::item:selected { background: $place_tint; color: $ink; }
QMenu::item:disabled { color: $quiet; }
QMenu::separator { height: 1px; background: $line; margin: ${one}px; }
QLabel[quiet="true"] { color: $quiet; }
QToolTip { background: $ink; color: $ground; border: 0; padding: ${one}px ${two}px; }
""")


def stylesheet(colours: Palette, body_px: int, step: int, corner: int, target: int) -> str:
    """Fill the rules with one scheme's tokens; `target` grows with the text."""
    tokens = {
        name: getattr(colours, name)
        for name in (
            "ground", "surface", "ink", "quiet", "line", "edge", "place", "place_tint",
            "on_place", "press", "on_press",
        )
    }  # fmt: skip
    distances = {
        "one": step,
        "under": step - 1,  # a focus border is one pixel thicker; the text must not jump
        "two": 2 * step,
        "seven": 2 * step - 1,
        "three": 3 * step,
        "eleven": 3 * step - 1,
        "six": 6 * step,
        "head": 2 * step + 5,  # a cell adds a focus border and 3 px of its own, a header does not
        "corner": corner,
        "target": max(target, round(1.5 * body_px)),
    }
    # A stylesheet cannot tint a picture: the arrows are gray, which is seen in both schemes.
    arrows = {
        "down": shipped.find("resources/icons/chevron_down.svg").as_posix(),
        "up": shipped.find("resources/icons/chevron_up.svg").as_posix(),
    }
    return _RULES.substitute(tokens, **distances, **arrows)
