"""The pages with charts: the readings of four weeks drawn bed by bed, and the rows that they are drawn from."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence

from ...reading import Reading
from ...sheets.table_columns import DATE, Column, Value
from ..figures.common_practice import MEASURES
from ..figures.in_words import measure_labels
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Cells, Chart, ChartGrid, Gap, Line, Page, Section, Table, Text
from .readings_page import CLOCK
from .scale import scale

COLUMNS = [Column("", 8.2)] * 18
READINGS, BANDS = "readings", "bands"
"""The keys of the tables that the charts are drawn from."""
DAYS, FIRST_MEASURE = 1, 2
"""Their columns with the days, and with the first of the measures."""

BandEnd = tuple[str, str, Sequence[float | None]]
"""A bed, ``low`` or ``high``, and that end of the band of each measure."""


def charts_page(material: Material) -> Iterator[Page]:
    """pH, EC and temperature of each bed over four weeks, all on the same scales."""
    yield material.page(
        "Charts",
        "pH, EC and water temperature, the last four weeks",
        COLUMNS,
        _charts(material.figures),
        landscape=True,
    )


def _charts(figures: Figures) -> Iterator[Block]:
    if not figures.history:
        yield Text("The log has no reading in these weeks.")
        return
    yield Text("Dashed lines mark the ends of the bands. All charts of a measure share one scale.", small=True)
    scales = {name: scale(_values(figures, place, name)) for place, name in enumerate(MEASURES)}
    first, last = figures.history_days
    crops = {bed.name: bed.bed.crop for bed in figures.beds}
    rows = []
    for bed, spans in _spans(figures).items():
        label = f"{bed}, {crops[bed]}" if crops.get(bed) else bed
        rows.append(
            [
                Chart(
                    f"{label}: {axis.split(' [')[0]}",
                    axis,
                    scales[name],
                    first,
                    last,
                    (*_band_lines(figures, bed, place), _line(figures, f"{label}: {axis}", place, name, spans)),
                )
                for place, (name, axis) in enumerate(measure_labels(figures).items())
            ]
        )
    yield ChartGrid(rows)


def _values(figures: Figures, place: int, measure: str) -> list[float | None]:
    """What the scale of a measure must hold: all readings and the ends of all bands."""
    read = [getattr(reading, measure) for reading in figures.history]
    return [*read, *(values[place] for _, _, values in _band_ends(figures))]


def _spans(figures: Figures) -> Mapping[str, tuple[int, int]]:
    """The first and the last record of each bed that was read; the records stand bed by bed."""
    spans: dict[str, tuple[int, int]] = {}
    for record, reading in enumerate(figures.history):
        start, _ = spans.get(reading.bed, (record, record))
        spans[reading.bed] = (start, record)
    return spans


def _line(figures: Figures, name: str, place: int, measure: str, span: tuple[int, int]) -> Line:
    first, last = span
    return Line(
        name,
        [(_when(reading), getattr(reading, measure)) for reading in figures.history[first : last + 1]],
        Cells(READINGS, DAYS, first, last),
        Cells(READINGS, FIRST_MEASURE + place, first, last),
    )


def _band_lines(figures: Figures, bed: str, place: int) -> Iterator[Line]:
    for number, (of_bed, end, values) in enumerate(_band_ends(figures)):
        if of_bed == bed and values[place] is not None:
            first, last = 2 * number, 2 * number + 1
            yield Line(
                f"{bed}, {end}",
                [(day, values[place]) for day in figures.history_days],
                Cells(BANDS, DAYS, first, last),
                Cells(BANDS, FIRST_MEASURE + place, first, last),
                dashed=True,
            )


def _band_ends(figures: Figures) -> list[BandEnd]:
    """The ends of the bands of all beds, without those that no measure has."""
    ends = [
        (bed.name, end, [getattr(band, end) if (band := bed.bands[name]) else None for name in MEASURES])
        for bed in figures.beds
        for end in ("low", "high")
    ]
    return [end for end in ends if any(value is not None for value in end[2])]


def _when(reading: Reading) -> datetime.date:
    """The date of a reading, with the time where it is known, so that the readings of a day stand apart in charts."""
    return reading.moment if reading.time else reading.date


def history_page(material: Material) -> Iterator[Page]:
    """The readings of four weeks and the bands, from which the charts are drawn."""
    figures = material.figures
    timed = any(reading.time for reading in figures.history)
    columns = [
        Column("Bed", max(16, material.bed_column(16).width + 5)),
        Column("Date", 18, f"{DATE} {CLOCK}") if timed else Column("Date", 13, DATE),
        Column("pH", 12, "0.0#"),
        Column(f"EC [{figures.unit_label('readings.ec')}]", 14, "0.00"),
        Column(f"water [{figures.unit_label('readings.temperature')}]", 14, "0.0"),
    ]
    yield material.page("History", "The readings behind the charts", columns, _history(figures, columns))


def _history(figures: Figures, columns: list[Column]) -> Iterable[Block]:
    rows: list[list[Value]] = [[r.bed, _when(r), r.ph, r.ec, r.temperature] for r in figures.history]
    yield Table(columns, rows, key=READINGS, frozen_columns=0)
    if rows:
        yield Gap()
        yield Section("The bands in the charts")
        ends: list[list[Value]] = [
            [f"{bed}, {end}", day, *values] for bed, end, values in _band_ends(figures) for day in figures.history_days
        ]
        yield Table([columns[0], Column("Date", columns[1].width, DATE), *columns[2:]], ends, key=BANDS)
