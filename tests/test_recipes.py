"""Published solutions, gaps, and the masses that come nearest to a target, against scipy's own answers."""

from __future__ import annotations

import functools
import math
import random
import re

import numpy
import pytest
from scipy.optimize import lsq_linear, nnls

import growcells
from chemistry import column, mass_shares, weight
from growcells.chemistry.charges import charge_without_nitrogen, charged_nitrogen
from growcells.chemistry.published_solutions import recipes, unchecked
from growcells.data import read_data
from growcells.families.recipes import ADVICE_ABSENT, verdict, why_missed

SALTS = ("KNO3", "Ca(NO3)2.4H2O", "KH2PO4", "MgSO4.7H2O", "NH4H2PO4", "K2SO4")
KEYS = ("N", "P", "K", "Ca", "Mg", "S")


def system(targets: dict[str, float], salts: tuple[str, ...]) -> tuple[numpy.ndarray, numpy.ndarray]:
    """Rows of the least-squares problem, written anew from periodictable's weights: misses as parts of the targets."""
    matrix = numpy.zeros((len(targets), len(salts)))
    for place, salt in enumerate(salts):
        shares = mass_shares(salt)
        matrix[:, place] = [shares.get(key, 0) / target for key, target in targets.items()]
    return matrix, numpy.ones(len(targets))


@pytest.mark.parametrize("seed", range(12))
def test_masses_are_scipys_own_answer(seed: int) -> None:
    numbers = random.Random(seed)
    targets = {key: numbers.uniform(20, 250) for key in KEYS}
    salts = tuple(numbers.sample(SALTS, numbers.randint(2, 5)))
    table = growcells.call("GROW_RECIPE", tuple(targets.items()), column(*salts), "1000 L")
    masses = [row[0] for row in table]
    assert all(mass >= 0 for mass in masses)
    matrix, wanted = system(targets, salts)
    expected, distance = nnls(matrix, wanted)
    ours = float(numpy.linalg.norm(matrix @ numpy.array(masses) - wanted))
    assert ours == pytest.approx(float(distance), rel=1e-3, abs=1e-6)
    assert masses == pytest.approx(list(expected), rel=2e-2, abs=1)
    bounded = lsq_linear(matrix, wanted, bounds=(0, numpy.inf), tol=1e-12)
    assert ours == pytest.approx(math.sqrt(2 * bounded.cost), rel=1e-3, abs=1e-5)


@pytest.mark.parametrize("seed", range(6))
def test_a_recipe_that_exists_is_found(seed: int) -> None:
    numbers = random.Random(100 + seed)
    masses = [numbers.uniform(5, 120) for _ in SALTS[:5]]
    table = growcells.call("GROW_PPM_TABLE", column(*masses), "100 L", column(*SALTS[:5]))
    targets = tuple((key, ppm) for key, ppm in table[1:] if key in (*KEYS, "NH4-N"))
    found = growcells.call("GROW_RECIPE", targets, column(*SALTS[:5]), "100 L")
    assert [row[0] for row in found] == pytest.approx(masses, rel=1e-6)


def test_hoagland_from_its_salts() -> None:
    found = growcells.call("GROW_RECIPE", "Hoagland & Arnon 1", column(*SALTS[:4]), "1 L")
    for (mass,), (salt, mmol) in zip(found, zip(SALTS, (5, 5, 1, 2), strict=False), strict=True):
        print(f"{salt}: {mass:.4f} g/L, {mmol} mmol are {mmol * weight(salt) / 1000:.4f} g")
        assert mass == pytest.approx(mmol * weight(salt) / 1000, rel=0.01)


def test_water_and_weights_count() -> None:
    targets = (("N", 150), ("Ca", 100))
    plain = growcells.call("GROW_RECIPE", targets, "Ca(NO3)2.4H2O", "100 L")[0][0]
    hard = growcells.call("GROW_RECIPE", targets, "Ca(NO3)2.4H2O", "100 L", (("Ca", 60), ("pH", 7.5)))[0][0]
    assert hard < plain
    for_nitrogen = growcells.call("GROW_RECIPE", targets, "Ca(NO3)2.4H2O", "100 L", None, (("N", 1000), ("Ca", 1)))[0][
        0
    ]
    assert growcells.call("GROW_PPM", for_nitrogen, "100 L", "Ca(NO3)2.4H2O", "N") == pytest.approx(150, rel=1e-4)


def test_blank_rows_stay_in_place() -> None:
    found = growcells.call("GROW_RECIPE", (("N", 150), ("Ca", 100)), (("KNO3",), (None,), ("Ca(NO3)2.4H2O",)), "100 L")
    assert found[1] == ("",)
    assert len(found) == 3


def test_fit_says_what_stands_in_the_way() -> None:
    targets = (("N", 150), ("P", 31), ("K", 210), ("Ca", 90), ("Mg", 24), ("Mo", 0.05))
    fit = growcells.call(
        "GROW_RECIPE_FIT", targets, column("7-9-26 Mg 4", "13.3-0-0 Ca 17"), "100 L", (("Mg", 40), ("Na", 5))
    )
    by_key = {row[0]: row for row in fit[1:]}
    assert by_key["Mo"][4] == "short by 100 %: no part holds Mo"
    assert by_key["Mg"][4].startswith("over by") and "the water alone holds 40 ppm" in by_key["Mg"][4]
    assert by_key["Na"][1:] == ("", 5.0, "", "no target")
    for key, target, reached, difference, _ in fit[1:]:
        if target != "":
            assert difference == pytest.approx(reached - target), key


def test_gaps_of_an_all_purpose_feed() -> None:
    table = growcells.call("GROW_PPM_TABLE", 0.83, 1, "17-7-21", None, "g", "L")
    gaps = {row[0]: row for row in growcells.call("GROW_GAPS", table, "Leafy greens")[1:]}
    assert gaps["N"][4] == "fine"
    assert gaps["K"][4] == "short"
    assert gaps["Ca"][4].startswith(
        "absent: no calcium: an all-purpose feed without Ca and Mg cannot carry leafy greens alone in soft water"
    )
    assert gaps["Mg"][4].startswith("absent: no magnesium")
    assert gaps["Ca"][1:4] == (0.0, 90.0, 0.0)
    strong = {row[0]: row for row in growcells.call("GROW_GAPS", (("N", 300),), "Leafy greens")[1:]}
    assert strong["N"][3:] == (200.0, "over")


def test_every_recipe_says_how_sure_it_is() -> None:
    listed = read_data("recipes.csv")
    assert len(listed) >= 6
    assert sum("leafy" in row["crop"] or "lettuce" in row["crop"] for row in listed) >= 2
    for row in listed:
        assert re.search(r"\b(from memory|sure)\b", row["certainty"]), row["recipe"]


@pytest.mark.parametrize("name", recipes())
def test_ions_of_recipes_balance(name: str) -> None:
    """Water is neutral: a published solution balances within its rounding; nitrogen not told apart is nitrate."""
    table = dict(recipes()[name])
    nitrate, ammonium = charged_nitrogen({"NO3-N": table["N"], **table})
    gap = charge_without_nitrogen(table) + ammonium - nitrate
    print(f"{name}: {gap:+.2f} meq/L beside {nitrate:.1f} of nitrate")
    assert abs(gap) < 0.05 * nitrate


def element(key: str) -> str:
    """The element that a key counts."""
    return key.rpartition("-")[2]


def test_hoaglands_trace_elements_are_those_of_its_salts() -> None:
    """Grams in 1000 L of H3BO3, MnCl2, ZnSO4, CuSO4 and H2MoO4·H2O (MoO3·2H2O), as reprints of Circ. 347 give them."""
    salts = {"H3BO3": 2.86, "MnCl2.4H2O": 1.81, "ZnSO4.7H2O": 0.22, "CuSO4.5H2O": 0.08, "MoO3.2H2O": 0.02}
    table = dict(growcells.call("GROW_PPM_TABLE", column(*salts.values()), "1000 L", column(*salts))[1:])
    for key in ("B", "Mn", "Zn", "Cu", "Mo"):
        assert recipes()["Hoagland & Arnon 1"][key] == pytest.approx(table[key], rel=0.04), key


def test_steiner_is_what_its_ratios_make() -> None:
    """K : Ca : Mg as 35 : 45 : 20 and NO3 : H2PO4 : SO4 as 60 : 5 : 35 of 20 meq/L: Steiner 1961, from memory."""
    mmol = {"K": 7, "Ca": 9 / 2, "Mg": 4 / 2, "N": 12, "NO3-N": 12, "NH4-N": 0, "P": 1, "S": 7 / 2}
    expected = {key: amount * weight(element(key)) for key, amount in mmol.items()}
    assert dict(recipes()["Steiner"]) == pytest.approx(expected, rel=1e-3)


def test_cooper_is_what_its_salts_make() -> None:
    """Grams in 1000 L, Cooper 1979, from memory; the iron chelate holds 15.2 percent."""
    salts = {
        **{"KH2PO4": 263, "KNO3": 583, "Ca(NO3)2.4H2O": 1003, "MgSO4.7H2O": 513, "0-0-0 Fe 15.2": 79},
        **{"MnSO4.H2O": 6.1, "H3BO3": 1.7, "CuSO4.5H2O": 0.39, "(NH4)6Mo7O24.4H2O": 0.37, "ZnSO4.7H2O": 0.44},
    }
    table = dict(growcells.call("GROW_PPM_TABLE", column(*salts.values()), "1000 L", column(*salts))[1:])
    for key, ppm in recipes()["Cooper"].items():
        assert ppm == pytest.approx(table.get(key, 0), rel=0.015, abs=0.03), key


def test_the_lettuce_solution_is_of_round_moles() -> None:
    """mmol/L, Sonneveld & Straver 1994, from memory."""
    mmol = {"N": 20.25, "NO3-N": 19, "NH4-N": 1.25, "P": 2, "K": 11, "Ca": 4.5, "Mg": 1, "S": 1.125}
    traces = {"Fe": 0.04, "Mn": 0.005, "Zn": 0.004, "Cu": 0.00075, "B": 0.03, "Mo": 0.0005}
    expected = {key: amount * weight(element(key)) for key, amount in (mmol | traces).items()}
    assert dict(recipes()["Lettuce Sonneveld"]) == pytest.approx(expected, rel=0.01)


def test_targets_in_the_basis_and_unit_asked_for() -> None:
    # 31 ppm of P are 31 ÷ 0.43642 ppm of P2O5: IUPAC weights.
    assert growcells.call("GROW_TARGET", "Hoagland & Arnon 1", "P2O5") == pytest.approx(
        growcells.call("GROW_TARGET", "Hoagland & Arnon 1", "P") / 0.43642, rel=1e-4
    )
    assert growcells.call("GROW_TARGET", "hoagland and arnon 1", "Ca", "g/L") == pytest.approx(0.2, rel=5e-3)


@pytest.mark.parametrize(
    ("ppm", "wanted", "said"),
    [
        (0, 0, "fine"),
        (0.5, 0, "over"),
        (0.5, 0.5, "fine"),
        (1.99, 100, "absent: no potassium"),
        (2, 100, "short"),
        (79.9, 100, "short"),
        (80, 100, "fine"),
        (125, 100, "fine"),
        (125.1, 100, "over"),
    ],
)
def test_verdicts_at_their_limits(ppm: float, wanted: float, said: str) -> None:
    assert verdict("K", ppm, wanted) == said


def test_an_absent_nutrient_is_named_and_explained_where_there_is_more_to_say() -> None:
    assert verdict("Zn", 0, 0.05) == "absent: no zinc"
    assert verdict("P", 0, 30) == "absent: no phosphorus"
    assert verdict("Na", 0, 5) == "absent: no sodium"
    assert verdict("Fe", 0, 2) == "absent: no iron: young leaves turn yellow within days; add a chelate"


def test_gaps_list_every_nutrient_of_the_targets_and_no_other() -> None:
    targets = (("Na", 10), ("N", 100), ("Mo", 0), ("Ca", 50))
    found = growcells.call("GROW_GAPS", (("N", 90), ("P", 30), ("Na", 20)), targets)
    assert found == (
        ("nutrient", "ppm", "target", "percent of target", "verdict"),
        ("N", 90, 100, 90, "fine"),
        ("Ca", 0, 50, 0, "absent: no calcium: " + ADVICE_ABSENT["Ca"]),
        ("Mo", 0, 0, "", "fine"),
        ("Na", 20, 10, 200, "over"),
    )


def test_targets_leave_out_ph_alkalinity_and_of_published_ones_the_forms_of_nitrogen() -> None:
    own = [
        row[0] for row in growcells.call("GROW_GAPS", (("N", 90),), (("N", 90), ("pH", 6), ("HCO3", 61), ("NO3-N", 80)))
    ]
    assert own == ["nutrient", "N", "NO3-N"]
    published = [row[0] for row in growcells.call("GROW_GAPS", (("N", 90),), "Hoagland & Arnon 2")]
    assert "NO3-N" not in published and "N" in published


def masses_of(*arguments: object) -> list[float]:
    """The masses of GROW_RECIPE."""
    return [row[0] for row in growcells.call("GROW_RECIPE", *arguments)]


def test_what_the_water_holds_need_not_be_weighed() -> None:
    # KCl holds K and Cl alone: 100 ppm of K less 40 in the water are 60 mg/L ÷ 0.52445.
    mass = masses_of((("K", 100),), "KCl", "100 L", (("K", 40),))[0]
    assert mass == pytest.approx(6 / (39.0983 / 74.548), rel=1e-4)
    assert masses_of((("K", 100),), "KCl", "100 L", (("K", 140),)) == [0]


def test_a_target_of_nothing_counts_by_the_ppm() -> None:
    """Calcium wanted, nitrogen not: of x mg/L of the salt the misses are (x a ÷ 100 − 1) and (x b ÷ 1)."""
    calcium, nitrogen = (growcells.call("GROW_PERCENT", "Ca(NO3)2.4H2O", key) / 100 for key in ("Ca", "N"))
    found = masses_of((("Ca", 100), ("N", 0)), "Ca(NO3)2.4H2O", "1000 L")[0]
    a, b = calcium / 100, nitrogen
    assert found == pytest.approx(a / (a * a + b * b), rel=1e-6)


def test_weights_are_of_the_miss_as_a_part_of_the_target() -> None:
    calcium, nitrogen = (growcells.call("GROW_PERCENT", "Ca(NO3)2.4H2O", key) / 100 for key in ("Ca", "N"))
    found = masses_of((("Ca", 100), ("N", 200)), "Ca(NO3)2.4H2O", "1000 L", None, (("N", 3),))[0]
    a, b = calcium / 100, 3 * nitrogen / 200
    assert found == pytest.approx((a + 3 * b) / (a * a + b * b), rel=1e-6)


def test_a_weight_is_of_the_nutrient_on_whatever_basis() -> None:
    """A weight of 5 on P2O5 is 5 on P; one on a form of nitrogen is not one on all of it."""
    targets = (("N", 100), ("P", 40), ("K", 150))
    salts = column("KH2PO4", "NH4NO3", "KNO3")
    assert masses_of(targets, salts, "100 L", None, (("P2O5", 5),)) == masses_of(
        targets, salts, "100 L", None, (("P", 5),)
    )
    forms = (("NO3-N", 60), ("N", 150), ("K", 300))
    weighed = masses_of(forms, column("NH4NO3", "KNO3"), "100 L", None, (("NO3-N", 9),))
    assert weighed == masses_of(forms, column("NH4NO3", "KNO3"), "100 L", None, (("NO3-N", 9), ("N", 1)))
    assert weighed != masses_of(forms, column("NH4NO3", "KNO3"), "100 L", None, (("NO3-N", 9), ("N", 9)))
    with pytest.raises(growcells.GrowError, match="lists P twice"):
        masses_of(targets, salts, "100 L", None, (("P", 5), ("P2O5", 5)))


def notes(*arguments: object) -> dict[str, str]:
    """The notes of GROW_RECIPE_FIT by nutrient."""
    return {row[0]: row[4] for row in growcells.call("GROW_RECIPE_FIT", *arguments)[1:]}


def test_notes_on_missed_targets() -> None:
    # KNO3 holds N 13.854 and K 38.672 percent; as N : K it is 0.3582.
    found = notes((("N", 100), ("K", 100)), "KNO3", "1 L")
    assert found["N"].startswith("short by ") and found["N"].endswith(
        '%: more of "KNO3" would bring too much of others'
    )
    assert found["K"].startswith("over by ") and found["K"].endswith('%: it comes with "KNO3", which others need')
    assert found["P"] == "" and found["NO3-N"] == "no target"
    two = notes((("N", 100), ("K", 100)), (("KNO3",), ("2KNO3.K2SO4",)), "1 L")["K"]
    assert 'it comes with "KNO3" and "2KNO3.K2SO4", which' in two
    assert notes((("K", 100), ("Cl", 0)), "KCl", "1 L")["Cl"] == 'over: it comes with "KCl", which others need'
    assert notes((("K", 100),), "KCl", "1 L", (("K", 140),))["K"] == "over by 40 %: the water alone holds 140 ppm"


@pytest.mark.parametrize(("reached", "said"), [(95, ""), (94.9, "short by 5.1 %"), (105, ""), (105.1, "over by 5.1 %")])
def test_a_miss_of_five_percent_is_near_enough(reached: float, said: str) -> None:
    assert why_missed("K", 100, reached, [], {}).startswith(said)
    assert bool(why_missed("K", 100, reached, [], {})) is bool(said)


def test_an_even_water_is_not_the_reason() -> None:
    assert "it comes with" in why_missed("K", 100, 120, [], {"K": 100})
    assert "the water alone holds 101 ppm" in why_missed("K", 100, 120, [], {"K": 101})


def test_targets_and_weights_out_of_all_proportion() -> None:
    cells = ((("N", 5e-324), ("K", 200)), "KNO3", "100 L", None, (("N", 1e8),))
    with pytest.raises(growcells.GrowError, match=r"^GROW_RECIPE goes beyond the largest number with these values"):
        growcells.call("GROW_RECIPE", *cells)


@pytest.mark.parametrize(
    ("weights", "code"),
    [
        (growcells.CellError("#DIV/0!"), "#DIV/0!"),
        (5, "#VALUE!"),
        ((("Xx", 1),), "#N/A"),
        ((("N", 1), ("N", 2)), "#VALUE!"),
        ((("", ""),), "#VALUE!"),
    ],
)
def test_weights_that_are_none(weights: object, code: str) -> None:
    call = ((("N", 100), ("P", 20)), (("KNO3",), ("KH2PO4",)), 10, None, weights)
    assert growcells.functions()["GROW_RECIPE"].evaluate(call).code == code


def test_why_says_which_figures_are_from_memory() -> None:
    why = functools.partial(growcells.call, "GROW_WHY")
    for recipe in recipes():
        said = why("GROW_TARGET", recipe, "N")
        assert (
            said == "OK" if recipe not in unchecked() else said.startswith(f"OK; the figures of {recipe} are from")
        ), said
    assert list(unchecked()) == ["Steiner", "Cooper", "Lettuce Sonneveld", "Lettuce half strength"]
    assert "Cooper are from memory" in why("GROW_GAPS", (("N", 90),), "Cooper NFT")
    assert why("GROW_GAPS", (("N", 90),), (("N", 100),)) == "OK"
