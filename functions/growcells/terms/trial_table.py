"""The table of a trial: a row for each treatment and sentences below, and the arguments that tests of trials share."""

from __future__ import annotations

import math
import statistics

from ..cells.arguments import Argument
from ..cells.kinds import FRACTION, NUMBER
from ..statistics.comparison import Comparison, Untestable, letters
from ..statistics.trials import Trial
from .plant_values import LARGEST, is_control
from .trial_sentences import USUAL_POWER, sentences

COLUMNS = (
    "treatment",
    "n",
    "lost",
    "mean",
    "sd",
    "low",
    "high",
    "difference",
    "difference low",
    "difference high",
    "p",
    "letters",
)


SHARES = "all values are 0 or 1, which are shares of plants: count them and give the counts to GROW_SHARE_P"


REST = ("",) * (len(COLUMNS) - 1)
"""The blank cells beside a sentence."""


CONFIDENCE = Argument(
    "confidence", FRACTION, "the confidence of limits and letters; 0.95 if left out", False, 0.95, low=0.5, high=0.999
)


POWER = Argument(
    "power", FRACTION, "the chance to see the difference; 0.8 if left out", False, USUAL_POWER, low=0.5, high=0.999
)


SPREAD = Argument("sd", NUMBER, "the standard deviation between plants (or beds) treated alike", high=LARGEST)


ALPHA = Argument("alpha", FRACTION, "the chance of a false alarm; 0.05 if left out", False, 0.05, low=0.001, high=0.5)


TESTS = (
    "Welch's analysis of variance with Games–Howell, each treatment with a spread of its own; with two units in every "
    "treatment one-way analysis of variance with Tukey–Kramer; differences from a first treatment that is called the "
    "control by Dunnett; with beds on bed means, with beds as blocks where they hold several treatments"
)


SOURCES = (
    "Welch, Biometrika 38 (1951) 330; Games & Howell, J. Educ. Stat. 1 (1976) 113; Kramer, Biometrics 12 (1956) 307; "
    "Dunnett, JASA 50 (1955) 1096; Hasler & Hothorn, Int. J. Biostat. 4 (2008) 11; no test of spreads beforehand: "
    "Zimmerman, Br. J. Math. Stat. Psychol. 57 (2004) 173; letters: Piepho, J. Comput. Graph. Stat. 13 (2004) 456"
)


def table_of(trial: Trial, confidence: float) -> list[tuple[object, ...]]:
    """Rows of a table of a trial and its sentences; confidence [1]. Raises NoAnswer where letters run out."""
    comparison: Comparison | str
    try:
        comparison = SHARES if trial.is_of_shares else trial.comparison
    except Untestable as reason:
        comparison = str(reason)
    marks = {} if isinstance(comparison, str) else letters_of(trial, comparison, confidence)
    rows: list[tuple[object, ...]] = [COLUMNS]
    for name in trial.treatments:
        rows.append(
            (
                name,
                *described(trial, name, confidence),
                *against_first(trial, comparison, name, confidence),
                marks.get(name, ""),
            )
        )
    rows += [(sentence, *REST) for sentence in sentences(trial, comparison, confidence)]
    return rows


def letters_of(trial: Trial, comparison: Comparison, confidence: float) -> dict[str, str]:
    """The letters of each treatment with living plants."""
    found = letters([float(mean) for mean in comparison.differences[0]], comparison.differ(confidence))
    return dict(zip(trial.present, found, strict=True))


def described(trial: Trial, name: str, confidence: float) -> tuple[object, ...]:
    """Units, lost plants, mean, standard deviation and the limits of the mean of a treatment."""
    from scipy.special import stdtrit

    values = trial.values(name)
    size = len(values)
    lost = float(trial.lost[name])
    if not values:
        return (0.0, lost, "", "", "", "")
    mean = statistics.fmean(values)
    if size == 1:
        return (1.0, lost, mean, "", "", "")
    spread = statistics.stdev(values)
    half = float(stdtrit(size - 1, (1 + confidence) / 2)) * spread / math.sqrt(size)
    return (float(size), lost, mean, spread, mean - half, mean + half)


def against_first(trial: Trial, comparison: Comparison | str, name: str, confidence: float) -> tuple[object, ...]:
    """Difference from the first treatment with living plants, its limits and p; blanks where there are none."""
    if name not in trial.present[1:]:
        return ("", "", "", "")
    if isinstance(comparison, str):
        difference = statistics.fmean(trial.values(name)) - statistics.fmean(trial.values(trial.present[0]))
        return (difference, "", "", "")
    place = trial.present.index(name)
    first = trial.present[0]
    pair = comparison.against_control(place, confidence) if is_control(first) else comparison.pair(0, place, confidence)
    return (pair.difference, pair.low, pair.high, pair.p)
