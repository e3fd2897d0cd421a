"""Random differential tests: our answers beside those of other programs, and the table of functions/README.md.

``python tests/accuracy.py`` measures anew, prints the table and writes it into functions/README.md; it takes some
minutes. ``tests/test_accuracy.py`` measures again and holds each row to what is written there.
"""

from __future__ import annotations

import itertools
import math
import random
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(PROJECT / "functions"), str(PROJECT / "tests")]

import numpy as np  # noqa: E402  # the folders must be on the path first
from scipy import integrate, stats  # noqa: E402
from statsmodels.stats.oneway import anova_oneway  # noqa: E402
from statsmodels.stats.proportion import confint_proportions_2indep  # noqa: E402

import test_acid  # noqa: E402
import test_conductivity  # noqa: E402
import test_saturation  # noqa: E402
import test_sizes  # noqa: E402
import test_stock  # noqa: E402
from concentrates import random_concentrates, saturation_indices  # noqa: E402
from growcells.chemistry.equilibria import equilibrium  # noqa: E402
from growcells.chemistry.ion_mobility import conductivity  # noqa: E402
from growcells.families.growth import growth_rate  # noqa: E402
from growcells.families.volume import bucket, depth_for, taper  # noqa: E402
from growcells.statistics.comparison import fit_linear  # noqa: E402
from growcells.statistics.crossed_factors import effects  # noqa: E402
from growcells.statistics.growth_slope import growth_slope  # noqa: E402
from growcells.statistics.proportions import difference_limits, exact_p  # noqa: E402
from growcells.statistics.trial_sizes import Effect, control_power, split_power  # noqa: E402
from growcells.terms.stock_sentences import ALL_WELL  # noqa: E402
from growcells.terms.trial_columns import combinations, read_trial  # noqa: E402
from trials import compared, units  # noqa: E402

README = PROJECT / "functions" / "README.md"
HEADING = "| what | against | comparisons | worst error |"
CASES = 200
"""Comparisons of a family, at least."""

ROUNDING = 1e-12
"""Errors below this are those of rounding, which differ from machine to machine."""

Measure = Callable[[], tuple[int, str]]


@dataclass(frozen=True)
class Family:
    """A family of random comparisons; ``measure`` gives how many there were and the worst error in words."""

    what: str
    against: str
    measure: Measure

    def row(self) -> str:
        """The row of the table, measured anew."""
        count, worst = self.measure()
        assert count >= CASES, self.what
        return f"| {self.what} | {self.against} | {count} | {worst} |"


def up(error: float) -> str:
    """An error in one figure, rounded up, so that another machine's last digit changes nothing."""
    if error < ROUNDING:
        return f"{ROUNDING:.0e}"
    power = math.floor(math.log10(error))
    figure = math.ceil(error / 10**power - 1e-9)
    return f"{figure * 10.0**power:.0e}".replace("e-0", "e-") if power < -3 else f"{figure * 10.0**power:.6g}"


def relative(pairs: Sequence[tuple[float, float]]) -> tuple[int, str]:
    return len(pairs), up(max(abs(ours / theirs - 1) for ours, theirs in pairs))


def absolute(pairs: Sequence[tuple[float, float]]) -> tuple[int, str]:
    return len(pairs), up(max(abs(ours - theirs) for ours, theirs in pairs))


def concentrates(database: str) -> tuple[int, str]:
    names = test_stock.names_for(database)
    tried = over = false = 0
    for concentrate in random_concentrates(test_stock.SEED, test_stock.RANDOM_CONCENTRATES, names):
        answer = saturation_indices(database, concentrate)
        if answer is not None:
            oversaturated = max(answer[1].values(), default=-99.0) > test_stock.NEAR_SATURATION
            tried, over = tried + 1, over + oversaturated
            false += oversaturated and test_stock.check(*concentrate.cells) == ALL_WELL
    return tried, f"{false} of {over} oversaturated ones said to dissolve"


def common_ions() -> tuple[int, str]:
    misses = test_saturation.common_ion_misses()
    return len(misses), f"log10 saturation {min(misses):+.2f} to {max(misses):+.2f}"


def feeds() -> tuple[int, str]:
    pairs = test_conductivity.against_phreeqc()
    errors = [abs(ours / theirs - 1) for ours, theirs in pairs]
    half, most = np.quantile(errors, [0.5, 0.95])
    return len(pairs), f"median {100 * half:.2f} %, 95 % under {100 * most:.2f} %, {100 * max(errors):.2f} %"


SALTS: dict[str, dict[str, int]] = {
    "KCl": {"K": 1, "Cl": 1}, "NaCl": {"Na": 1, "Cl": 1}, "NH4Cl": {"NH4": 1, "Cl": 1}, "KNO3": {"K": 1, "NO3": 1},
    "CaCl2": {"Ca": 1, "Cl": 2}, "MgCl2": {"Mg": 1, "Cl": 2}, "Na2SO4": {"Na": 2, "SO4": 1},
    "K2SO4": {"K": 2, "SO4": 1},
}  # fmt: skip


def single_salts(low: float, high: float) -> tuple[int, str]:
    """Errors where the conductivity lies between two figures [mS/cm]."""
    from thermo import electrochem

    electrochem._load_electrochem_data()
    table = electrochem.cond_data_McCleskey.set_index("formula")
    errors = []
    for formula, counts in SALTS.items():
        row = table.loc[formula]
        for molality in np.geomspace(0.0005, 0.095, 400):
            theirs = 10 * electrochem.conductivity_McCleskey(
                298.15, molality, [row.c1, row.c2, row.c3], [row.d1, row.d2, row.d3], row.B, row.multiplier
            )
            if low <= theirs < high:
                totals = {name: count * molality for name, count in counts.items()}
                errors.append(conductivity(equilibrium(totals, 6.5), 25.0) / theirs - 1)
    return len(errors), f"{100 * min(errors):+.1f} to {100 * max(errors):+.1f} %"


def acids(in_air: bool, feed_too: bool) -> tuple[int, str]:
    names = (
        ("nitric", "sulfuric", "hydrochloric", "phosphoric") if not feed_too else ("nitric", "phosphoric", "sulfuric")
    )
    worst = {name: max(map(abs, test_acid.misses(name, in_air, feed_too))) for name in names}
    if not feed_too:
        worst["citric"] = max(map(abs, test_acid.misses("citric", in_air, False)))
    count = sum(len(test_acid.misses(name, in_air, feed_too)) for name in worst)
    return count, "pH " + ", ".join(f"{miss:.3f} ({name})" for name, miss in worst.items())


def tanks() -> tuple[int, str]:
    numbers = random.Random(3)
    pairs = []
    for _ in range(CASES // 2):
        length, width, base, narrow, height = (numbers.uniform(1, 20) for _ in range(5))
        depth = numbers.uniform(0.05, 1) * height

        def at(level: float, rim: float, bottom: float, whole: float = height) -> float:
            return bottom + (rim - bottom) * level / whole

        held = integrate.quad(lambda level: at(level, length, base) * at(level, width, narrow), 0, depth)[0]  # noqa: B023
        round_held = integrate.quad(lambda level: math.pi / 4 * at(level, length, base) ** 2, 0, depth)[0]  # noqa: B023
        pairs += [
            (taper(length, width, base, narrow, depth, height), held),
            (bucket(length, base, depth, height), round_held),
            (depth_for(held, "taper", length, width, base, narrow, height), depth),
            (depth_for(round_held, "bucket", length, base, height=height), depth),
        ]
    return relative(pairs)


def samples(numbers: np.random.Generator) -> list[list[float]]:
    count = int(numbers.integers(2, 6))
    return [
        numbers.normal(numbers.normal(50, 3), numbers.uniform(0.5, 4), int(numbers.integers(3, 12))).tolist()
        for _ in range(count)
    ]


def welch() -> tuple[int, str]:
    numbers = np.random.default_rng(4)
    pairs = []
    for _ in range(CASES):
        trial = samples(numbers)
        theirs = anova_oneway(trial, use_var="unequal")
        pairs.append((compared(trial).test.p, float(theirs.pvalue)))
    return absolute(pairs)


def games_howell() -> tuple[int, str]:
    numbers = np.random.default_rng(5)
    pairs: list[tuple[float, float]] = []
    while len(pairs) < CASES:
        trial = samples(numbers)
        ours, theirs = compared(trial), stats.tukey_hsd(*trial, equal_var=False)
        pairs += [
            (ours.pair_p(i, j), float(theirs.pvalue[i, j])) for i, j in itertools.combinations(range(len(trial)), 2)
        ]
    return absolute(pairs)


def dunnett() -> tuple[int, str]:
    numbers = np.random.default_rng(6)
    pairs: list[tuple[float, float]] = []
    while len(pairs) < CASES:
        trial = samples(numbers)
        if len(trial) > 2:
            theirs = stats.dunnett(*trial[1:], control=trial[0], random_state=1)
            ours = fit_linear(units(trial))
            pairs += [(ours.against_control(at, 0.95).p, float(theirs.pvalue[at - 1])) for at in range(1, len(trial))]
    return absolute(pairs)


def exact() -> tuple[int, str]:
    numbers = random.Random(7)
    pairs = []
    for _ in range(CASES):
        counts = [numbers.randint(1, 60), numbers.randint(1, 60)]
        successes = [numbers.randint(0, count) for count in counts]
        rows = [[s, n - s] for s, n in zip(successes, counts, strict=True)]
        pairs.append((exact_p(successes, counts), float(stats.fisher_exact(rows).pvalue)))
    return absolute(pairs)


def newcombe() -> tuple[int, str]:
    numbers = random.Random(8)
    pairs: list[tuple[float, float]] = []
    for _ in range(CASES // 2):
        counts = [numbers.randint(2, 90), numbers.randint(2, 90)]
        successes = [numbers.randint(0, count) for count in counts]
        theirs = confint_proportions_2indep(successes[1], counts[1], successes[0], counts[0], method="newcomb")
        pairs += zip(difference_limits(successes, counts, 0.95), map(float, theirs), strict=True)
    return absolute(pairs)


def rates() -> tuple[int, str]:
    numbers = np.random.default_rng(9)
    pairs = []
    for _ in range(CASES):
        days = np.sort(numbers.choice(60, int(numbers.integers(2, 8)), replace=False)).astype(float)
        sizes = np.exp(numbers.uniform(0.02, 0.2) * days + numbers.normal(0, 0.1, len(days)))
        ours = growth_slope(list(zip(days.tolist(), sizes.tolist(), strict=True)))
        assert ours is not None
        pairs.append((ours, float(np.polyfit(days, np.log(sizes), 1)[0])))
        if len(days) == 2:
            assert ours == growth_rate(sizes[0], sizes[1], days[1] - days[0]) or abs(ours) < 1
    return absolute(pairs)


def left_by(values: np.ndarray, *factors: np.ndarray) -> float:
    """Sum of squares that the levels of factors leave, by numpy."""
    design = np.hstack([np.ones((len(values), 1)), *(np.eye(factor.max() + 1)[factor] for factor in factors)])
    return float(np.sum((values - design @ np.linalg.lstsq(design, values, rcond=None)[0]) ** 2))


def split_plots() -> tuple[int, str]:
    numbers = np.random.default_rng(10)
    pairs: list[tuple[float, float]] = []
    while len(pairs) < CASES:
        feeds, varieties, beds = (int(numbers.integers(2, 4)) for _ in range(3))
        cells = [(f, f * beds + b, v) for f in range(feeds) for b in range(beds) for v in range(varieties)]
        of_bed = numbers.normal(0, 2, feeds * beds)
        values = [50 + f + 2 * v + of_bed[b] + float(numbers.normal()) for f, b, v in cells]
        rows: list[list[str | None]] = [[f"f{f}", f"v{v}"] for f, _, v in cells]
        trial = read_trial(values, combinations(rows, 2), [f"b{b}" for _, b, _ in cells])
        ours = {row[0]: row for row in effects(["feed", "variety"], trial)}
        feed, bed, variety = (np.array(column) for column in zip(*cells, strict=True))
        y = np.array(values)
        whole, plain, additive = left_by(y, feed), left_by(y, bed), left_by(y, bed, variety)
        full = left_by(y, bed, feed * varieties + variety)
        among = (whole - plain) / (feeds * (beds - 1))
        left = full / (len(values) - feeds * beds - (varieties - 1) * feeds)
        f_feed = (left_by(y) - whole) / (feeds - 1) / among
        f_both = (additive - full) / ((feeds - 1) * (varieties - 1)) / left
        f_variety = (plain - additive) / (varieties - 1) / left
        pairs += [
            (float(ours["feed"][3]), f_feed),  # type: ignore[arg-type]  # a number
            (float(ours["variety"][3]), f_variety),  # type: ignore[arg-type]
            (float(ours["feed × variety"][3]), f_both),  # type: ignore[arg-type]
        ]
    return relative(pairs)


def control_powers() -> tuple[int, str]:
    numbers = random.Random(11)
    pairs = []
    for _ in range(CASES):
        given = (
            numbers.uniform(0.3, 3),
            numbers.randint(2, 30),
            numbers.randint(2, 5),
            numbers.choice((0.01, 0.05, 0.1)),
        )
        pairs.append((control_power(*given), test_sizes.dunnett_power(*given)))
    return absolute(pairs)


def split_plot_powers() -> tuple[int, str]:
    numbers = random.Random(12)
    pairs = []
    for _ in range(CASES):
        given = numbers.choice(tuple(Effect)), numbers.uniform(0.3, 3), numbers.uniform(0, 2)
        levels = numbers.randint(2, 20), numbers.randint(2, 5), numbers.randint(2, 5), numbers.choice((0.01, 0.05, 0.1))
        pairs.append((split_power(*given, *levels), test_sizes.split_powers(*given, *levels)))
    return absolute(pairs)


FAMILIES = (
    *(
        Family(f"`GROW_STOCK_CHECK` of random concentrates of all salts ({database})", "PHREEQC", measure)
        for database, measure in (
            (name, lambda name=name: concentrates(name)) for name in ("minteq.v4.dat", "pitzer.dat", "phreeqc.dat")
        )
    ),
    Family("a salt beside another that brings the same ion or salts it out", "PHREEQC, pitzer.dat", common_ions),
    Family("`GROW_EC` of complete solutions, 0.2 to 4.5 mS/cm", "PHREEQC", feeds),
    Family(
        "conductivity of single salts below 2.2 mS/cm", "McCleskey et al. 2012, thermo", lambda: single_salts(0, 2.2)
    ),
    Family("the same, 2.2 to 6 mS/cm", "McCleskey et al. 2012, thermo", lambda: single_salts(2.2, 6)),
    Family("the same, 6 to 20 mS/cm", "McCleskey et al. 2012, thermo", lambda: single_salts(6, 20)),
    Family("pH after the dose of `GROW_ACID`, closed", "PHREEQC", lambda: acids(False, False)),
    Family("pH after its open dose, in balance with air", "PHREEQC", lambda: acids(True, False)),
    Family(
        "pH of a tank that holds feed, closed and open",
        "PHREEQC",
        lambda: merged(acids(False, True), acids(True, True)),
    ),
    Family("volume and depth of tapered tanks", "scipy.integrate, relative", tanks),
    Family("p of Welch's test", "statsmodels", welch),
    Family("p of Games–Howell's pairs", "scipy", games_howell),
    Family("p of Dunnett's comparisons, one spread", "scipy, which integrates by chance", dunnett),
    Family("p of `GROW_SHARE_P`", "scipy, Fisher's exact test", exact),
    Family("limits of `GROW_SHARE_LOW` and `GROW_SHARE_HIGH`", "statsmodels, newcomb", newcombe),
    Family("growth rates of plants with skipped dates, 1/day", "numpy.polyfit", rates),
    Family("F of split plots", "least squares of numpy, relative", split_plots),
    Family("power behind `GROW_CONTROL_SIZE`", "scipy's multivariate t, which integrates by chance", control_powers),
    Family("power behind `GROW_SPLIT_SIZE`", "statsmodels", split_plot_powers),
)


def merged(one: tuple[int, str], other: tuple[int, str]) -> tuple[int, str]:
    return one[0] + other[0], f"closed {one[1]}; open {other[1]}"


def table(rows: Sequence[str]) -> str:
    return "\n".join([HEADING, "| --- | --- | --- | --- |", *rows])


def main() -> None:
    rows = []
    for family in FAMILIES:
        rows.append(family.row())
        print(rows[-1], flush=True)
    before, _, rest = README.read_text("utf-8").partition(HEADING)
    _, _, after = rest.partition("\n\n")
    README.write_text(f"{before}{table(rows)}\n\n{after}", "utf-8")


if __name__ == "__main__":
    main()
