"""Seeds: how many to sow, and what a germination test shows. Each seed sprouts or not, independent of the others."""

from __future__ import annotations

import math

from ..cells.arguments import Argument, Example, Result
from ..cells.errors import OutOfRange
from ..cells.kinds import COUNT, FRACTION, NUMBER
from ..cells.registry import Family, cell_function

BINOMIAL = "binomial distribution, seeds independent of each other"

ROUNDING = 1e-12
"""Relative room for the rounding of decimal fractions: two seeds at 70 % fill 91 % of the sites, not just below."""

MOST_SEEDS = 1e9
"""More than any grower sows; beyond it counts are no longer exact."""

GERMINATION = Argument("germination", FRACTION, "the share of seeds that sprout, such as 0.85 or 85 %")

CONFIDENCE = Argument("confidence", FRACTION, "how sure to be, such as 0.95 or 95 %")

SPROUTED = Argument("sprouted", COUNT, "how many seeds sprouted", zero=True, high=MOST_SEEDS)

SOWN = Argument("sown", COUNT, "how many seeds were sown", high=MOST_SEEDS)

LIMIT_CONFIDENCE = Argument(
    "confidence", FRACTION, "the confidence of the two limits together; 0.95 if left out", False, 0.95, high=0.9999
)

THIN_TO_ONE = (
    "Sow two seeds a site and thin to the stronger one: at 85 % germination that fills 97.75 % of the sites instead of "
    "85 %. Cut the weaker seedling off rather than pulling it, which tears the roots of the other."
)


@cell_function(
    "GROW_SITES_FILLED",
    family=Family.TRIAL,
    help="The chance that a site has at least one plant.",
    arguments=(GERMINATION, Argument("seeds", COUNT, "how many seeds are sown in each site", high=MOST_SEEDS)),
    result=Result(FRACTION, "the chance, which is also the share of sites filled"),
    examples=(
        Example((0.85, 1), 0.85, "one seed"),
        Example(("85 %", 2), 0.9775, "1 − 0.15²"),
    ),
    formula="1 − (1 − germination) ^ seeds",
    source=BINOMIAL,
    advice=THIN_TO_ONE,
)
def sites_filled(germination: float, seeds: float) -> float:
    """Chance [1] that at least one of so many seeds [1] sprouts, each with the chance of germination [1].

    >>> round(sites_filled(0.85, 2.0), 4)
    0.9775
    """
    return 1.0 if germination == 1 else -math.expm1(seeds * math.log1p(-germination))


@cell_function(
    "GROW_SEEDS_PER_SITE",
    family=Family.TRIAL,
    help="The fewest seeds a site that fill it with a given confidence.",
    arguments=(GERMINATION, CONFIDENCE),
    result=Result(NUMBER, "seeds in each site"),
    examples=(
        Example((0.85, 0.95), 2.0, "1 − 0.15² = 0.9775, and one seed gives 0.85"),
        Example((0.9, 0.99), 2.0, "1 − 0.1² = 0.99 exactly"),
        Example(("60 %", "95 %"), 4.0, "1 − 0.4³ = 0.936, 1 − 0.4⁴ = 0.9744"),
    ),
    formula="the least n with (1 − germination) ^ n ≤ 1 − confidence",
    source=BINOMIAL,
    advice=THIN_TO_ONE,
)
def seeds_per_site(germination: float, confidence: float) -> float:
    """Least number of seeds [1] of which at least one sprouts with the confidence [1].

    Raises OutOfRange where no number of seeds is enough.

    >>> seeds_per_site(0.85, 0.95)
    2.0
    """
    if germination == 1:
        return 1.0
    _check_confidence(confidence)
    wanted = math.log1p(-confidence) + ROUNDING
    each = math.log1p(-germination)
    if wanted / each > MOST_SEEDS:
        raise OutOfRange("it takes more than a billion seeds a site: check the germination, and count it with a test")
    seeds = max(1, math.floor(wanted / each))
    return float(seeds if seeds * each <= wanted else seeds + 1)


def _check_confidence(confidence: float) -> None:
    if confidence == 1:
        raise OutOfRange("confidence is 1: no number of seeds makes it certain; give a fraction such as 0.95")


@cell_function(
    "GROW_SEEDS_TO_SOW",
    family=Family.TRIAL,
    help="The fewest seeds that give a number of plants with a given confidence.",
    arguments=(
        Argument("plants", COUNT, "how many plants are wanted", high=1e6),
        Argument("germination", FRACTION, GERMINATION.help, low=1e-3),
        CONFIDENCE,
    ),
    result=Result(NUMBER, "seeds in all"),
    examples=(
        Example((1, 0.85, 0.95), 2.0, "the same as seeds for one site"),
        Example((36, 0.85, 0.95), 47.0, "scipy.stats.binom: P(36 or more of 47) = 0.959, of 46 0.926"),
        Example((10, 1, 0.95), 10.0, "every seed sprouts"),
    ),
    formula="the least n for which a binomial count of n seeds reaches the plants with the confidence",
    source=BINOMIAL,
    needs=("scipy",),
    advice="Sow two seeds a site and thin to one where sites, not seeds, are scarce. An old lot sprouts worse than its "
    "label says: test it, and use GROW_GERM_LOW of the test as germination.",
)
def seeds_to_sow(plants: float, germination: float, confidence: float) -> float:
    """Least number of seeds [1] of which at least so many sprout with the confidence [1].

    The failures before the last plant wanted follow the negative binomial distribution.
    Raises OutOfRange where the confidence is 1 and germination is not.

    >>> seeds_to_sow(36.0, 0.85, 0.95)
    47.0
    """
    from scipy import stats

    if germination == 1:
        return plants
    _check_confidence(confidence)
    failures = float(stats.nbinom.ppf(confidence * (1 - ROUNDING), plants, germination))
    return plants + failures


def _check_counts(sprouted: float, sown: float) -> None:
    if sprouted > sown:
        raise OutOfRange(f"sprouted is {sprouted:g} and sown {sown:g}: no more seeds can sprout than were sown")


LIMITS_SOURCE = "Clopper & Pearson, Biometrika 26 (1934) 404–413, by quantiles of the beta distribution"


@cell_function(
    "GROW_GERM_LOW",
    family=Family.TRIAL,
    help="The lowest germination that fits a test: its exact lower limit.",
    arguments=(SPROUTED, SOWN, LIMIT_CONFIDENCE),
    result=Result(FRACTION, "the lower limit as a fraction"),
    examples=(
        Example((17, 20), 0.6210731734546859, "scipy.stats.beta.ppf(0.025, 17, 4)"),
        Example((20, 20), 0.025**0.05, "all sprouted: (α ÷ 2) ^ (1 ÷ n)"),
        Example((0, 20), 0.0, "none sprouted"),
    ),
    formula="the germination at which so many sprouted or more has a chance of (1 − confidence) ÷ 2",
    source=LIMITS_SOURCE,
    needs=("scipy",),
    advice="A test of 20 seeds says little: 17 of 20 leaves anything from 62 to 97 %. The same limits serve for the "
    "share of plants lost.",
)
def germination_low(sprouted: float, sown: float, confidence: float) -> float:
    """Lower Clopper–Pearson limit [1] of the share that sprouts. Raises OutOfRange where more sprouted than were sown.

    >>> round(germination_low(17.0, 20.0, 0.95), 4)
    0.6211
    """
    from scipy import stats

    _check_counts(sprouted, sown)
    return 0.0 if sprouted == 0 else float(stats.beta.ppf((1 - confidence) / 2, sprouted, sown - sprouted + 1))


@cell_function(
    "GROW_GERM_HIGH",
    family=Family.TRIAL,
    help="The highest germination that fits a test: its exact upper limit.",
    arguments=(SPROUTED, SOWN, LIMIT_CONFIDENCE),
    result=Result(FRACTION, "the upper limit as a fraction"),
    examples=(
        Example((17, 20), 0.9679290628145363, "scipy.stats.beta.ppf(0.975, 18, 3)"),
        Example((0, 20), 1 - 0.025**0.05, "none sprouted: 1 − (α ÷ 2) ^ (1 ÷ n)"),
        Example((20, 20), 1.0, "all sprouted"),
    ),
    formula="the germination at which so many sprouted or fewer has a chance of (1 − confidence) ÷ 2",
    source=LIMITS_SOURCE,
    needs=("scipy",),
    advice="The same limits serve for the share of plants lost.",
)
def germination_high(sprouted: float, sown: float, confidence: float) -> float:
    """Upper Clopper–Pearson limit [1] of the share that sprouts. Raises OutOfRange where more sprouted than were sown.

    >>> round(germination_high(17.0, 20.0, 0.95), 4)
    0.9679
    """
    from scipy import stats

    _check_counts(sprouted, sown)
    return 1.0 if sprouted == sown else float(stats.beta.ppf((1 + confidence) / 2, sprouted + 1, sown - sprouted))
