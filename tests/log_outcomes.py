"""What a reader made of random logs: read right, said to be unread, missing without a word, or wrong.

``python tests/log_outcomes.py --logs 5000`` prints it by layout.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from growcells_workbooks.reading import GrowLog
from growcells_workbooks.reading.model import name_key
from growcells_workbooks.reading.read import read_tables
from log_pages import Key, Made, Truth
from log_vocabulary import MEASURES
from random_logs import made


def read_values(log: GrowLog) -> dict[Key, list[float]]:
    """What was read, in fixed units, by what it is of."""
    found: dict[Key, list[float]] = {}

    def add(key: Key, value: float | None, field_of: str = "", unit: str = "") -> None:
        if value is not None:
            slope, offset = log.fixed(field_of, unit) if field_of else (1.0, 0.0)
            found.setdefault(key, []).append(value * slope + offset)

    for reading in log.readings:
        for name in MEASURES:
            value = getattr(reading, name)
            add(
                ("reading", name_key(reading.bed), reading.date, name),
                value,
                "" if name == "ph" else f"readings.{name}",
            )
    for bed in log.beds:
        for name in ("length", "width", "depth", "volume"):
            add(("bed", name_key(bed.name), name), getattr(bed, name), f"beds.{name}")
    for known in log.rounds:
        if known.began:
            add(("round", name_key(known.bed), known.number), float(known.began.toordinal()))
    for feed in log.feeds:
        add(("feed", name_key(feed.name), "rate"), feed.rate, "feeds.rate")
    for weight in log.weights:
        add(("weight", name_key(weight.bed), weight.plant), weight.mass, "weights.mass")
    for harvest in log.harvests:
        add(("harvest", name_key(harvest.bed), harvest.date), harvest.mass, "harvests.mass")
    return found


@dataclass
class Outcome:
    """What became of the values of a log."""

    right: int = 0
    said: int = 0
    missing: list[Truth] = field(default_factory=list)
    wrong: list[tuple[Key, object, object]] = field(default_factory=list)
    unread: list[tuple[Truth, str]] = field(default_factory=list)


def outcome_of(made: Made, log: GrowLog) -> Outcome:
    """Hold what was read against the truth."""
    result = Outcome()
    read = read_values(log)
    left = {(out.sheet, out.cell): out for out in log.left_out}
    for truth in made.truths:
        values = read.get(truth.key)
        if values:
            near = [value for value in values if abs(value - truth.value) <= 1e-6 + 2e-4 * abs(truth.value)]
            if near:
                result.right += 1
                values.remove(near[0])
            else:
                result.wrong.append((truth.key, truth.value, list(values)))
                values.clear()
        elif (out := left.get((truth.sheet, truth.cell))) is not None and out.problem:
            result.said += 1
            result.unread.append((truth, out.reason))
        else:
            result.missing.append(truth)
    known = {truth.key[:2] for truth in made.truths}
    for key, values in read.items():
        for value in values:
            if key[0] in ("reading", "weight", "harvest") or key[:2] not in known:
                result.wrong.append((key, None, value))
    return result


def run(seeds: Sequence[int]) -> Iterator[tuple[Made, GrowLog, Outcome]]:
    """Read logs from memory and hold them against their truth."""
    for seed in seeds:
        log = made(seed)
        read = read_tables(log.sheets(), Path("log.xlsx"))
        yield log, read, outcome_of(log, read)


def main(arguments: Sequence[str] | None = None, show: Callable[[str], None] = print) -> None:
    """Print what became of the values of many logs, by layout."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=5000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--show", type=int, default=0, help="how many of the first faults to tell")
    given = parser.parse_args(arguments)
    totals: dict[str, Counter[str]] = {}
    shown = 0
    for log, _, outcome in run(range(given.first, given.first + given.logs)):
        of = totals.setdefault(log.layout, Counter())
        of.update(
            logs=1, right=outcome.right, said=outcome.said, missing=len(outcome.missing), wrong=len(outcome.wrong)
        )
        faults = [*outcome.wrong, *outcome.missing, *outcome.unread]
        if faults and shown < given.show:
            shown += 1
            told = f"wrong {outcome.wrong[:2]} missing {outcome.missing[:2]} unread {outcome.unread[:2]}"
            show(f"seed {log.seed} {log.layout}: {told}")
    names = ("logs", "right", "said", "missing", "wrong")
    show(f"{'layout':<24}" + "".join(f"{name:>10}" for name in names) + f"{'right %':>10}")
    totals["all"] = sum(totals.values(), Counter())
    for layout, of in totals.items():
        values = of["right"] + of["said"] + of["missing"] + of["wrong"]
        show(
            f"{layout:<24}"
            + "".join(f"{of[name]:>10,}" for name in names)
            + f"{100 * of['right'] / max(values, 1):>10.2f}"
        )


if __name__ == "__main__":
    main()
