"""The look of new sheets: black text, thin rules, one muted accent; nothing that is told by colour alone."""

from __future__ import annotations

from dataclasses import dataclass, field

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, Side
from openpyxl.styles.cell_style import StyleArray
from openpyxl.styles.styleable import StyleableObject

FACE = "Arial"
ACCENT = "4A6A5E"
RULE = "BFC7C3"
GREY = "595959"

TITLE = Font(name=FACE, size=18, color="000000")
SUBTITLE = Font(name=FACE, size=10, color=GREY)
SECTION = Font(name=FACE, size=12, bold=True, color=ACCENT)
HEAD = Font(name=FACE, size=10, color=GREY)
BODY = Font(name=FACE, size=10, color="000000")
STRONG = Font(name=FACE, size=10, bold=True, color="000000")
SMALL = Font(name=FACE, size=10, color=GREY)
FONTS = {
    "title": TITLE,
    "subtitle": SUBTITLE,
    "section": SECTION,
    "head": HEAD,
    "body": BODY,
    "strong": STRONG,
    "small": SMALL,
}

_THIN = Side(style="thin", color=RULE)
_ACCENT_RULE = Side(style="medium", color=ACCENT)
_DARK = Side(style="thin", color="000000")
RULES = {
    "": Border(),
    "thin": Border(bottom=_THIN),
    "dark": Border(bottom=_DARK),
    "accent": Border(bottom=_ACCENT_RULE),
    "frame": Border(left=_DARK, right=_DARK, top=_DARK, bottom=_DARK),
    "top": Border(top=_DARK),
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


def new_book() -> Workbook:
    """A workbook without sheets, whose column widths are counted in digits of our own face."""
    book = Workbook()
    assert book.active is not None
    book.remove(book.active)
    book._fonts[0] = Font(name=FACE, size=10, family=2)  # type: ignore[attr-defined]  # openpyxl has no public way
    book._named_styles["Normal"].font = Font(name=FACE, size=10, family=2)  # type: ignore[attr-defined]
    return book


@dataclass
class Painter:
    """Gives cells their style. Each style is worked out once: openpyxl takes long over it."""

    made: dict[Style, StyleArray] = field(default_factory=dict)

    def paint(self, cell: StyleableObject, style: Style) -> None:
        """Give a cell a style."""
        known = self.made.get(style)
        if known is None:
            cell.font = FONTS[style.font]
            cell.border = RULES[style.rule]
            cell.alignment = Alignment(
                horizontal=style.across, vertical=style.down, indent=style.indent, wrap_text=style.wrap
            )
            cell.number_format = style.format
            made = StyleArray(cell._style)  # type: ignore[attr-defined]  # openpyxl has no public way
            made.quotePrefix = 0
            self.made[style] = made
        else:
            # A text that must stay text when it is edited has a style of its own, set before.
            quoted = cell.quotePrefix
            cell._style = StyleArray(known)  # type: ignore[attr-defined]
            if quoted:
                cell.quotePrefix = True
