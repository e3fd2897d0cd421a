"""The sheets of a starter log that hold tables: the columns that people fill in, and to their right those computed."""

from __future__ import annotations

from dataclasses import dataclass

from xlsxwriter.utility import xl_col_to_name

from ..shapes import BOX, SHAPES
from ..sheets.table_columns import DATE

FIRST_ROW, LAST_ROW = 6, 30
"""The rows of a table that are ruled and hold formulas; headings stand in the row above."""
LAST_READING = 1005
"""Readings and weights have dropdowns down to this row, and the trial reads down to it."""


@dataclass(frozen=True)
class Field:
    """A column: its heading with the unit, and the formula of each row where it is computed.

    ``choices`` is a list of words or the name of a column, such as ``feeds.feed``.
    """

    name: str
    heading: str
    width: float
    format: str = "General"
    formula: str = ""
    choices: str = ""
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Table:
    """A sheet with one table: ``hint`` says above it what to type; dropdowns reach down to ``last_row``."""

    key: str
    sheet: str
    title: str
    hint: str
    fields: tuple[Field, ...]
    last_row: int = LAST_ROW
    overruns: bool = False
    """Whether sentences run over the edge of the last column: printed with them, all else would be smaller."""

    @property
    def typed(self) -> tuple[Field, ...]:
        """The columns that people fill in; they stand side by side, so that examples are chosen in one go."""
        return tuple(field for field in self.fields if not field.formula)

    def letter(self, name: str) -> str:
        """The letter of a column."""
        return xl_col_to_name([column.name for column in self.fields].index(name))

    def area(self, name: str) -> str:
        """The cells of a column as a formula names them from any sheet."""
        letter = self.letter(name)
        return f"{self.sheet}!${letter}${FIRST_ROW}:${letter}${self.last_row}"


_RATE, _NITROGEN, _PRICE_A_GALLON = (
    f"SUMIF({{feeds.feed}},{{feed}},{{feeds.{column}}})" for column in ("rate", "n", "a_gallon")
)
"""Of all parts of a feed together."""
_PRICED = 'COUNTIFS({feeds.feed},{feed},{feeds.a_gallon},">0")=COUNTIF({feeds.feed},{feed})'
"""Whether every part of a feed has its price."""
_SIZED = 'IF(OR({bed}="",COUNTA({length}:{depth})=0),"",'
"""A bed without any size is blank; with some, what lacks is an error and said in words beside it."""


_WHY = 'GROW_WHY("{function}",{sizes})'


def by_shape(call: str) -> str:
    """A formula that chooses by the shape in its row; ``call`` is what it asks of a function with its sizes."""
    calls = {
        shape: call.format(function=function, sizes=",".join(f"{{{size}}}" for size in sizes))
        for shape, (function, sizes) in SHAPES.items()
    }
    formula = calls.pop(BOX)
    for shape, other in reversed(calls.items()):
        formula = f'IF({{shape}}="{shape}",{other},{formula})'
    return formula


BED = Field("bed", "Bed", 11, choices="beds.bed")
NOTES = Field("notes", "Notes", 40)

BEDS = Table(
    "beds",
    "Beds",
    "Beds",
    "A row for each bed, tote or tank. Measure inside, and the depth of the water, not of the walls. "
    "Columns in italics are computed.",
    (
        Field("bed", "Bed", 10),
        Field("crop", "Crop", 11),
        Field("feed", "Feed", 9, choices="feeds.feed"),
        Field("planted", "Planted", 13, DATE),
        Field("plants", "Plants", 7, "0", low=0),
        Field("shape", "Shape", 8, choices=",".join(SHAPES)),
        Field("length", "Length or\ndiameter [in]", 11, "0.##", low=0),
        Field("width", "Width\n[in]", 8, "0.##", low=0),
        Field("depth", "Water\ndepth [in]", 9, "0.##", low=0),
        Field("notes", "Notes", 22),
        Field(
            "volume",
            "Volume\n[gal]",
            9,
            "0.0",
            f"={_SIZED}{by_shape('{function}({sizes})')})",
        ),
        Field(
            "dose",
            "Feed to\nweigh [g]",
            9,
            "0.0",
            f'=IF(OR({{feed}}="",{{volume}}=""),"",IF({_RATE}=0,"",GROW_DOSE({{volume}},{_RATE})))',
        ),
        Field(
            "n_ppm",
            "N\n[ppm]",
            9,
            "0",
            f'=IF({{dose}}="","",IF({_NITROGEN}=0,"",{_NITROGEN}))',
        ),
        Field(
            "check",
            "What is wrong with the sizes",
            26,
            formula=f"={_SIZED}{by_shape(_WHY)})",
        ),
    ),
    overruns=True,
)

TARGETS = Table(
    "targets",
    "Targets",
    "Targets",
    "What you want to see in each bed. The report says where a reading is outside; leave empty what you do not watch.",
    (
        BED,
        Field("ph_low", "pH low", 8, "0.0", low=0, high=14),
        Field("ph_high", "pH high", 8, "0.0", low=0, high=14),
        Field("ec_low", "EC low\n[mS/cm]", 9, "0.0", low=0),
        Field("ec_high", "EC high\n[mS/cm]", 9, "0.0", low=0),
        Field("temp_low", "Temp low\n[°F]", 9, "0.#"),
        Field("temp_high", "Temp high\n[°F]", 9, "0.#"),
        Field("lowest", "Lowest\nwater [in]", 10, "0.##", low=0),
        Field("water_ec", "Source water\nEC [mS/cm]", 13, "0.0#", low=0),
        Field("notes", "Notes", 34),
    ),
)

FEEDS = Table(
    "feeds",
    "Feeds",
    "Feeds",
    "A row for each feed as you use it; of a mix a row for each part, all under one name. Copy the analysis from the "
    "label: 17-7-21, or with more 7-9-26 Mg 3.5. Columns in italics are computed.",
    (
        Field("feed", "Feed", 9),
        Field("product", "Product", 21),
        Field("analysis", "Analysis", 20, "@"),
        Field("package", "Package\n[lb]", 9, "0.##", low=0),
        Field("price", "Price", 8, "#,##0.00", low=0),
        Field("rate", "Rate\n[g/gal]", 8, "0.##", low=0),
        Field("on_hand", "On hand\n[g]", 9, "#,##0", low=0),
        Field("counted", "Counted on", 13, DATE),
        Field("use", "Use a\nweek [g]", 8, "#,##0", low=0),
        Field("lead", "Order\ntakes [week]", 11, "0.#", low=0),
        Field("scale", "Scale\nstep [g]", 8, "0.##", low=0),
        Field("notes", "Notes", 22),
        Field(
            "fill",
            "One fill of\nits beds [g]",
            10,
            "#,##0.0",
            '=IF({feed}="","",IF(ISNUMBER({rate}),{rate}*SUMIF({beds.feed},{feed},{beds.volume}),""))',
        ),
        Field(
            "fills",
            "Fills\nleft",
            9,
            "0.0",
            '=IF(OR({on_hand}="",{fill}="",{fill}=0),"",GROW_FILLS_LEFT({on_hand},{fill}))',
        ),
        Field(
            "order",
            "Order by",
            13,
            DATE,
            '=IF(OR({use}="",{lead}="",{counted}="",{on_hand}=""),"",GROW_REORDER({on_hand},{use},{lead},{counted}))',
        ),
        Field(
            "n",
            "N at this\nrate [ppm]",
            10,
            "0",
            '=IF(OR({analysis}="",NOT(ISNUMBER({rate}))),"",GROW_PPM({rate},1,{analysis},"N"))',
        ),
        Field(
            "a_gallon",
            "Cost of\na gallon",
            10,
            "#,##0.0000",
            '=IF(OR(NOT(ISNUMBER({rate})),{price}="",{package}=""),"",GROW_COST({rate},{price},{package}))',
        ),
    ),
)

PLANTINGS = Table(
    "plantings",
    "Plantings",
    "Plantings",
    "A row each time a bed is planted: readings, weights and harvests are then told apart by rounds. The report says "
    "what falls due.",
    (
        BED,
        Field("crop", "Crop", 12),
        Field("feed", "Feed", 10, choices="feeds.feed"),
        Field("sown", "Sown", 13, DATE),
        Field("transplanted", "Transplanted", 13, DATE),
        Field("expected", "Expected\nharvest", 13, DATE),
        Field("ended", "Ended", 13, DATE),
        Field("plants", "Plants", 8, "0", low=0),
        Field("notes", "Notes", 34),
    ),
)

FILLS = Table(
    "fills",
    "Fills",
    "Fills",
    "A row each time a bed is filled with fresh solution. What a gram does to the EC is learned from these.",
    (
        Field("date", "Filled on", 13, DATE),
        BED,
        Field("feed", "Feed", 10, choices="feeds.feed"),
        Field("volume", "Volume\nfilled [gal]", 11, "0.0#", low=0),
        Field("rate", "Rate\n[g/gal]", 10, "0.##", low=0),
        NOTES,
    ),
)

HARVESTS = Table(
    "harvests",
    "Harvests",
    "Harvests",
    "A row each time heads are cut of a bed. Single plants of a trial go on the sheet Weights.",
    (
        Field("date", "Cut on", 13, DATE),
        BED,
        Field("heads", "Heads\ncut", 8, "0", low=0),
        Field("mass", "Total\nweight [lb]", 11, "0.##", low=0),
        Field("price", "Price\na head", 10, "#,##0.00", low=0),
        Field("culls", "Culls", 8, "0", low=0),
        NOTES,
    ),
)

READINGS = Table(
    "readings",
    "Readings",
    "Readings",
    "A row each time you measure or add something. A cell may carry its own unit, such as 1850 µS/cm or 20 °C.",
    (
        Field("date", "Date", 13, DATE),
        BED,
        Field("ph", "pH", 8, "0.0", low=0, high=14),
        Field("ec", "EC [mS/cm]", 11, "0.00", low=0),
        Field("temperature", "Water [°F]", 11, "0.0"),
        Field("depth", "Depth\nnow [in]", 10, "0.##", low=0),
        Field("water_added", "Water\nadded [gal]", 12, "0.0#", low=0),
        Field("feed_added", "Feed\nadded [g]", 10, "0.0", low=0),
        NOTES,
    ),
    last_row=LAST_READING,
)

WEIGHTS = Table(
    "weights",
    "Weights",
    "Weights of the trial",
    "A row for each plant that is cut. For a plant that died write dead in place of its weight: it counts.",
    (
        Field("date", "Date", 13, DATE),
        BED,
        Field("treatment", "Treatment", 12, choices="feeds.feed"),
        Field("plant", "Plant", 8, "0"),
        Field("mass", "Fresh [g]", 10, "0.0"),
        NOTES,
    ),
    last_row=LAST_READING,
)

COSTS = Table(
    "costs",
    "Costs",
    "What a fill costs",
    "Computed from Beds and Feeds, in the currency of your prices.",
    (
        Field("bed", "Bed", 11, formula='=IF({beds.bed@row}="","",{beds.bed@row})'),
        Field("feed", "Feed", 10, formula='=IF({beds.feed@row}="","",{beds.feed@row})'),
        Field("dose", "Feed to\nweigh [g]", 11, "0.0", '=IF({feed}="","",{beds.dose@row})'),
        Field(
            "cost",
            "Cost of\na fill",
            11,
            "#,##0.00",
            f'=IF({{dose}}="","",IF({_PRICED},{{beds.volume@row}}*{_PRICE_A_GALLON},""))',
        ),
        Field("a_gallon", "Cost of\na gallon", 11, "#,##0.0000", '=IF({cost}="","",{cost}/{beds.volume@row})'),
        Field(
            "head",
            "Feed cost\na plant",
            11,
            "#,##0.000",
            '=IF(OR({cost}="",{beds.plants@row}=""),"",GROW_COST_HEAD({cost},{beds.plants@row}))',
        ),
    ),
)

CLIMATE = Table(
    "climate",
    "Climate",
    "Climate",
    "What the air and the light do. Leave the leaf empty where you do not measure it: it is then taken as warm as the "
    "air. Columns in italics are computed.",
    (
        Field("at", "When", 13, DATE),
        Field("where", "Where", 14),
        Field("air", "Air [°F]", 10, "0.0"),
        Field("humidity", "Humidity [%]", 12, "0", low=0, high=100),
        Field("leaf", "Leaf [°F]", 10, "0.0"),
        Field("ppfd", "Light\n[µmol/(m² s)]", 13, "0", low=0),
        Field("hours", "Hours\na day", 9, "0.#", low=0, high=24),
        Field("notes", "Notes", 26),
        Field(
            "vpd",
            "Vapour pressure\ndeficit [kPa]",
            15,
            "0.00",
            '=IF(OR({air}="",{humidity}=""),"",IF({leaf}="",GROW_VPD({air},{humidity},,"°F"),'
            'GROW_VPD({air},{humidity},{leaf},"°F")))',
        ),
        Field(
            "dew",
            "Dew point\n[°F]",
            11,
            "0.0",
            '=IF(OR({air}="",{humidity}=""),"",GROW_DEW_POINT({air},{humidity},"°F"))',
        ),
        Field(
            "dli",
            "Daily light\n[mol/(m² day)]",
            14,
            "0.0",
            '=IF(OR({ppfd}="",{hours}=""),"",GROW_DLI({ppfd},{hours}))',
        ),
    ),
)

TABLES = (FEEDS, BEDS, PLANTINGS, TARGETS, FILLS, READINGS, WEIGHTS, HARVESTS, COSTS, CLIMATE)
