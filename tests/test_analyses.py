"""Analyses: every form of text and range, what they hold, and the sentences for those that do not parse."""

from __future__ import annotations

import re

import periodictable
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import growcells
from chemistry import mass_shares, weight
from growcells import CellError, GrowError
from growcells.chemistry.chemical_formulas import BadFormula
from growcells.chemistry.nutrient_bases import NITROGEN_FORMS, nutrients
from growcells.chemistry.products import UntoldNitrogen
from growcells.chemistry.substances import formula_percents, substances
from growcells.data import read_data
from growcells.terms.analyses import (
    ANALYSES,
    ANALYSIS,
    grade_text,
    looks_like_formula,
    nutrient_rows,
    parse_analysis,
    plain_figure,
    spelled_formula,
)
from growcells.terms.names import find_nutrient, folded, nearest


def percent(analysis: object, nutrient: str) -> float:
    value = growcells.call("GROW_PERCENT", analysis, nutrient)
    assert isinstance(value, float)
    return value


# Fractions from the IUPAC atomic weights that periodictable carries; 2e-4 covers the two packages' choice for sulfur.
@pytest.mark.parametrize(
    ("oxide", "element", "count"),
    [("P2O5", "P", 2), ("K2O", "K", 2), ("CaO", "Ca", 1), ("MgO", "Mg", 1), ("SO3", "S", 1), ("SiO2", "Si", 1)],
)
def test_label_oxides(oxide: str, element: str, count: int) -> None:
    share = count * weight(element) / weight(oxide)
    assert growcells.call("GROW_ELEMENTAL", 100, oxide) == pytest.approx(100 * share, rel=2e-4)
    assert growcells.call("GROW_OXIDE", 100 * share, element) == pytest.approx(100, rel=2e-4)


@pytest.mark.parametrize("row", read_data("nutrients.csv"), ids=lambda row: row["symbol"])
def test_every_basis_against_periodictable(row: dict[str, str]) -> None:
    """What share of a formula its element is; of alkalinity, as much CaCO3 as takes up the same acid."""
    if row["key"] == "alkalinity":
        charges = {"CaCO3": 2, "HCO3": 1, "CO3": 2}
        share = charges[row["formula"]] / weight(row["formula"]) * weight("CaCO3") / 2
    else:
        share = mass_shares(row["formula"])[row["key_formula"]]
    assert nutrients()[row["symbol"]].share == pytest.approx(share, rel=3e-4)


# The chelate without water, which holds most of the metal: formulas from memory, weights from periodictable.
@pytest.mark.parametrize(
    ("name", "formula"),
    [
        ("iron EDTA", "C10H12N2O8FeNa"),
        ("iron DTPA", "C14H19N3O10FeNa"),
        ("iron EDDHA", "C18H16N2O6FeNa"),
        ("manganese EDTA", "C10H12N2O8MnNa2"),
        ("zinc EDTA", "C10H12N2O8ZnNa2"),
        ("copper EDTA", "C10H12N2O8CuNa2"),
        ("calcium EDTA", "C10H12N2O8CaNa2"),
    ],
)
def test_chelates_hold_no_more_metal_than_they_can(name: str, formula: str) -> None:
    (metal, grade), *_ = [pair for pair in parse_analysis(name).percents.items() if pair[1]]
    most = 100 * mass_shares(formula)[metal]
    assert 0.4 * most < grade < most


WATERS = {"mono": 1, "di": 2, "tetra": 4, "penta": 5, "hexa": 6, "hepta": 7, "deca": 10}


def test_hydrates_are_called_by_their_water() -> None:
    named = 0
    for row in read_data("substances.csv"):
        for name in (row["name"], *row["aliases"].split("; ")):
            if found := re.search(r"(\d+(?=-)|[a-z]+)-?hydrate$", name):
                water = re.search(r"\.(\d*)H2O$", row["formula"])
                assert water and int(water[1] or 1) == int(WATERS.get(found[1], found[1])), name
                named += 1
            assert not (name.startswith("anhydrous") and "H2O" in row["formula"]), name
    assert named > 15


@pytest.mark.parametrize("name", [name for name, substance in substances().items() if substance.formula])
def test_every_substance_against_periodictable(name: str) -> None:
    for element, share in mass_shares(substances()[name].formula).items():
        if element in nutrients():
            assert percent(name, element) == pytest.approx(100 * share, rel=3e-4)


def test_table_of_substances() -> None:
    rows = read_data("substances.csv")
    assert len([row for row in rows if row["kind"] in ("salt", "chelate", "acid", "base")]) >= 25
    words = {"NO3-N": "nitrate", "NH4-N": "ammonium", "urea-N": "urea"}
    for row in rows:
        assert bool(row["formula"]) != bool(row["grade"]), row["name"]
        percents = parse_analysis(row["name"]).percents
        assert row["nitrogen"] == (" and ".join(word for key, word in words.items() if key in percents) or "none")


@pytest.mark.parametrize(
    ("table", "name", "more"),
    [
        ("substances.csv", "name", ("formula", "aliases")),
        ("nutrients.csv", "symbol", ("names",)),
        ("ions.csv", "ion", ("names",)),
        ("recipes.csv", "recipe", ("names",)),
        ("acids.csv", "acid", ("names",)),
    ],
)
def test_no_name_means_two_things(table: str, name: str, more: tuple[str, ...]) -> None:
    seen: dict[str, str] = {}
    for row in read_data(table):
        for known in {folded(part) for column in (name, *more) for part in row[column].split("; ") if part}:
            assert seen.setdefault(known, row[name]) == row[name], known


@pytest.mark.parametrize(
    ("analysis", "form", "share"),
    [
        ("KNO3", "NO3-N", 1),
        ("NH4NO3", "NO3-N", 1 / 2),
        ("NH4NO3", "NH4-N", 1 / 2),
        ("5Ca(NO3)2.NH4NO3.10H2O", "NO3-N", 11 / 12),
        ("(NH4)2SO4", "NH4-N", 1),
        ("CO(NH2)2", "urea-N", 1),
        ("urea", "urea-N", 1),
    ],
)
def test_forms_of_nitrogen(analysis: str, form: str, share: float) -> None:
    assert percent(analysis, form) == pytest.approx(share * percent(analysis, "N"))


@pytest.mark.parametrize(
    ("text", "nutrient", "expected"),
    [
        ("17-7-21", "P2O5", 7),
        ("7 - 9 - 26", "K2O", 26),
        ("17–7–21", "N", 17),
        ("7-9-26 Ca 0 Mg 3.5 Fe 0.2", "Fe", 0.2),
        ("7-9-26, Ca: 0; Mg = 3.5%", "Mg", 3.5),
        ("13.3-0-0 CaO 23.8", "CaO", 23.8),
        ("17-7-21 NO3-N 5.1 NH4-N 3.4 urea-N 8.5", "urea-N", 8.5),
        ("17-7-21 nitrate nitrogen 5.1 ammoniacal nitrogen 3.4 urea nitrogen 8.5", "NO3-N", 5.1),
        ("P2O5 52 K2O 34", "P2O5", 52),
        ("MgSO4·7H2O", "Mg", 9.861),
        ("MgSO4.7H₂O", "Mg", 9.861),
        ("epsom SALT", "Mg", 9.861),
        ("Ca(NO3)2.4H2O 98%", "Ca", 16.631),
        ("potassium nitrate 99 %", "N", 13.715),
        ("iron EDTA", "Fe", 13),
    ],
)
def test_texts(text: str, nutrient: str, expected: float) -> None:
    assert percent(text, nutrient) == pytest.approx(expected, rel=3e-4)


def test_range_of_nutrient_and_percent() -> None:
    rows = (("Nutrient", "Percent"), ("N", 13.3), (None, None), ("CaO", "23.8 %"))
    assert percent(rows, "CaO") == pytest.approx(23.8)
    assert percent(rows, "N") == 13.3
    assert growcells.call("GROW_PPM_TABLE", 1, 1, rows, None, "g", "L")[1] == ("N", pytest.approx(133))


def test_column_of_analyses_gives_each_in_turn() -> None:
    column = (("17-7-21",), ("no such feed",), (None,), ("KNO3",))
    first, second, third, fourth = (row[0] for row in growcells.call("GROW_PERCENT", column, "N"))
    assert (first, third) == (17.0, "")
    assert isinstance(second, CellError) and second.code == "#N/A" and second.message.startswith("row 2: ")
    assert fourth == pytest.approx(13.854, rel=1e-4)


def test_form_of_nitrogen_that_no_label_tells() -> None:
    with pytest.raises(GrowError, match="does not tell the form"):
        growcells.call("GROW_PERCENT", "17-7-21", "NO3-N")
    with pytest.raises(GrowError, match="does not tell the form"):
        growcells.call("GROW_PERCENT", "17-7-21 NH4-N 3.9", "urea-N")
    assert growcells.call("GROW_PERCENT", "17-7-21 NH4-N 3.9", "NH4-N") == 3.9


@pytest.mark.parametrize(
    ("name", "symbol"),
    [("nitrogen", "N"), ("p2o5", "P2O5"), ("Potash", "K2O"), ("sulphur", "S"), ("no3-n", "NO3-N"), ("N-NH4", "NH4-N")],
)
def test_names_of_nutrients(name: str, symbol: str) -> None:
    assert find_nutrient(name).symbol == symbol


figures = st.floats(0, 12).map(lambda number: round(number, 3))
LISTED = [symbol for symbol in nutrients() if symbol not in ("N", "P", "K", "NO3-N", "NH4-N", "urea-N")]
ELEMENTS = [symbol for symbol in LISTED if nutrients()[symbol].key == symbol and symbol != "alkalinity"]


@given(figures, figures, figures, st.dictionaries(st.sampled_from(ELEMENTS), st.floats(0, 3), max_size=6))
def test_grade_text_parses_to_the_same(n: float, p: float, k: float, more: dict[str, float]) -> None:
    text = " ".join([f"{n}-{p}-{k}", *(f"{symbol} {figure:.4f}" for symbol, figure in more.items())])
    percents = parse_analysis(text).percents
    again = parse_analysis(grade_text(percents)).percents
    assert again.keys() >= percents.keys()
    for key, value in percents.items():
        assert again[key] == pytest.approx(value, rel=2e-6, abs=1e-9)


@settings(max_examples=400)
@given(st.one_of(st.text(max_size=40), st.from_regex(r"[0-9A-Za-z().%· -]{1,30}", fullmatch=True)))
def test_any_text_gives_percents_or_a_sentence(text: str) -> None:
    cell = growcells.functions()["GROW_PERCENT"].evaluate((text, "N"))
    if isinstance(cell, CellError):
        assert "fault in growcells" not in cell.message
    else:
        assert isinstance(cell, float) and 0 <= cell <= 100.5


@pytest.mark.parametrize(
    ("text", "percents"),
    [
        ("19-11-3", {"N": 19, "P": 11 * 0.436421, "K": 3 * 0.830148}),
        (" 19 - 11 - 3 ", {"N": 19, "P": 11 * 0.436421, "K": 3 * 0.830148}),
        ("0.5-.5-5.", {"N": 0.5, "P": 0.5 * 0.436421, "K": 5 * 0.830148}),
        ("0-0-0 Fe 13", {"N": 0, "P": 0, "K": 0, "Fe": 13}),
        ("0-0-0 Fe 1.3e1 %, Mn=2 ; Zn:0.5", {"N": 0, "P": 0, "K": 0, "Fe": 13, "Mn": 2, "Zn": 0.5}),
        ("Ca 17 N 13.3", {"Ca": 17, "N": 13.3}),
        ("calcium 19", {"Ca": 19}),
        ("NO3-N 10 NH4-N 2 Ca 5", {"NO3-N": 10, "NH4-N": 2, "Ca": 5, "N": 12}),
        ("12.4-0-0 NO3-N 11.7 NH4-N 1.2", {"N": 12.4, "P": 0, "K": 0, "NO3-N": 11.7, "NH4-N": 1.2}),
        ("100-0-0", {"N": 100, "P": 0, "K": 0}),
        ("50.5-50-0", {"N": 50.5, "P": 50 * 0.436421, "K": 0}),
    ],
)
def test_what_texts_hold(text: str, percents: dict[str, float]) -> None:
    found = parse_analysis(text)
    assert dict(found.percents) == pytest.approx(percents, rel=1e-5)
    assert (found.text, found.substance, found.formula, found.purity) == (text, "", "", 100)


@pytest.mark.parametrize(
    ("text", "substance", "formula", "purity"),
    [
        ("Epsom salt", "magnesium sulfate heptahydrate", "MgSO4.7H2O", 100),
        ("epsom salts 98 %", "magnesium sulfate heptahydrate", "MgSO4.7H2O", 98),
        ("KNO3 99.5%", "potassium nitrate", "KNO3", 99.5),
        ("KNO3 100 %", "potassium nitrate", "KNO3", 100),
        ("KNO3 0.5 %", "potassium nitrate", "KNO3", 0.5),
        ("iron EDTA", "iron EDTA", "", 100),
        ("LiNO3", "", "LiNO3", 100),
        ("LiNO3·3H2O 50%", "", "LiNO3.3H2O", 50),
    ],
)
def test_what_substances_are(text: str, substance: str, formula: str, purity: float) -> None:
    found = parse_analysis(text)
    names = {known.lower() for known in (found.substance, *aliases(found.substance))}
    assert substance.lower() in names
    assert (found.text, found.formula, found.purity) == (text, formula, purity)


def aliases(name: str) -> list[str]:
    """Other names of a substance."""
    return [part for row in read_data("substances.csv") if row["name"] == name for part in row["aliases"].split("; ")]


def test_purity_thins_every_nutrient() -> None:
    pure, half = parse_analysis("KNO3"), parse_analysis("KNO3 50%")
    assert {key: 2 * value for key, value in half.percents.items()} == pytest.approx(dict(pure.percents))


@pytest.mark.parametrize(
    ("text", "untold"),
    [
        ("17-7-21", True),
        ("0-19-23", False),
        ("17-7-21 NO3-N 17", False),
        ("17-7-21 NO3-N 16.5", False),
        ("17-7-21 NO3-N 16.4", True),
        ("0.4-0-0", True),
        ("KNO3", False),
        ("17-7-21 NO3-N 5.1 NH4-N 3.4 urea-N 8.5", False),
    ],
)
def test_whether_the_nitrogen_is_told(text: str, untold: bool) -> None:
    found = parse_analysis(text)
    assert found.nitrogen_untold is untold
    if untold:
        with pytest.raises(UntoldNitrogen, match="does not tell the form of all its nitrogen"):
            found.percent(find_nutrient("NH4-N"))
    elif "NH4-N" not in found.percents:
        assert found.percent(find_nutrient("NH4-N")) == 0


def test_a_listed_form_is_known_even_where_others_are_not() -> None:
    assert percent("17-7-21 NO3-N 5", "NO3-N") == 5
    assert growcells.functions()["GROW_PERCENT"].evaluate(("17-7-21 NO3-N 5", "urea-N")).code == "#VALUE!"


@pytest.mark.parametrize("text", ["17-7-21 NO3-N 12 NH4-N 5.5", "50-50-0.5", "N 46.5 urea-N 47"])
def test_rounded_labels_are_taken(text: str) -> None:
    assert percent(text, "N") >= 17


@pytest.mark.parametrize("text", ["17-7-21 NO3-N 12 NH4-N 5.6", "50-50-0.6", "N 46 urea-N 46.6", "5-0-0 Fe 95.6"])
def test_labels_beyond_their_rounding_are_not(text: str) -> None:
    assert growcells.functions()["GROW_PERCENT"].evaluate((text, "N")).code == "#NUM!"


def test_figures_of_a_range() -> None:
    rows = (("Ca", "19 %"), ("Mg", "2ppm"), ("S", " 3 mg/L "), ("K", 1), ("Fe", ""), (None, None))
    pairs = nutrient_rows(rows, growcells.functions()["GROW_PERCENT"].arguments[0], "percent")
    assert pairs == [("Ca", 19), ("Mg", 2), ("S", 3), ("K", 1)]


@pytest.mark.parametrize("figure", ["1e999", True, 1e9, -1e9, "x", "5 g"])
def test_no_figure_of_a_range(figure: object) -> None:
    argument = growcells.functions()["GROW_PERCENT"].arguments[0]
    with pytest.raises(growcells.GrowError, match=r"^row 2 of analysis is \"Mg\", "):
        nutrient_rows((("Ca", 1), ("Mg", figure)), argument, "percent")
    if figure != "x":
        with pytest.raises(growcells.GrowError, match=r"^row 1 of analysis is \"Mg\", "):
            nutrient_rows((("Mg", figure), ("Ca", 1)), argument, "percent")


def test_a_word_in_the_first_row_is_a_heading() -> None:
    argument = growcells.functions()["GROW_PERCENT"].arguments[0]
    assert nutrient_rows((("Mg", "x"), ("Ca", 1)), argument, "percent") == [("Ca", 1)]


def test_figures_just_within_what_can_be() -> None:
    argument = growcells.functions()["GROW_PERCENT"].arguments[0]
    assert nutrient_rows((("Ca", 9.9e8), ("Mg", -9.9e8)), argument, "ppm") == [("Ca", 9.9e8), ("Mg", -9.9e8)]


@pytest.mark.parametrize(
    ("cells", "one"),
    [
        ((("N", 13.3), ("Ca", 17)), True),
        ((("N", None), ("Ca", 17.0)), True),
        ((("N", "13.3"), ("Ca", "17")), False),
        ((("N", True), ("Ca", False)), False),
        ((("N", 13.3, 1), ("Ca", 17, 1)), False),
        (("KNO3", "KCl"), False),
    ],
)
def test_which_range_is_one_analysis(cells: tuple[object, ...], one: bool) -> None:
    assert ANALYSIS.takes_range(cells) is one


def test_a_range_reads_as_its_label() -> None:
    label = ANALYSIS.read((("N", 13.3), ("CaO", 23.8)), growcells.functions()["GROW_PERCENT"].arguments[0]).text
    assert label.startswith("13.3-0-0 Ca 17.0")
    assert (
        ANALYSES.read((("N", 13.3), ("Ca", 17.0)), growcells.functions()["GROW_PERCENT"].arguments[0])[0].percents["Ca"]
        == 17
    )
    assert [
        part.text for part in ANALYSES.read((("KNO3",), ("KCl",)), growcells.functions()["GROW_BLEND"].arguments[1])
    ] == [
        "KNO3",
        "KCl",
    ]


@pytest.mark.parametrize(
    ("number", "text"),
    [(1 / 3, "0.333333"), (15.0, "15"), (1e-7, "0.0000001"), (123456789, "123457000"), (0, "0"), (2.5, "2.5")],
)
def test_figures_of_a_label(number: float, text: str) -> None:
    assert plain_figure(number) == text


def test_labels_list_the_grade_and_then_the_rest_in_order() -> None:
    text = grade_text({"Fe": 0.2, "K": 27 * nutrients()["K2O"].share, "N": 11, "Ca": 4})
    assert text == "11-0-27 Ca 4 Fe 0.2"


def test_names_are_found_however_they_are_spelled() -> None:
    assert folded("NO₃-N (as N)") == "no3nasn"
    assert [find_nutrient(name).symbol for name in ("p2o5", "P₂O₅", "Potash", "nitrate as N", "SULPHUR")] == [
        "P2O5",
        "P2O5",
        "K2O",
        "NO3-N",
        "S",
    ]
    assert nearest("sulfer", ["sulfur", "silver", "zinc"]) == "sulfur, silver"
    assert nearest("zzz", ["sulfur"]) == ""
    assert nearest("abcd", ["abcd1", "abcd2", "abcd3", "abcd4"]).count(",") == 2


# Formulas.


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("KNO3", True),
        ("5Ca(NO3)2.NH4NO3.10H2O", True),
        ("(NH4)2SO4", True),
        ("[NH4]2SO4", True),
        ("K NO3", False),
        ("potassium", False),
        ("Potassium", False),
        ("3.5", False),
        ("Fe", True),
    ],
)
def test_what_looks_like_a_formula(text: str, meant: bool) -> None:
    assert looks_like_formula(text) is meant


@pytest.mark.parametrize("sign", "·•∙⋅*×.")
def test_signs_before_water_of_crystallization(sign: str) -> None:
    assert spelled_formula(f"MgSO4{sign}7H2O") == "MgSO4.7H2O"


@pytest.mark.parametrize(
    ("formula", "forms"),
    [
        ("NH4NO3", {"NO3-N": 0.5, "NH4-N": 0.5}),
        ("5Ca(NO3)2.NH4NO3.10H2O", {"NO3-N": 11 / 12, "NH4-N": 1 / 12}),
        ("CH4N2O", {"urea-N": 1}),
        ("CO(NH2)2.NH4NO3", {"urea-N": 0.5, "NO3-N": 0.25, "NH4-N": 0.25}),
        ("K3Fe(CN)6", {}),
        ("NaNO2", {}),
    ],
)
def test_forms_of_nitrogen_in_a_formula(formula: str, forms: dict[str, float]) -> None:
    found = formula_percents(formula)
    assert found["N"] == pytest.approx(100 * mass_shares(formula)["N"], rel=3e-4)
    assert {key: found[key] / found["N"] for key in NITROGEN_FORMS if key in found} == pytest.approx(forms)


@pytest.mark.parametrize(
    ("formula", "says"),
    [
        ("KNO3x", 'at character 5, "x" (no element or sign of a formula)'),
        ("KNo3Q", 'at character 5, "Q" (no element'),
        ("Xx", 'at character 1, "Xx" (no element'),
        ("K" * 61, "a formula longer than 60 signs"),
        ("(NH4", 'at character 1, "(NH4" ('),
        ("2HCl", 'at character 1, "2HCl" (a number before a symbol is read as an isotope)'),
        ("Ca(15N)2", 'at character 4, "15N)2" (a number before a symbol'),
        ("MgSO4.[2H]2O", 'at character 8, "2H]2O" (a number before a symbol'),
    ],
)
def test_formulas_that_do_not_parse(formula: str, says: str) -> None:
    with pytest.raises(BadFormula) as problem:
        formula_percents(formula)
    assert says in str(problem.value)


def test_the_longest_formula() -> None:
    assert formula_percents("K" * 60) == {"K": 100}


def test_chlorine_and_oxides_of_a_label_may_add_up_to_more_than_it_weighs() -> None:
    """Potassium chloride is 63 percent K2O and 48 percent Cl: the oxygen of K2O is not in it."""
    assert percent("0-0-63 Cl 47.5", "Cl") == 47.5


def test_a_table_with_a_heading_is_one_analysis_of_a_mix() -> None:
    rows = (("N", 19), ("K2O", 11))
    mixed = growcells.call("GROW_BLEND", 100, rows)
    assert mixed == "19-0-11"
    assert growcells.call("GROW_BLEND", 100, (("nutrient", "percent"), *rows)) == mixed


def test_a_wrong_row_of_such_a_table_is_named() -> None:
    with pytest.raises(GrowError, match=r'^analyses: "Zz" is no nutrient known here'):
        growcells.call("GROW_BLEND", 100, (("Zz", 3), ("N", 20)))
    with pytest.raises(GrowError, match=r'^analyses: "Nitrogn" is no nutrient known here: did you mean nitrogen'):
        growcells.call("GROW_BLEND", 100, (("Nitrogn", "20 %"), ("K2O", 10)))


def test_only_the_grade_adds_up_as_given() -> None:
    # 46 + 30 + 23 are 99 as given; the two others are a part of what is left.
    assert growcells.call("GROW_PERCENT", "46-30-23 Mg 0.5 Fe 0.1", "Fe") == 0.1


def test_a_symbol_that_is_also_a_group_is_the_element() -> None:
    # Ac is actinium, whatever else chemists shorten so: periodictable.
    expected = periodictable.Na.mass / periodictable.formula("NaAc").mass
    assert growcells.call("GROW_PERCENT", "NaAc", "Na") == pytest.approx(100 * expected, rel=1e-3)


def test_a_mistyped_figure_in_the_first_row_is_an_error_not_a_heading() -> None:
    with pytest.raises(GrowError, match=r'^row 1 of ppm_table is "N", "15o": give a nutrient and its ppm'):
        growcells.call("GROW_BALANCE", (("N", "15o"), ("K", 6)))
