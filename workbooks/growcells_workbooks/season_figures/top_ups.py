"""What a bed needs to be full and strong again: water, and each part of its feed.

What a gram does to the conductivity comes only from fills at the rate in force, else from the label by GROW_EC with its
error, else it is not known. It is never taken from another rate or another round.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from ..reading import Bed, GrowLog, Reading
from ..reading.model import name_key
from ..reading.model.fixed_units import Fixed
from .doses import Dose
from .expected_ec import ExpectedEc, expected_ec
from .not_known import NotKnown
from .parts import in_mixing_order
from .rates_in_force import FillRate, InForce, began, fill_rates, fills_of, in_force, readings_of, round_in
from .tanks import Level, full_volume, level_now, said

FRESH_DAYS = 4
"""Days after a fill within which a first reading is taken for that of fresh solution. Ours: plants change it later."""
NEAR = 0.15
"""Part by which a reading and the conductivity from the label may differ and still be of one rate. Ours."""


@dataclass(frozen=True)
class Gain:
    """What a fill at the rate in force adds to the conductivity [mS/cm], its error [1], and how that is known."""

    value: float
    error: float
    why: str


@dataclass(frozen=True)
class TopUp:
    """The next top-up of a bed: water [L], parts in the order of mixing, the conductivity wanted [mS/cm].

    ``known`` is False where the feed cannot be reckoned, and ``why`` says why; else ``why`` says from what it is.
    """

    bed: Bed
    water: float | None
    now: Reading | None
    target: float | None
    doses: tuple[Dose, ...]
    known: bool
    error: float
    why: str


def course_of(log: GrowLog, bed: Bed, day: datetime.date) -> list[Reading]:
    """The readings of the round in a bed up to a day."""
    return readings_of(log, bed, began(log, bed), day)


def water_ec(log: GrowLog, bed: Bed) -> float:
    """The conductivity [mS/cm] of the source water; 0 where the log does not say."""
    return Fixed(log)("beds.water_ec", bed.water_ec) or 0.0


def top_up(log: GrowLog, bed: Bed, day: datetime.date) -> TopUp:
    """The next top-up of a bed of ``log.on(day)``."""
    water: float | None = None
    now: Reading | None = None
    parts: tuple[Dose, ...] = ()
    try:
        full = full_volume(log, bed)
        course = course_of(log, bed, day)
        level = level_now(log, bed, course, full)
        _check_since(log, bed, level.reading, course, day)
        water = full - level.volume
        rule = in_force(log, bed, day)
        parts = tuple(Dose(part, order, None, None) for order, part in enumerate(in_mixing_order(rule.parts), 1))
        now = _latest_ec(bed, course)
        _check_since(log, bed, now, course, day)
        return _reckoned(log, bed, day, rule, full, level, now)
    except NotKnown as problem:
        return TopUp(bed, water, now, None, parts, False, 0.0, str(problem))


def _latest_ec(bed: Bed, course: list[Reading]) -> Reading:
    latest = next((reading for reading in reversed(course) if reading.ec is not None), None)
    if latest is None:
        raise NotKnown(f"the log has no EC of {bed.name} in this round")
    return latest


def _check_since(log: GrowLog, bed: Bed, reading: Reading, course: list[Reading], day: datetime.date) -> None:
    """Raise NotKnown where something was added after a reading; that of its own row counts as added before it."""
    at = course.index(reading)
    added = next((r for r in course[at + 1 :] if r.water_added or r.feed_added), None)
    if added is not None:
        raise NotKnown(f"water or feed was added on {said(added.date)}, and nothing was read since: measure again")
    filled = fills_of(log, bed, reading.date + datetime.timedelta(days=1), day)
    if filled:
        raise NotKnown(f"it was filled on {said(filled[-1].date)}, and nothing was read since: measure again")


def _reckoned(
    log: GrowLog, bed: Bed, day: datetime.date, rule: InForce, full: float, level: Level, now: Reading
) -> TopUp:
    fixed = Fixed(log)
    assert now.ec is not None
    ec, source = fixed.known("readings.ec", now.ec), water_ec(log, bed)
    gain = gain_in_force(log, bed, rule, day)
    target = wanted_ec(log, bed) or source + gain.value
    water = full - level.volume
    lacking = full * target - level.volume * ec - water * source
    fills = max(lacking, 0.0) / gain.value  # litres of solution at the rate in force that hold the feed to add
    doses = []
    for order, part in enumerate(in_mixing_order(rule.parts), 1):
        if part.grams is None and part.millilitres is None:
            raise NotKnown(f"the log gives no rate of {part.name or 'its feed'}")
        doses.append(Dose(part, order, *part.amount(fills)))
    why = f"{gain.why}; {rule.word}" if rule.word else gain.why
    return TopUp(bed, water, now, target, tuple(doses), True, gain.error, why)


def wanted_ec(log: GrowLog, bed: Bed) -> float | None:
    """The conductivity [mS/cm] in the middle of the bed's band, or its low end; None where the log has no band."""
    fixed = Fixed(log)
    low, high = fixed("beds.ec_low", bed.ec_low), fixed("beds.ec_high", bed.ec_high)
    if low is None:
        return None
    return low if high is None else (low + high) / 2


def gain_in_force(log: GrowLog, bed: Bed, rule: InForce, day: datetime.date) -> Gain:
    """What the rate in force adds to the conductivity: by its own fills, else by the label. Raises NotKnown."""
    try:
        expected: ExpectedEc | None = expected_ec(rule.parts)
        unknown = ""
    except NotKnown as problem:
        expected, unknown = None, str(problem)
    fills = [known for known in fill_rates(log, bed, day) if known.is_known and _is_of(known, rule)]
    for known in reversed(fills):
        found = _gain_of_fill(log, bed, known, expected, day)
        if found is not None:
            return found
    found = _gain_of_planting(log, bed, rule, expected, day)
    if found is not None:
        return found
    if expected is not None:
        _check_label(log, bed, expected, day)
        return Gain(
            expected.value,
            expected.error,
            f"no fill at this rate was measured; GROW_EC gives {expected.value:.2f} mS/cm from the label, "
            f"within {expected.error * 100:.0f} %",
        )
    raise NotKnown(f"no fill at the rate in force was measured, and {unknown}")


def _check_label(log: GrowLog, bed: Bed, expected: ExpectedEc, day: datetime.date) -> None:
    """Raise NotKnown where the bed read far more than the label gives: a label that lists too little doubles a dose.

    Fills at another rate are no such contradiction.
    """
    if any(known.is_known for known in fill_rates(log, bed, day)):
        return
    first = next((reading for reading in course_of(log, bed, day) if reading.ec is not None), None)
    if first is not None and _gain(log, bed, first) > expected.value * (1 + expected.error + NEAR):
        raise NotKnown(
            f"the label gives {expected.value:.2f} mS/cm at this rate, and the bed read "
            f"{Fixed(log)('readings.ec', first.ec):.2f} on {said(first.date)}: the rate, the label or the meter is off"
        )


def _is_of(known: FillRate, rule: InForce) -> bool:
    same_feed = not known.fill.feed or name_key(known.fill.feed) == name_key(rule.feed.name)
    return same_feed and known.is_of(rule.parts)


def _fresh(log: GrowLog, bed: Bed, first: datetime.date, last: datetime.date) -> list[Reading]:
    """The readings of fresh solution after a fill: up to the first addition or the next fill."""
    end = min(first + datetime.timedelta(days=FRESH_DAYS), last)
    later = fills_of(log, bed, first + datetime.timedelta(days=1), end)
    found = []
    for reading in readings_of(log, bed, first, end):
        added = (reading.water_added or reading.feed_added) and reading.date > first
        if added or (later and reading.date >= later[0].date):
            break
        if reading.ec is not None:
            found.append(reading)
    return found


def _gain_of_fill(
    log: GrowLog, bed: Bed, known: FillRate, expected: ExpectedEc | None, day: datetime.date
) -> Gain | None:
    """What a fill made of the conductivity, by the first reading after it.

    One of the same day may be from before the fill: it counts where a later one or the label bears it out, or where
    the bed was empty before. A change of rate without a mass or volume need not be a fill: the label must bear it out.
    """
    fresh = _fresh(log, bed, known.fill.date, day)
    same_day = [reading for reading in fresh if reading.date == known.fill.date]
    after = [reading for reading in fresh if reading.date > known.fill.date]
    is_fill = known.fill.volume is not None or known.fill.mass is not None
    empty = known.fill.date == began(log, bed)
    for reading in (*same_day[-1:], *after[:1]):
        gain = _gain(log, bed, reading)
        sure = is_fill and (reading.date > known.fill.date or empty or _near(gain, after and _gain(log, bed, after[0])))
        if gain > 0 and (sure or _near(gain, expected and expected.value)):
            return Gain(
                gain,
                0.0 if sure else NEAR,
                f"EC {Fixed(log)('readings.ec', reading.ec):.2f} mS/cm on {said(reading.date)}, after the fill of "
                f"{said(known.fill.date)} at this rate",
            )
    return None


def _gain_of_planting(
    log: GrowLog, bed: Bed, rule: InForce, expected: ExpectedEc | None, day: datetime.date
) -> Gain | None:
    """What the first fill of a round made, where the log has no fills.

    The round's own rate was in force then; that of a table may have been changed since, so the label must bear it out.
    """
    known = round_in(log, bed)
    first = (known.began if known else None) or bed.planted
    if fills_of(log, bed, first or datetime.date.min, day):
        return None
    fresh = _fresh(log, bed, first, day) if first else course_of(log, bed, day)[:1]
    reading = next((reading for reading in fresh if reading.ec is not None), None)
    if reading is None:
        return None
    gain = _gain(log, bed, reading)
    own = first is not None and known is not None and known.rate is not None and rule.why == "its round"
    if gain > 0 and (own or _near(gain, expected and expected.value)):
        return Gain(
            gain,
            0.0 if own else NEAR,
            f"EC {Fixed(log)('readings.ec', reading.ec):.2f} mS/cm on {said(reading.date)}, taken for a fresh fill at "
            "this rate" + ("" if own else ", as the label bears out"),
        )
    return None


def _gain(log: GrowLog, bed: Bed, reading: Reading) -> float:
    assert reading.ec is not None
    return Fixed(log).known("readings.ec", reading.ec) - water_ec(log, bed)


def _near(gain: float, other: object) -> bool:
    return isinstance(other, float) and other > 0 and abs(gain - other) <= NEAR * other


def top_ups(log: GrowLog, day: datetime.date) -> list[TopUp]:
    """The next top-up of each bed on a day."""
    on_day = log.on(day)
    return [top_up(on_day, bed, day) for bed in on_day.beds]
