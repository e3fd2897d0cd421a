"""Recalculate mutated workbooks and look for a crash, a hang, a file changed on failure, or memory that grows.

    python tests/fuzz_workbooks.py --runs 20000 --seed 1 [--workers 2] [--keep FOLDER]

Each run is made from the seed and its number alone: ``--runs 1 --first N`` repeats run N. The runs take place in
processes of their own, with a limit on their memory and on the seconds of a run; one that dies counts as a crash.
The exit code is 1 where anything was found; ``--keep`` names a folder for the workbooks that did it.
"""

from __future__ import annotations

import argparse
import collections
import datetime
import io
import multiprocessing
import multiprocessing.connection
import os
import random
import re
import statistics
import sys
import tempfile
import time
import traceback
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from xml.sax.saxutils import escape

TESTS = Path(__file__).parent
sys.path[:0] = [str(TESTS), *(str(TESTS.parent / folder) for folder in ("functions", "addin", "workbooks"))]

from growcells.registry import functions  # noqa: E402  # the folders must be on the path first
from growcells_workbooks.recalculation import FileProblem, Recalculation, recalculate  # noqa: E402
from growcells_workbooks.starter import new_log  # noqa: E402
from recalc_books import ROOFTOP, furnished_book, without_formula_values, write_book  # noqa: E402

SECONDS = 60
"""A run that takes longer counts as a hang; the slowest mutants take some seconds on one old core."""
MEMORY = 4 * 2**30
"""What a process may allocate [bytes of address space]; only where the system has such a limit."""
START_SECONDS = 120
DAY = datetime.date(2026, 11, 20)
WARM = 200
"""Runs of a process after which its memory should no longer grow."""

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
_TEXTS = [*words('"x" "" "28~gal" "2026-03-02" "1e5" "N~5%,~P~3%" "a""b" "é\U0001f331"'), f'"{"y" * 255}"']
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


# ---- one run


def seed_books(folder: Path) -> list[bytes]:
    """The workbooks that are mutated: small ones, a furnished one, the rooftop log, and the starter log."""
    small = {"A1": 28, "A2": "28 gal", "B1": "=GROW_DOSE(A1,2)", "B2": "=B1*2", "B3": "=SUM(A1:B2)", "C1": '="a"&A1'}
    paths = [
        write_book(folder / "small.xlsx", small),
        write_book(folder / "days.xlsx", small | {"C2": "=TODAY()", "C3": "=DATE(2026,3,2)"}, date_1904=True),
        furnished_book(folder / "furnished.xlsx"),
        ROOFTOP,
        new_log(folder / "starter.xlsx", day=DAY),
    ]
    return [path.read_bytes() for path in paths]


def mutant(choose: random.Random, books: Sequence[bytes], known: Sequence[str]) -> tuple[str, bytes]:
    """What is mutated, and the mutated workbook."""
    book = choose.choices(books, weights=[3] * (len(books) - 1) + [1])[0]  # the last one, the starter log, is slow
    what = choose.choices(("package", "XML", "formulas"), weights=(1, 3, 3))[0]
    if what == "package":
        for _ in range(choose.choice((1, 1, 3))):
            book = choose.choice(BYTES)(choose, book or b"x")
        return what, book
    with zipfile.ZipFile(io.BytesIO(book)) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    if what == "XML":
        read = [name for name in parts if name.endswith((".xml", ".rels"))]
        likely = [name for name in read if "sheet" in name or "workbook" in name or "haredStrings" in name]
        for _ in range(choose.choice((1, 1, 2, 5))):
            name = choose.choice(likely if choose.random() < 0.85 else read)
            parts[name] = choose.choice(XML)(choose, parts[name] or b" ")
    else:
        sheets = [name for name in parts if name.startswith("xl/worksheets/sheet") and b"<f" in parts[name]]
        for name in choose.sample(sheets, choose.choice((1, len(sheets)))):
            parts[name] = change_formulas(choose, parts[name], known)
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as package:
        for name, data in parts.items():
            package.writestr(name, data)
    return what, made.getvalue()


@dataclass(frozen=True)
class Outcome:
    """What became of a run: ``fault`` is empty where all went as it should."""

    number: int
    what: str
    end: str
    fault: str = ""
    seconds: float = 0.0
    memory: int | None = None


def faults_of_refusal(sentence: str, source: Path, data: bytes) -> Iterator[str]:
    """What is wrong with a refusal."""
    if not sentence or "\n" in sentence or "Traceback" in sentence:
        yield f"no sentence: {sentence!r}"
    if source.read_bytes() != data:
        yield "the workbook was changed though it was refused"
    if len(list(source.parent.iterdir())) != 1:
        yield "files were left behind"


def faults_of_result(done: Recalculation, data: bytes, whole_xml: bool) -> Iterator[str]:
    """What is wrong with a result: parts that are no sheets must be as they were.

    Of sheets whose XML is whole, all but the values of formulas too; what is left of others only the scanner can read.
    """
    assert done.output is not None
    kept = done.backup or done.source
    if kept.read_bytes() != data:
        yield "the old workbook is not there any more"
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(done.output) as new:
        if new.testzip() is not None or old.namelist() != new.namelist():
            yield "the result is no whole package"
            return
        differing = {
            name: (old.read(name), new.read(name)) for name in old.namelist() if old.read(name) != new.read(name)
        }
    others = [name for name in differing if not name.startswith("xl/worksheets/")]
    if others:
        yield f"other parts than sheets were changed: {others}"
    elif whole_xml and any(
        without_formula_values(was) != without_formula_values(now) for was, now in differing.values()
    ):
        yield f"more than the values of formulas was changed in {list(differing)}"


def one_run(seed: int, number: int, books: Sequence[bytes], known: Sequence[str]) -> Outcome:
    """Mutate, recalculate, look."""
    choose = random.Random(f"{seed}/{number}")
    what, data = mutant(choose, books, known)
    in_place = choose.random() < 0.3
    start = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        source, output = Path(folder) / "log.xlsx", Path(folder) / "out.xlsx"
        source.write_bytes(data)
        try:
            done = recalculate(source, None if in_place else output, in_place=in_place, as_of=DAY)
        except FileProblem as problem:
            end, faults = "refused", list(faults_of_refusal(str(problem), source, data))
        except Exception:
            end, faults = "raised", [traceback.format_exc()]
        else:
            end, faults = "computed", list(faults_of_result(done, data, whole_xml=what == "formulas"))
    return Outcome(number, what, end, "; ".join(faults), time.monotonic() - start, resident_memory())


# ---- many runs


def resident_memory() -> int | None:
    """The memory that this process holds [bytes]; None where the system does not tell."""
    try:
        return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, AttributeError):
        return None


def work(seed: int, pipe: multiprocessing.connection.Connection) -> None:
    """Do the runs whose numbers come through the pipe; runs in a process of its own."""
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as folder:
        books = seed_books(Path(folder))
    known = known_formulas()
    pipe.send(None)
    while (number := pipe.recv()) is not None:
        pipe.send(one_run(seed, number, books, known))


@dataclass
class Worker:
    """A process that does runs, and the run that it is at."""

    seed: int
    number: int = -1
    started: float = 0.0
    memory: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=work, args=(self.seed, theirs), daemon=True)
        self.process.start()
        theirs.close()
        if not self.pipe.poll(START_SECONDS) or self.pipe.recv() is not None:
            raise RuntimeError("a process of the fuzz test does not start")

    def begin(self, number: int) -> None:
        self.number, self.started = number, time.monotonic()
        self.pipe.send(number)

    def outcome(self) -> Outcome:
        """The outcome of the run: of a process that died or hangs, that it did."""
        seconds = time.monotonic() - self.started
        try:
            if self.pipe.poll():
                outcome: Outcome = self.pipe.recv()
                if outcome.memory is not None:
                    self.memory.append(outcome.memory)
                return outcome
        except (EOFError, OSError):
            self.process.join(START_SECONDS)
            return Outcome(self.number, "?", "died", f"the process ended with {self.process.exitcode}", seconds)
        return Outcome(self.number, "?", "hung", f"no end after {seconds:.0f} s", seconds)

    def end(self) -> None:
        self.process.kill()
        self.process.join()
        self.pipe.close()


@dataclass
class Figures:
    """What came of all runs."""

    ends: collections.Counter[tuple[str, str]] = field(default_factory=collections.Counter)
    faults: list[Outcome] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    growth: list[float] = field(default_factory=list)
    """By how much the memory of each process grew after it had become warm [MiB in 1,000 runs]."""

    def lines(self) -> Iterator[str]:
        for (what, end), count in sorted(self.ends.items()):
            yield f"{what:9} {end:9} {count:7,}"
        if self.seconds:
            yield f"seconds a run: median {statistics.median(self.seconds):.3f}, longest {max(self.seconds):.2f}"
        if self.growth:
            yield "memory of each process grew by (MiB in 1,000 runs): " + ", ".join(f"{g:.2f}" for g in self.growth)
        else:
            yield "memory: NOT MEASURED on this system, or too few runs"
        yield f"{sum(self.ends.values()):,} runs, {len(self.faults)} faults"


def memory_growth(memory: Sequence[int]) -> float | None:
    """Growth of a process's memory from its first warm runs to its last ones [MiB in 1,000 runs], by medians."""
    warm = memory[WARM:]
    if len(warm) < WARM:
        return None
    tenth = len(warm) // 10
    grown = statistics.median(warm[-tenth:]) - statistics.median(warm[:tenth])
    return grown / 2**20 / (len(warm) - tenth) * 1000


def fuzz(runs: int, seed: int, first: int = 0, workers: int = 2, tell: Callable[[str], None] = print) -> Figures:
    """Make the runs and count what comes of them."""
    figures = Figures()
    numbers = iter(range(first, first + runs))
    crew = [Worker(seed) for _ in range(min(workers, runs))]
    for worker in crew:
        worker.begin(next(numbers))
    while crew:
        soonest = min(worker.started for worker in crew) + SECONDS - time.monotonic()
        ready = multiprocessing.connection.wait([worker.pipe for worker in crew], max(0.0, soonest))
        late = time.monotonic() - SECONDS
        for worker in [worker for worker in crew if worker.pipe in ready or worker.started < late]:
            outcome = worker.outcome()
            figures.ends[outcome.what, outcome.end] += 1
            figures.seconds.append(outcome.seconds)
            if outcome.fault:
                figures.faults.append(outcome)
                tell(f"run {outcome.number} {outcome.end}: {outcome.fault}")
            if sum(figures.ends.values()) % 1000 == 0:
                tell(f"… {sum(figures.ends.values()):,} runs")
            number = next(numbers, None)
            if number is None or outcome.end in ("died", "hung"):
                worker.end()
                crew.remove(worker)
                growth = memory_growth(worker.memory)
                figures.growth += [] if growth is None else [growth]
                if number is None:
                    continue
                worker = Worker(seed)
                crew.append(worker)
            worker.begin(number)
    return figures


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first run")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--keep", type=Path, help="a folder for the workbooks of faults")
    given = parser.parse_args()
    start = time.monotonic()
    figures = fuzz(given.runs, given.seed, given.first, given.workers)
    print("\n".join(figures.lines()), f"in {time.monotonic() - start:.0f} s")
    if given.keep and figures.faults:
        given.keep.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory() as folder:
            books, known = seed_books(Path(folder)), known_formulas()
        for fault in figures.faults:
            _, data = mutant(random.Random(f"{given.seed}/{fault.number}"), books, known)
            (given.keep / f"run-{given.seed}-{fault.number}.xlsx").write_bytes(data)
    return 1 if figures.faults else 0


if __name__ == "__main__":
    sys.exit(main())
