"""Growth rates of plants or beds that were measured again and again, compared between treatments."""

from __future__ import annotations

from ..cells.arguments import Argument, Result, example_columns, example_of_table
from ..cells.errors import GrowError
from ..cells.kinds import DATE as DAY
from ..cells.kinds import NUMBER, TEXT
from ..cells.ranges import Column, check_lengths
from ..cells.registry import Family, cell_function
from ..statistics.growth_slope import growth_slope
from ..terms.plant_values import LARGEST, OUTCOMES, Lost, labels
from ..terms.trial_columns import BEDS, REPLICATES, TREATMENTS, read_trial
from ..terms.trial_table import COLUMNS, CONFIDENCE, REST, SOURCES, TESTS, table_of

SIZES = Argument(
    "values",
    OUTCOMES,
    "a column of sizes above zero, one a row; dead where the plant was lost, blank where nothing was measured",
    high=LARGEST,
)

PLANTS = Argument("plants", Column("plants", TEXT), "a column with the number or name of each plant")
DATES = Argument("dates", Column("dates", DAY), "a column with the date of each size")

SIZE, TREATMENT, DATE, PLANT = example_columns("growth_rates.csv", "size", "treatment", "date", "plant")


@cell_function(
    "GROW_RATES_TABLE",
    family=Family.TRIAL,
    help="Compares how fast treatments grow, from weekly measures on the same plants: a growth rate for each plant "
    "from all its dates, then as GROW_TRIAL_TABLE.",
    arguments=(SIZES, TREATMENTS, DATES, PLANTS, BEDS, CONFIDENCE),
    result=Result(NUMBER, "a table, a row for each treatment and sentences below", negative=True, columns=COLUMNS),
    examples=(example_of_table((SIZE, TREATMENT, DATE, PLANT), "growth_rates_table.csv", 1e-5),),
    formula=f"slope of the logarithm of the size against the day by least squares, for each plant; then {TESTS}",
    source=f"relative growth rate: Hunt, Plant Growth Curves (1982), from memory; {SOURCES}",
    needs=("scipy",),
    advice="A date on which a plant was skipped loses nothing: its rate follows from the other dates. A rate of 0.1 a "
    f"day doubles a size in 7 days. {REPLICATES}",
)
def rates_table(
    values: list[float | Lost | None],
    treatments: list[str | None],
    dates: list[float | None],
    plants: list[str | None],
    beds: list[str | None] | None = None,
    confidence: float = 0.95,
) -> list[tuple[object, ...]]:
    """Rows of a trial table of growth rates [1/day] and its sentences; confidence [1].

    Raises GrowError where the columns do not describe a trial, or where no plant was measured on two dates.

    >>> rates_table([2.0, 2.0, 4.0, 8.0], ["A", "B", "A", "B"], [1.0, 1.0, 8.0, 8.0], ["1", "2", "1", "2"])[1][:2]
    ('A', 1.0)
    """
    named_beds: list[str | None] = [None] * len(values) if beds is None else labels(beds)
    named, known = labels(treatments), labels(plants)
    check_lengths({"values": values, "treatments": named, "dates": dates, "plants": known, "beds": named_beds})
    readings: dict[tuple[str, str, str | None], list[tuple[float, float | Lost]]] = {}
    for row, (value, treatment, date, plant, bed) in enumerate(
        zip(values, named, dates, known, named_beds, strict=True), 1
    ):
        if value is None:
            continue
        if treatment is None or date is None or plant is None or (beds is not None and bed is None):
            lacking = (
                "treatment" if treatment is None else "date" if date is None else "plant" if plant is None else "bed"
            )
            raise GrowError(f"row {row} has a value but no {lacking}: fill in the {lacking} or clear the row")
        # The same number may stand for a plant in each bed or treatment.
        measured = readings.setdefault((plant, treatment, bed), [])
        if any(day == date for day, _ in measured):
            raise GrowError(
                f"row {row} has a second value of plant {plant} on a date: keep one, or tell the plants apart"
            )
        measured.append((date, value))
    rates: list[float | Lost | None] = []
    once = 0
    for measured in readings.values():
        gone = next((value for _, value in measured if isinstance(value, Lost)), None)
        sizes = [(date, value) for date, value in measured if not isinstance(value, Lost)]
        slope = growth_slope(sizes)
        once += slope is None and gone is None
        rates.append(gone or slope)
    if all(rate is None or isinstance(rate, Lost) for rate in rates):
        raise GrowError("no plant has sizes on two dates: give each plant the same number or name on every date")
    trial = read_trial(
        rates,
        [treatment for _, treatment, _ in readings],
        None if beds is None else [bed for _, _, bed in readings],
    )
    table = table_of(trial, confidence)
    said = "Values are relative growth rates a day, from all dates of each plant."
    if once:
        said += f" {once} {'plant was' if once == 1 else 'plants were'} measured once only and left out."
    return [*table, (said, *REST)]
