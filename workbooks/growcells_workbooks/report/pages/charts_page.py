"""The pages with charts: the readings of four weeks drawn bed by bed, and the rows that they are drawn from."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence

from ...reading import Reading
from ...reading.model import name_key
from ...sheets.table_columns import DATE, Column, Value
from ..advice.noted_trouble import troubles_in
from ..figures.common_practice import MEASURES
from ..figures.in_words import measure_labels
from ..figures.week_figures import Figures
from .material import Material
from .page import Block, Cells, Chart, ChartGrid, Event, Gap, Line, Page, Section, Table, Text
from .readings_page import CLOCK
from .scale import Scale, scale

READINGS, BANDS, EVENTS = "readings", "bands", "events"
"""The keys of the tables that the charts are drawn from."""
DAYS, FIRST_MEASURE = 1, 2
"""Their columns with the days, and with the first of the measures."""
FEW = 2
"""Up to so many beds have their charts below each other, each as wide as the paper allows."""
KINDS = {"planted": 0.17, "changed": 0.06, "fed": 0.06, "trouble": 0.17}
"""What is marked, and how far above the foot of a chart its sign stands, as a part of its height."""

BandEnd = tuple[str, str, Sequence[float | None]]
"""A bed, ``low`` or ``high``, and that end of the band of each measure."""


def charts_page(material: Material) -> Iterator[Page]:
    """pH, EC and temperature of each bed over four weeks, all on the same scales."""
    yield material.page("Charts", "pH, EC and water temperature, the last four weeks", _charts(material.figures))


def _charts(figures: Figures) -> Iterator[Block]:
    if not figures.history:
        yield Text("The log has no reading in these weeks.")
        return
    yield Text(
        "Each measure has one scale for all beds. Its band is shaded between dashed lines, the latest reading is "
        "written beside its point. ◆ planted  ■ solution changed  ▲ fed  ✕ trouble noted"
    )
    scales, events = _scales(figures), _events(figures)
    first, last = figures.history_days
    crops = {bed.name: bed.bed.crop for bed in figures.beds}
    rows = []
    for bed, spans in _spans(figures).items():
        label = f"{bed}, {crops[bed]}" if crops.get(bed) else bed
        rows.append(
            [
                Chart(
                    f"{label}: {axis}" if name == "ph" or len(crops) <= FEW else f"{bed}: {axis}",
                    axis,
                    scales[name],
                    first,
                    last,
                    (
                        *_band_lines(figures, bed, place),
                        _line(figures, f"{label}: {axis}", place, name, spans),
                    ),
                    _band(figures, bed, name),
                    _signs(events, scales[name], bed, place),
                )
                for place, (name, axis) in enumerate(measure_labels(figures).items())
            ]
        )
    yield ChartGrid(list(zip(*rows, strict=True)) if len(rows) <= FEW else rows)


def _scales(figures: Figures) -> Mapping[str, Scale]:
    """The scale of each measure, for all beds."""
    return {name: scale(_values(figures, name)) for name in MEASURES}


def _band(figures: Figures, bed: str, measure: str) -> tuple[float | None, float | None] | None:
    band = next(known.bands[measure] for known in figures.beds if known.name == bed)
    return (band.low, band.high) if band else None


def _events(figures: Figures) -> list[tuple[str, str, datetime.date]]:
    """What happened in the weeks shown: bed, kind and day, by bed and kind."""
    start, end = figures.history_days
    found: set[tuple[str, str, datetime.date]] = set()
    for bed in figures.beds:
        key = name_key(bed.name)
        course = [reading for reading in bed.course if start <= reading.date < end]
        found.update((bed.name, "fed", reading.date) for reading in course if reading.feed_added)
        found.update((bed.name, "trouble", reading.date) for reading in course if troubles_in(reading.notes))
        found.update((bed.name, "changed", fill.date) for fill in figures.log.fills if name_key(fill.bed) == key)
        began = [known.began for known in figures.log.rounds if name_key(known.bed) == key and known.began]
        found.update((bed.name, "planted", day) for day in (*began, *([bed.bed.planted] if bed.bed.planted else [])))
    shown = [event for event in found if start <= event[2] < end and event[2] <= figures.as_of]
    order = {bed.name: place for place, bed in enumerate(figures.beds)}
    kinds = list(KINDS)
    return sorted(shown, key=lambda event: (order[event[0]], kinds.index(event[1]), event[2]))


def _signs(events: Sequence[tuple[str, str, datetime.date]], limits: Scale, bed: str, place: int) -> tuple[Event, ...]:
    """The signs in a chart of a bed."""
    made = []
    for kind in KINDS:
        rows = [row for row, event in enumerate(events) if event[:2] == (bed, kind)]
        if rows:
            days, values = (Cells(EVENTS, column, rows[0], rows[-1]) for column in (DAYS, FIRST_MEASURE + place))
            made.append(Event(kind, [(events[row][2], foot_of(kind, limits)) for row in rows], days, values))
    return tuple(made)


def foot_of(kind: str, limits: Scale) -> float:
    """Where the sign of an event stands on an axis."""
    return limits.low + KINDS[kind] * (limits.high - limits.low)


def _values(figures: Figures, measure: str) -> list[float | None]:
    """What the scale of a measure must hold: all readings and the ends of all bands."""
    bands = [band for bed in figures.beds if (band := bed.bands[measure])]
    read = [getattr(reading, measure) for reading in figures.history]
    return [*read, *(end for band in bands for end in (band.low, band.high))]


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
    found = []
    for bed in figures.beds:
        bands = [bed.bands[name] for name in MEASURES]
        for end in ("low", "high"):
            found.append((bed.name, end, [getattr(band, end) if band else None for band in bands]))
    return [entry for entry in found if any(value is not None for value in entry[2])]


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
    yield material.page("History", "The readings behind the charts", _history(figures, columns), printed=False)


def _history(figures: Figures, columns: list[Column]) -> Iterable[Block]:
    rows: list[list[Value]] = [[r.bed, _when(r), r.ph, r.ec, r.temperature] for r in figures.history]
    yield Table(columns, rows, key=READINGS, frozen_columns=0)
    if rows:
        yield Gap()
        yield Section("The bands in the charts")
        ends: list[list[Value]] = [
            [f"{bed}, {end}", day, *values] for bed, end, values in _band_ends(figures) for day in figures.history_days
        ]
        dated = [columns[0], Column("Date", columns[1].width, DATE), *columns[2:]]
        yield Table(dated, ends, key=BANDS)
        events = _events(figures)
        if events:
            scales = _scales(figures).values()
            rows = [[f"{bed}, {kind}", day, *(foot_of(kind, one) for one in scales)] for bed, kind, day in events]
            yield Gap()
            yield Section("What happened, at the foot of the charts")
            yield Table(dated, rows, key=EVENTS)
