"""The first page of the report, to take along to the beds: what to do at each, what to order, what is not known."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from growcells.cells.number_texts import count

from ...reading import Fate
from ...reading.model import name_key
from ...season_figures.due import NEW_SOLUTION, Due
from ..advice.action import Action, Urgency, unit_after
from ..figures.bed_figures import is_torn
from ..figures.common_practice import MEASURES
from ..figures.in_words import amount, band_text, day_of, listed, money_text, named, number
from ..figures.iso_week import long_date
from ..figures.standings import leading
from ..figures.topping_up import in_dose_unit, parts_in_words
from ..figures.week_figures import BedWeek, Figures, count_cells
from .material import Material
from .page import Block, Card, Mark, Page, Text, ToDo

ABOVE, BELOW = "▲ above", "▼ below"
STOCK, MIX = "stock", Urgency.NEXT_MIX
NAMES = {"ph": "pH", "ec": "EC", "temperature": "Water"}
WELL = "Nothing to do: in its bands, and read as often as usual."
NO_ORDER = "Nothing has to be ordered this week."
ALL_KNOWN = "Nothing: every bed was read, and every figure could be worked out."
VITAL = ("ph", "ec")
"""The measures without which nothing is said to be well."""


def week_page(material: Material) -> Iterator[Page]:
    """The week: a card for each bed, then what to order, what is not known, and the week in short."""
    figures = material.figures
    span = " · ".join(part for part in (figures.week.span, figures.log.title) if part)
    yield material.page("Week", figures.week.title, _blocks(figures, material.actions), subtitle=span)


def _blocks(figures: Figures, found: Sequence[Action]) -> Iterator[Block]:
    beds = {name_key(bed.name) for bed in figures.beds}
    for bed in figures.beds:
        yield _card(figures, bed, [action for action in found if action.topic != STOCK and action.about == bed.name])
    usual = [(bed.bed, name) for bed in figures.beds for name, band in bed.bands.items() if band and not band.own]
    if usual:
        read = " that could be read" if any(is_torn(bed, measure) for bed, measure in usual) else ""
        yield Text(f"* The log gives no band here{read}, so the usual one of the crop is shown.", small=True)
    mixing = [action for action in found if action.urgency is MIX and name_key(action.about) not in beds]
    if mixing:
        yield Card("At the next mix", to_do=[_to_do(action, f"{action.about}: ") for action in mixing])
    orders = [action for action in found if action.topic == STOCK]
    yield Card("To order", to_do=[_to_do(order) for order in orders], notes=() if orders else (_next_order(figures),))
    yield Card("Not known", notes=_unknown(figures) or (ALL_KNOWN,))
    yield Card("In short", notes=_in_short(figures))


def _to_do(action: Action, before: str = "") -> ToDo:
    return ToDo(action.when, before + action.what, action.brief, action.urgency is Urgency.TODAY)


def _card(figures: Figures, bed: BedWeek, found: Sequence[Action]) -> Card:
    parts = (bed.bed.crop, f"day {bed.day}" if bed.day is not None else "")
    to_do = [_to_do(action) for action in found]
    planned = [
        ToDo(day_of(entry.when), f"{_upper(entry.what)}{_with(figures, bed, entry)}.", entry.why.split(" (")[0])
        for entry in figures.due
        if name_key(entry.bed) == name_key(bed.name)
    ]
    note = "" if to_do else not_known(bed) or ("" if planned else WELL)
    notes = (note,) if note else ()
    return Card(bed.name, ", ".join(filter(None, parts)), _marks(figures, bed), (*to_do, *planned), notes)


def _with(figures: Figures, bed: BedWeek, entry: Due) -> str:
    """Of a new solution how much of what it takes, or that this is not known."""
    if entry.what != NEW_SOLUTION:
        return ""
    parts = parts_in_words(figures, bed.fill.doses)
    if bed.volume is None or not parts or any(in_dose_unit(figures, dose)[0] is None for dose in bed.fill.doses):
        return ": how much feed is not known"
    return f": {amount(bed.volume, figures.unit_label('beds.volume'))} of water with {parts}"


def _marks(figures: Figures, bed: BedWeek) -> list[Mark]:
    marks = []
    for measure, name in NAMES.items():
        latest, band = bed.spans[measure].latest, bed.bands[measure]
        reading = "" if latest is None else f"{number(latest)}{unit_after(figures, measure)}"
        side = band.side(latest) if band and latest is not None else 0
        marks.append(Mark(name, reading or "not read", verdict(bed, measure) if reading else "", side))
    return marks


def verdict(week: BedWeek, measure: str) -> str:
    """The latest reading of the week beside its band, in words and a mark."""
    band, span = week.bands[measure], week.spans[measure]
    if span.latest is None:
        return "not read"
    if band is None:
        return "no band"
    star = "" if band.own else " *"
    side = band.side(span.latest)
    return f"{(ABOVE if side > 0 else BELOW) if side else 'in'} {band_text(band)}{star}"


def not_known(bed: BedWeek) -> str:
    """What keeps a bed from being said to be well, pH or EC not read in the week or no whole band for them; or ""."""
    unread = [MEASURES[name] for name in VITAL if bed.spans[name].latest is None]
    loose = [MEASURES[name] for name in VITAL if bed.spans[name].latest is not None and bed.bands[name] is None]
    torn = [MEASURES[name] for name in VITAL if is_torn(bed.bed, name)]
    parts = []
    if unread:
        parts.append(f"{listed(unread)} not read this week")
    if loose:
        parts.append(f"no band is known for {listed(loose)}")
    if torn:
        parts.append(f"the band of {listed(torn)} in the log could not be read")
    return f"Whether {bed.name} is well is not known: {'; '.join(parts)}." if parts else ""


def _next_order(figures: Figures) -> str:
    """That nothing is to be ordered, and what is next."""
    coming = [
        (stock.order_by, stock.part.name if feed.feed.is_mix else feed.feed.name)
        for feed in figures.feeds
        if feed.beds
        for stock in feed.stocks
        if stock.order_by is not None and (stock.order_by - figures.as_of).days <= 365
    ]
    if not coming:
        return NO_ORDER
    day, name = min(coming)
    return f"{NO_ORDER} Next: {name}, by {long_date(day)}."


def _unknown(figures: Figures) -> list[str]:
    """What was not read, not told or not worked out, and how much depends on it."""
    told = []
    for measure in MEASURES:
        beds = [bed.name for bed in figures.beds if bed.spans[measure].latest is None]
        if beds:
            told.append(f"{_upper(MEASURES[measure])} not read this week: {named(beds, len(figures.beds))}.")
    for measure in VITAL:
        beds = [bed.name for bed in figures.beds if bed.bands[measure] is None]
        if beds:
            told.append(f"No band of {MEASURES[measure]} is known: {named(beds, len(figures.beds))}.")
    for measure in MEASURES:
        beds = [bed.name for bed in figures.beds if is_torn(bed.bed, measure)]
        if beds:
            told.append(f"The band of {MEASURES[measure]} could not be read: {named(beds, len(figures.beds))}.")
    doses = [bed.name for bed in figures.beds if bed.fill.why]
    if doses:
        told.append(f"What a full fill takes is not known: {named(doses, len(figures.beds))}.")
    top_ups = [bed.name for bed in figures.beds if not bed.top_up.known and not bed.fill.why]
    if top_ups:
        told.append(f"What feed a top-up takes is not known: {named(top_ups, len(figures.beds))}.")
    stock = [
        stock.part.name if feed.feed.is_mix else feed.feed.name
        for feed in figures.feeds
        if feed.beds
        for stock in feed.stocks
        if stock.on_hand is None
    ]
    if stock:
        told.append(f"How much is on hand is not known: {named(stock, 0)}.")
    return [*told, *_left_out(figures)]


def _left_out(figures: Figures) -> Iterator[str]:
    """What of the log was not used."""
    unreadable, doubtful = count_cells(figures.log, Fate.UNREADABLE), len(figures.log.doubts)
    told = (
        (unreadable, f"{count(unreadable, 'cell')} could not be read"),
        (doubtful, f"{count(doubtful, 'value')} {'is' if doubtful == 1 else 'are'} hardly possible"),
        (len(figures.problems), f"{count(len(figures.problems), 'figure')} could not be worked out"),
    )
    if any(number for number, _ in told):
        yield f"{_upper(listed([text for number, text in told if number]))}: the page Checks tells which."
    if figures.later:
        dated = f"{count(figures.later, 'reading')} {'is' if figures.later == 1 else 'are'} dated"
        yield f"{dated} after {long_date(figures.as_of)}, the day of this report, and not used."


def _upper(text: str) -> str:
    return text if text.startswith("pH") else f"{text[:1].upper()}{text[1:]}"


def _in_short(figures: Figures) -> list[str]:
    sentences = [_added(figures), leading(figures)]
    read = f"The log holds {count(len(figures.log.readings), 'reading')}, {len(figures.in_week)} of this week."
    return [*filter(None, sentences), read]


def _added(figures: Figures) -> str:
    water = sum(bed.water_added for bed in figures.beds)
    feed = sum(bed.feed_added for bed in figures.beds)
    if not water and not feed:
        return "The log notes no water and no feed as added in the week."
    return (
        f"{amount(water, figures.unit_label('readings.water_added'))} of water and "
        f"{amount(feed, figures.unit_label('readings.feed_added'))} of feed were added in the week.{_cost(figures)}"
    )


def _cost(figures: Figures) -> str:
    """What the feed of the week cost, and that of the season; "" where the log has no prices."""
    week = [feed.used_cost for feed in figures.feeds if feed.used_cost is not None]
    if not week:
        return ""
    fills = [bed.cost for bed in figures.beds if bed.cost is not None]
    added = [bed.added_cost for bed in figures.beds if bed.added_cost is not None]
    of_week, to_date = money_text(figures, sum(week)), money_text(figures, sum(fills) + sum(added))
    return f" The feed cost {of_week} in the week and {to_date} to date, including one fill of each bed."
