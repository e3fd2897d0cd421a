"""Files broken by chance, for the fuzz test: mutations of bytes, of XML, of formulas, of what a log says and how it
lies."""

from __future__ import annotations

import csv
import datetime
import io
import random
import re
import shutil
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
from PIL import Image

from growcells import functions
from growcells_workbooks.log_check import check_log
from growcells_workbooks.starter import new_log
from log_books import ROOFTOP
from mutated_layouts import delimited, moved_log
from ods_books import write_ods
from recalc_books import furnished_book, write_book

TESTS = Path(__file__).parent
DAY = datetime.date(2026, 11, 20)
CORE = "docProps/core.xml"

Mutator = Callable[[random.Random, bytes], bytes]

# ---- mutations of bytes


def flip(choose: random.Random, data: bytes) -> bytes:
    """Change some bytes to others."""
    changed = bytearray(data)
    for _ in range(choose.choice((1, 1, 2, 8))):
        changed[choose.randrange(len(changed))] = choose.randrange(256)
    return bytes(changed)


def cut(choose: random.Random, data: bytes) -> bytes:
    """Take some bytes out."""
    start = choose.randrange(len(data))
    return data[:start] + data[start + choose.choice((1, 4, 40, 400, len(data))) :]


def double(choose: random.Random, data: bytes) -> bytes:
    """Put a copy of some bytes somewhere."""
    start, place = choose.randrange(len(data)), choose.randrange(len(data))
    return data[:place] + data[start : start + choose.choice((1, 10, 100, 1000))] + data[place:]


BYTES: tuple[Mutator, ...] = (flip, flip, cut, double)

# ---- mutations of XML

SNIPPETS = (
    "\0 &#0; &amp; &lol; <![CDATA[ ]]> <!-- --> <!DOCTYPE~x> <?xml~version='1.1'?> </row> </sheetData> <f> </f> <v/> "
    '<f~t="shared"~si="0"/> <f~t="array"~ref="A1:XFD1048576">1</f> <f~t="dataTable"~ref="A1:B2"/> <c~r="A1"/> '
    "<is><t>x</t></is> <v>1e999</v> <v>NaN</v> \ud83c\udf31 \ufeff"
)
VALUES = (
    "|0|-1|1|A1|A0|XFD1048576|XFE1|A1048577|A1:XFD1048576|B2:A1|1:1|99999999999999999999|1e308|NaN|s|str|b|e|inlineStr|"
    "n|d|shared|array|dataTable|../../x|/xl/worksheets/sheet1.xml|worksheets/sheet1.xml|rId1|true|" + "x" * 300
)
_TOKENS = [token.replace("~", " ").encode("utf-8", "surrogatepass") for token in SNIPPETS.split(" ")]
_VALUES = [value.encode() for value in VALUES.split("|")]


def one_of(choose: random.Random, pattern: bytes, data: bytes) -> re.Match[bytes] | None:
    """One of the places where a pattern matches."""
    found = list(re.finditer(pattern, data, re.DOTALL))
    return choose.choice(found) if found else None


def insert(choose: random.Random, data: bytes) -> bytes:
    """Put a piece of XML somewhere, mostly between two tags."""
    match = one_of(choose, rb"(?<=>)(?=<)", data) if choose.random() < 0.7 else None
    place = match.start() if match else choose.randrange(len(data))
    return data[:place] + choose.choice(_TOKENS) + data[place:]


def change_attribute(choose: random.Random, data: bytes) -> bytes:
    """Give an attribute another value."""
    match = one_of(choose, rb'(?<=")[^"<>]*(?="[\s/>?])', data)
    return data[: match.start()] + choose.choice(_VALUES) + data[match.end() :] if match else data


def change_number(choose: random.Random, data: bytes) -> bytes:
    """Make a number another."""
    match = one_of(choose, rb"[0-9]+", data)
    new = choose.choice((b"0", b"-1", b"65536", b"1048577", b"4294967296", b"9" * 20, b"1e308", b""))
    return data[: match.start()] + new + data[match.end() :] if match else data


def drop_tag(choose: random.Random, data: bytes) -> bytes:
    """Take a tag out, or an element without content."""
    match = one_of(choose, rb"<[^<>]*>", data)
    return data[: match.start()] + data[match.end() :] if match else data


def repeat_element(choose: random.Random, data: bytes) -> bytes:
    """Write a tag with what follows up to a later tag once more, or a great many times."""
    match = one_of(
        choose, rb"<(?:row|c|f|v|sheet|definedName|si|table|tableColumn|Relationship)\b.{0,400}?>(?=<)", data
    )
    times = choose.choice((1, 1, 2, 1000))
    return data[: match.end()] + match[0] * times + data[match.end() :] if match else data


XML: tuple[Mutator, ...] = (flip, cut, double, insert, change_attribute, change_number, drop_tag, repeat_element)

# ---- mutations of formulas


def words(text: str) -> list[str]:
    """The pieces of a text, with ~ for a space in one."""
    return [word.replace("~", " ") for word in text.split()]


_CELLS = words(
    "A1 B2 $C$3 D4 E2 F2 Z99 XFD1048576 A1:A5 B2:D21 $A$1:$B$3 A:A 1:1 A:XFD A1:XFD1048576 'Feeds~&~more'!A1 log!A1:B5"
)
_OTHERS = words(
    "0 1 -1 2.5 1E308 1E-308 99999999999 TRUE FALSE #N/A #REF! #DIV/0! {1,2;3,4} {} Doses[grams] Doses[@feed] "
    "Doses[#All] AllVolumes NoSuchName [1]Book!A1 A1# @A1:A5 _xlpm.x"
)
_TEXTS = [*words('"x" "" "34~gal" "2026-03-02" "1e5" "N~5%,~P~3%" "a""b" "é\U0001f331"'), f'"{"y" * 255}"']
_OPERATORS = words("+ - * / ^ & = <> < > <= >= : , % ~")
_FUNCTIONS = words(
    "SUM IF IFERROR SUMPRODUCT INDEX MATCH VLOOKUP XLOOKUP LOOKUP OFFSET INDIRECT ROW COLUMN LEN LEFT MID TEXT VALUE "
    "DATE YEAR TODAY NOW RAND ROUND MOD MAX SMALL COUNTIF SUMIF SUMIFS CONCATENATE REPT SUBSTITUTE REPLACE TRANSPOSE "
    "MMULT FREQUENCY CHOOSE LET LAMBDA FILTER SORT UNIQUE SEQUENCE TEXTJOIN CONCAT VSTACK FACT COMBIN WORKDAY CONVERT "
    "MAP REDUCE PMT IRR SUBTOTAL AGGREGATE CELL ISBLANK NOSUCH [1]!GROW_DOSE _xlfn.SINGLE _xlfn.ANCHORARRAY"
)


def known_formulas() -> list[str]:
    """Formulas of the other tests and of the function reference, without their =."""
    natives = (TESTS / "data" / "native-formulas.txt").read_text(encoding="utf-8").splitlines()
    examples = [example.formula(name) for name, function in functions().items() for example in function.examples]
    return [formula.removeprefix("=") for formula in natives + examples]


def made_formula(choose: random.Random, depth: int = 0) -> str:
    """A formula that nobody typed."""
    kind = choose.random()
    if depth > 4 or kind < 0.35:
        return choose.choice(choose.choice((_CELLS, _CELLS, _OTHERS, _TEXTS)))
    if kind < 0.75:
        name = choose.choice(_FUNCTIONS if choose.random() < 0.5 else list(functions()))
        return f"{name}({','.join(made_formula(choose, depth + 1) for _ in range(choose.randrange(5)))})"
    if kind < 0.95:
        return made_formula(choose, depth + 1) + choose.choice(_OPERATORS) + made_formula(choose, depth + 1)
    return (
        choose.choice("(-@") * choose.choice((1, 2, 300)) + made_formula(choose, depth + 1) + ")" * choose.randrange(3)
    )


def changed_formula(choose: random.Random, formula: str) -> str:
    """A formula with some of its pieces taken out, doubled or made others."""
    pieces = re.findall(r'"[^"]*"|[A-Za-z_.]+\(?|[0-9.]+|.', formula, re.DOTALL)
    for _ in range(choose.choice((1, 1, 2, 5))):
        place = choose.randrange(len(pieces) + 1)
        pieces[place : place + choose.randrange(2)] = choose.choice(
            ([], [made_formula(choose, 4)], [choose.choice(_OPERATORS)], pieces[place : place + 3] * 2)
        )
    return "".join(pieces)


def change_formulas(choose: random.Random, data: bytes, known: Sequence[str]) -> bytes:
    """Give one, some or all formulas of a sheet other texts, and some of them another kind."""
    share = choose.choice((0.0, 0.1, 1.0))
    lucky = choose.randrange(max(1, data.count(b"<f")))

    def change(match: re.Match[bytes]) -> bytes:
        nonlocal lucky
        lucky -= 1
        if lucky != -1 and choose.random() >= share:
            return match[0]
        kind = choose.random()
        formula = made_formula(choose) if kind < 0.4 else choose.choice(known)
        if kind > 0.7:
            formula = changed_formula(choose, formula)
        attributes = match[1].decode()
        if choose.random() < 0.15:
            attributes = choose.choice(
                (
                    ' t="array" ref="A1:C3"',
                    ' t="array" ref="B2"',
                    ' t="shared" ref="A1:Z99" si="0"',
                    ' t="shared" si="0"',
                )
            )
        return f"<f{attributes}>{escape(formula)}</f>".encode()

    return re.sub(rb"<f\b([^>]*?)(?:/>|>.*?</f>)", change, data, flags=re.DOTALL)


# ---- mutations of what a log says

_LOG_WORDS = words(
    "Date Bed pH EC Temp~C Temp~F 20~C 67F EC~mS EC~µS/cm ppm Volume~gal Length~in Feed g/gal Treatment Crop T1 T2 "
    "=1+1 _x003D_1+1 1e999 1,5 1.234,5 45~in 3~ft~9~in 2026-11-16 31.11.2026 11/12/26 46351 dead #N/A ½ -5 0 °C N/A ?"
)
_LOG_NUMBERS = [b"0", b"-1", b"1e300", b"-1.7e308", b"5e-324", b"46351", b"2958466", b"1e15", b"6.1", b"20", b"9" * 400]


def change_cells(choose: random.Random, data: bytes) -> bytes:
    """Make some texts and numbers of a part others, as nobody types them; XML stays whole."""
    share = choose.choice((0.02, 0.2, 0.7))

    def other_text(match: re.Match[bytes]) -> bytes:
        if choose.random() >= share:
            return match[0]
        word = choose.choice(_LOG_WORDS) * choose.choice((1, 1, 1, 1, 3000))
        return match[1] + escape(word[:32_767]).encode() + match[3]

    def other_number(match: re.Match[bytes]) -> bytes:
        return match[1] + choose.choice(_LOG_NUMBERS) + match[2] if choose.random() < share else match[0]

    data = re.sub(rb"(<(?:t|text:p)(?: [^>]*)?>)([^<]*)(</)", other_text, data)
    return re.sub(rb"""(<c r="[A-Z]+[0-9]+"(?: s="[0-9]+")?><v>|office:value=")[^<"]*([<"])""", other_number, data)


def change_fields(choose: random.Random, data: bytes) -> bytes:
    """Make some fields of a text others, be it a log of a text file or the map of one; or some of its bytes."""
    if choose.random() < 0.3:
        return choose.choice(BYTES)(choose, data)
    share = choose.choice((0.02, 0.2, 0.7))

    def other(match: re.Match[bytes]) -> bytes:
        if choose.random() >= share:
            return match[0]
        if choose.random() < 0.4:
            return choose.choice(_LOG_NUMBERS)
        return choose.choice(_LOG_WORDS).encode() * choose.choice((1, 1, 1, 1, 3000))

    return re.sub(rb'[^,;\n="\[\]]+', other, data)


# ---- files


@dataclass(frozen=True)
class Seeds:
    """What is mutated."""

    workbooks: Sequence[bytes]
    opendocument: Sequence[bytes]
    delimited: Sequence[bytes]
    mapping: bytes
    photos: Mapping[str, bytes]
    formulas: Sequence[str]

    @classmethod
    def made(cls, folder: Path) -> Seeds:
        """Write them into a folder, and read them."""
        sheets = {
            sheet.title: list(sheet.iter_rows(values_only=True))
            for sheet in openpyxl.load_workbook(ROOFTOP, data_only=True)
        }
        texts = [io.StringIO(newline="") for _ in sheets]
        for text, rows in zip(texts, sheets.values(), strict=True):
            csv.writer(text).writerows(rows)
        mapped = check_log(Path(shutil.copy(ROOFTOP, folder)), write_map=True, as_of=DAY).new_map
        assert mapped is not None
        return cls(
            seed_books(folder),
            [write_ods(folder / "log.ods", sheets).read_bytes()],
            [text.getvalue().encode() for text in texts],
            mapped.read_bytes(),
            {f"{DAY} T{number}.{kind}": _photo(kind) for number, kind in enumerate(("jpeg", "png", "webp", "gif"), 1)},
            known_formulas(),
        )


def _photo(kind: str) -> bytes:
    made = io.BytesIO()
    Image.effect_mandelbrot((60, 40), (-2, -1, 1, 1), 20).convert("RGB").save(made, kind)
    return made.getvalue()


def seed_books(folder: Path) -> list[bytes]:
    """The workbooks that are mutated: small ones, a furnished one, the rooftop log, and the starter log."""
    small = {"A1": 34, "A2": "34 gal", "B1": "=GROW_DOSE(A1,2)", "B2": "=B1*2", "B3": "=SUM(A1:B2)", "C1": '="a"&A1'}
    paths = [
        write_book(folder / "small.xlsx", small),
        write_book(folder / "days.xlsx", small | {"C2": "=TODAY()", "C3": "=DATE(2026,3,2)"}, date_1904=True),
        furnished_book(folder / "furnished.xlsx"),
        ROOFTOP,
        new_log(folder / "starter.xlsx", day=DAY),
    ]
    return [path.read_bytes() for path in paths]


def mutant(choose: random.Random, books: Sequence[bytes], known: Sequence[str]) -> tuple[str, bytes]:
    """What is mutated, and the mutated workbook, of either family."""
    book = choose.choices(books, weights=[3] * (len(books) - 1) + [1])[0]  # the last one, the starter log, is slow
    what = choose.choices(("package", "XML", "formulas", "cells"), weights=(1, 3, 3, 3))[0]
    if what == "package":
        for _ in range(choose.choice((1, 1, 3))):
            book = choose.choice(BYTES)(choose, book or b"x")
        return what, book
    parts = parts_of(book)
    sheets = [name for name in parts if name.startswith("xl/worksheets/sheet") and b"<f" in parts[name]]
    if what == "XML":
        read = [name for name in parts if name.endswith((".xml", ".rels"))]
        likely = [
            name for name in read if any(word in name for word in ("sheet", "workbook", "haredStrings", "content"))
        ]
        for _ in range(choose.choice((1, 1, 2, 5))):
            name = choose.choice(likely if choose.random() < 0.85 else read)
            parts[name] = choose.choice(XML)(choose, parts[name] or b" ")
    elif what == "formulas" and sheets:
        for name in choose.sample(sheets, choose.choice((1, len(sheets)))):
            parts[name] = change_formulas(choose, parts[name], known)
    else:
        say_otherwise(choose, parts)
    return what, packed(parts)


def say_otherwise(choose: random.Random, parts: dict[str, bytes]) -> None:
    """Make some of what a log says other things."""
    for name in [name for name in parts if name.startswith(("xl/worksheets/sheet", "xl/sharedStrings", "content"))]:
        parts[name] = change_cells(choose, parts[name])


def parts_of(book: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(book)) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(parts: Mapping[str, bytes]) -> bytes:
    """A package of these parts; the time at which it was made is no part of it."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", compresslevel=1) as package:
        for name, data in parts.items():
            package.writestr(zipfile.ZipInfo(name), data, zipfile.ZIP_DEFLATED)
    return made.getvalue()


def mutated_log(choose: random.Random, suffix: str, seeds: Seeds) -> tuple[str, bytes]:
    """What is mutated, and the mutated log of this kind."""
    if suffix != ".ods" and choose.random() < 0.25:
        return "layout", moved_book(choose, suffix, seeds)
    if suffix == ".csv":
        return "fields", change_fields(choose, choose.choice(seeds.delimited))
    return mutant(choose, seeds.opendocument if suffix == ".ods" else seeds.workbooks, seeds.formulas)


def moved_book(choose: random.Random, suffix: str, seeds: Seeds) -> bytes:
    """A log whose rows and columns were moved and whose cells say other things."""
    log = moved_log(choose)
    if suffix == ".csv":
        return change_fields(choose, delimited(log.pages) or b"x")
    with io.BytesIO() as book:
        log.save(book)
        parts = parts_of(book.getvalue())
    parts[CORE] = parts_of(seeds.workbooks[0])[CORE]  # its own says when it was made
    say_otherwise(choose, parts)
    return packed(parts)
