"""The look of new sheets: black text, thin rules, one muted accent; nothing that is told by colour alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from xlsxwriter import Workbook
from xlsxwriter.format import Format

FACE = "Arial"
ACCENT = "4A6A5E"
RULE = "BFC7C3"
GREY = "595959"
BLACK = "000000"


@dataclass(frozen=True)
class Font:
    """Letters of our face; ``size`` in points."""

    size: int = 10
    color: str = BLACK
    bold: bool = False
    italic: bool = False


BODY = Font()
FONTS = {
    "title": Font(18),
    "subtitle": Font(color=GREY),
    "section": Font(12, ACCENT, bold=True),
    "head": Font(color=GREY),
    "body": BODY,
    "strong": Font(bold=True),
    "small": Font(color=GREY),
    "computed": Font(9, GREY, italic=True),
}

THIN, MEDIUM = 1, 2
"""Lines by the numbers that XlsxWriter has for them."""
RULES: Mapping[str, Mapping[str, Any]] = {
    "": {},
    "thin": {"bottom": THIN, "bottom_color": f"#{RULE}"},
    "dark": {"bottom": THIN, "bottom_color": f"#{BLACK}"},
    "accent": {"bottom": MEDIUM, "bottom_color": f"#{ACCENT}"},
    "frame": {"border": THIN, "border_color": f"#{BLACK}"},
    "top": {"top": THIN, "top_color": f"#{BLACK}"},
}


@dataclass(frozen=True)
class Style:
    """How a cell looks; ``font`` and ``rule`` are names of FONTS and RULES."""

    font: str = "body"
    rule: str = ""
    across: str = "left"
    down: str = "center"
    indent: int = 0
    wrap: bool = False
    format: str = "General"


@dataclass
class Painter:
    """Gives the looks of the cells of a workbook, each made once."""

    book: Workbook
    made: dict[tuple[Style | None, bool], Format] = field(default_factory=dict)

    def look(self, style: Style | None, quoted: bool = False) -> Format | None:
        """The look of cells with a style; ``quoted``: of texts that stay texts when they are edited."""
        if style is None and not quoted:
            return None
        look = self.made.get((style, quoted))
        if look is None:
            look = self.book.add_format({**(_properties(style) if style else {}), "quote_prefix": quoted})
            self.made[style, quoted] = look
        return look


def _properties(style: Style) -> dict[str, Any]:
    """A style in the words of XlsxWriter."""
    font = FONTS[style.font]
    return {
        "font_size": font.size,
        "font_color": f"#{font.color}",
        "bold": font.bold,
        "italic": font.italic,
        "align": style.across,
        "valign": "vcenter" if style.down == "center" else style.down,
        "indent": style.indent,
        "text_wrap": style.wrap,
        "num_format": style.format,
        **RULES[style.rule],
    }
