"""How names of nutrients, ions, recipes and products are read by formulas, and the tables that they are looked up in.

A product is read as a list, a text such as ``;N:17;P2O5:7;K2O:21;``, each figure as it was typed; ``%`` is the purity
of a substance. A recipe is such a list by the keys of nutrients.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping

from growcells.chemistry.charges import UNCHARGED, ions
from growcells.chemistry.nutrient_bases import ALKALINITY, NITROGEN_FORMS, TOTAL_NITROGEN, nutrients
from growcells.chemistry.published_solutions import recipes
from growcells.chemistry.substances import formula_percents, substances
from growcells.terms.analyses import GRADE, parse_analysis
from growcells.terms.names import AMBIGUOUS, folded, folded_substances, names_in

Rows = tuple[tuple[object, ...], ...]

COLUMNS: Mapping[str, tuple[str, ...]] = {
    "NUTRIENTS": ("name", "symbol", "key", "share", "key_mass"),
    "IONS": ("name", "milliequivalent"),
}
"""The columns of the tables whose rows stand for objects of Python, by the attribute that each holds."""

SIGNS = " -_.,;:()[]{}/\\'+*·•∙⋅–−‐‑!?#@&~%"
"""What is passed over in names."""

AS_GIVEN = "+".join(f'GROWCELLS.PART(list,"{symbol}",1)' for symbol in GRADE)
"""The sum of the figures of a grade as a label has them."""

NAMES: Mapping[str, str] = {
    "GROWCELLS.FOLDED": f"""LAMBDA(text,LET(plain,REDUCE(LOWER(text),SEQUENCE({len(SIGNS)}),LAMBDA(rest,place,
        SUBSTITUTE(rest,MID("{SIGNS}",place,1),""))),
        REDUCE(plain,SEQUENCE(10),LAMBDA(rest,place,SUBSTITUTE(rest,MID("₀₁₂₃₄₅₆₇₈₉",place,1),place-1)))))""",
    "GROWCELLS.NAMED": """LAMBDA(table,cell,IF(ISTEXT(cell),IF(LEN(cell)>255,#VALUE!,LET(
        typed,XMATCH(cell,INDEX(table,0,1)),
        found,IF(ISERROR(typed),XMATCH(GROWCELLS.FOLDED(cell),INDEX(table,0,1)),typed),
        IF(ISERROR(found),#N/A,IF(INDEX(table,found,2)="",#VALUE!,found)))),IF(ISERROR(cell),cell,#VALUE!)))""",
    "GROWCELLS.NUTRIENT": "LAMBDA(cell,GROWCELLS.NAMED(GROWCELLS.NUTRIENTS,cell))",
    "GROWCELLS.ION": "LAMBDA(cell,GROWCELLS.NAMED(GROWCELLS.IONS,cell))",
    "GROWCELLS.RECIPE": """LAMBDA(cell,LET(found,GROWCELLS.NAMED(GROWCELLS.RECIPES,cell),
        IF(ISERROR(found),found,INDEX(GROWCELLS.RECIPES,found,2))))""",
    "GROWCELLS.IS_LISTED": 'LAMBDA(list,symbol,ISNUMBER(FIND(";"&symbol&":",list)))',
    "GROWCELLS.LISTED": """LAMBDA(list,symbol,LET(start,FIND(";"&symbol&":",list)+LEN(symbol)+2,
        NUMBERVALUE(MID(list,start,FIND(";",list,start)-start),".",",")))""",
    "GROWCELLS.IS_HELD": """LAMBDA(list,key,LET(place,XMATCH(key,INDEX(GROWCELLS.KEYS,0,1)),OR(
        GROWCELLS.IS_LISTED(list,INDEX(GROWCELLS.KEYS,place,2)),GROWCELLS.IS_LISTED(list,INDEX(GROWCELLS.KEYS,place,4)),
        GROWCELLS.IS_LISTED(list,INDEX(GROWCELLS.KEYS,place,6)))))""",
    "GROWCELLS.PART": """LAMBDA(list,symbol,share,
        IF(GROWCELLS.IS_LISTED(list,symbol),GROWCELLS.LISTED(list,symbol)*share,0))""",
    "GROWCELLS.HELD": """LAMBDA(list,key,LET(place,XMATCH(key,INDEX(GROWCELLS.KEYS,0,1)),
        (GROWCELLS.PART(list,INDEX(GROWCELLS.KEYS,place,2),INDEX(GROWCELLS.KEYS,place,3))
        +GROWCELLS.PART(list,INDEX(GROWCELLS.KEYS,place,4),INDEX(GROWCELLS.KEYS,place,5))
        +GROWCELLS.PART(list,INDEX(GROWCELLS.KEYS,place,6),INDEX(GROWCELLS.KEYS,place,7)))
        *IF(GROWCELLS.IS_LISTED(list,"%"),GROWCELLS.LISTED(list,"%")/100,1)))""",
    "GROWCELLS.FORMS": "LAMBDA(list," + "+".join(f'GROWCELLS.HELD(list,"{form}")' for form in NITROGEN_FORMS) + ")",
    "GROWCELLS.NITROGEN": f"""LAMBDA(list,IF(GROWCELLS.IS_LISTED(list,"{TOTAL_NITROGEN}"),
        GROWCELLS.HELD(list,"{TOTAL_NITROGEN}"),GROWCELLS.FORMS(list)))""",
    "GROWCELLS.PERCENT_OF": f"""LAMBDA(list,nutrient,LET(
        key,INDEX(GROWCELLS.NUTRIENTS,nutrient,3),
        share,INDEX(GROWCELLS.NUTRIENTS,nutrient,4),
        is_form,OR({",".join(f'key="{form}"' for form in NITROGEN_FORMS)}),
        forms,IF(is_form,GROWCELLS.FORMS(list),0),
        untold,IF(is_form,IF(GROWCELLS.IS_LISTED(list,key),FALSE,
            GROWCELLS.NITROGEN(list)>forms+IF(forms>0,0.5,0)),FALSE),
        IF(untold,#VALUE!,IF(key="{TOTAL_NITROGEN}",GROWCELLS.NITROGEN(list),GROWCELLS.HELD(list,key))/share)))""",
    "GROWCELLS.FIGURE": """LAMBDA(text,LET(number,IFERROR(NUMBERVALUE(text,".",","),0-1),
        IF(AND(number>=0,number<1000,number&""=text),number,GROWCELLS.ANY_FIGURE(text))))""",
    "GROWCELLS.ANY_FIGURE": """LAMBDA(text,NUMBERVALUE(IF(AND(GROWCELLS.ONLY(text,"0123456789."),
        text<>".",LEN(text)-LEN(SUBSTITUTE(text,".",""))<2),"0"&text,"x"),".",","))""",
    "GROWCELLS.SIGNED": """LAMBDA(text,IF(OR(LEFT(text,1)="-",LEFT(text,1)="+"),
        IF(LEFT(text,1)="-",0-GROWCELLS.DECIMAL(MID(text,2,255)),GROWCELLS.DECIMAL(MID(text,2,255))),
        GROWCELLS.DECIMAL(text)))""",
    "GROWCELLS.ADDED": f"""LAMBDA(list,name,figure,LET(
        found,GROWCELLS.NUTRIENT(name),
        number,GROWCELLS.SIGNED(figure),
        key,INDEX(GROWCELLS.NUTRIENTS,found,3),
        IF(ISERROR(list),list,IF(ISERROR(found),found,IF(ISERROR(number),#VALUE!,
            IF(OR(key="{ALKALINITY}",GROWCELLS.IS_HELD(list,key)),#VALUE!,
            IF(number<0,#NUM!,list&INDEX(GROWCELLS.NUTRIENTS,found,2)&":"&figure&";")))))))""",
    "GROWCELLS.STEP": """LAMBDA(state,word,IF(ISERROR(state),state,LET(
        pending,TEXTBEFORE(state,"|"),
        list,TEXTAFTER(state,"|"),
        figure,IF(RIGHT(word,1)="%",LEFT(word,LEN(word)-1),word),
        IF(AND(word="%",pending="",list<>";"),state,IF(ISERROR(GROWCELLS.SIGNED(figure)),
            TRIM(pending&" "&word)&"|"&list,IF(pending="",#VALUE!,
                "|"&GROWCELLS.ADDED(list,pending,figure)))))))""",
    "GROWCELLS.LISTING": """LAMBDA(text,list,LET(
        clean,TRIM(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(text,";"," "),","," "),":"," "),"="," ")),
        IF(clean="",list,LET(state,REDUCE("|"&list,TEXTSPLIT(clean," "),LAMBDA(so_far,word,
            GROWCELLS.STEP(so_far,word))),IF(ISERROR(state),state,IF(LEFT(state,1)="|",MID(state,2,2000),#VALUE!))))))""",
    "GROWCELLS.CHECKED": f"""LAMBDA(list,IF(ISERROR(list),list,LET(
        forms,GROWCELLS.FORMS(list),
        nitrogen,GROWCELLS.NITROGEN(list),
        others,REDUCE(0,SEQUENCE(ROWS(GROWCELLS.NO_NITROGEN)),LAMBDA(sum,place,sum+GROWCELLS.PART(list,
            INDEX(GROWCELLS.NO_NITROGEN,place,1),INDEX(GROWCELLS.NO_NITROGEN,place,2)))),
        as_given,{AS_GIVEN},
        IF(OR(forms>nitrogen+0.5,others+nitrogen>100.5,as_given>100.5),#NUM!,list))))""",
    # A grade and nothing else: its figures are those of the label, and the shares of the oxides are below one.
    "GROWCELLS.CHECKED_GRADE": f"""LAMBDA(list,IF(ISERROR(list),list,
        IF(LEN(list)-LEN(SUBSTITUTE(list,";",""))>{len(GRADE) + 1},GROWCELLS.CHECKED(list),
            IF({AS_GIVEN}>100.5,#NUM!,list))))""",
    "GROWCELLS.GRADE": """LAMBDA(text,LET(
        clean,SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(text,"; "," "),";"," "),","," ")," -","-"),
        close,SUBSTITUTE(clean,"- ","-"),
        head,TEXTBEFORE(close&" "," "),
        parts,TEXTSPLIT(head,"-"),
        IF(COLUMNS(parts)<>3,#VALUE!,LET(
            nitrogen,INDEX(parts,1,1),phosphate,INDEX(parts,1,2),potash,INDEX(parts,1,3),
            IF(ISERROR(GROWCELLS.FIGURE(nitrogen)+GROWCELLS.FIGURE(phosphate)+GROWCELLS.FIGURE(potash)),#VALUE!,
                GROWCELLS.LISTING(MID(close,LEN(head)+1,255),
                    ";N:0"&nitrogen&";P2O5:0"&phosphate&";K2O:0"&potash&";"))))))""",
    "GROWCELLS.SUBSTANCE": """LAMBDA(text,LET(
        told,RIGHT(text,1)="%",
        body,IF(told,TRIM(LEFT(text,LEN(text)-1)),text),
        figure,IF(told,IFERROR(TEXTAFTER(body," ",0-1),"x"),"100"),
        name,IF(told,TRIM(LEFT(body,MAX(0,LEN(body)-LEN(figure)))),body),
        purity,GROWCELLS.SIGNED(figure),
        found,XMATCH(GROWCELLS.FOLDED(name),INDEX(GROWCELLS.SUBSTANCES,0,1)),
        IF(ISERROR(found),#N/A,IF(ISERROR(purity),#VALUE!,IF(OR(purity<=0,purity>100),#NUM!,
            IF(INDEX(GROWCELLS.SUBSTANCES,found,3)="grade",IF(told,#VALUE!,INDEX(GROWCELLS.SUBSTANCES,found,2)),
                INDEX(GROWCELLS.SUBSTANCES,found,2)&IF(told,"%:"&figure&";","")))))))""",
    "GROWCELLS.LIKE_GRADE": """LAMBDA(text,LET(
        after,REDUCE(0,SEQUENCE(LEN(text)),LAMBDA(found,place,IF(found>0,found,
            IF(ISERROR(FIND(MID(text,place,1),"0123456789.")),place,0)))),
        sign,IF(after>0,MID(text,after,1),""),
        IF(after=1,FALSE,IF(after=0,TRUE,ISNUMBER(FIND(sign,"-,% "))))))""",
    "GROWCELLS.ANALYSIS": """LAMBDA(cell,IF(ISTEXT(cell),IF(LEN(cell)>255,#VALUE!,LET(
        text,TRIM(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(SUBSTITUTE(cell,"–","-"),"−","-"),"‐","-"),"‑","-")),
        cut,IFERROR(FIND("-",text),1),
        figure,LEFT(text,cut-1),
        is_plain,IFERROR(NUMBERVALUE(figure,".",","),0)&""=figure,
        IF(IF(is_plain,TRUE,GROWCELLS.LIKE_GRADE(text)),GROWCELLS.CHECKED_GRADE(GROWCELLS.GRADE(text)),LET(
            substance,GROWCELLS.SUBSTANCE(text),
            IF(NOT(ISERROR(substance)),substance,IF(OR(LEFT(text,1)="-",LEFT(text,1)="+"),#VALUE!,
                IF(NOT(ISNA(substance)),substance,LET(listed,GROWCELLS.CHECKED(GROWCELLS.LISTING(text,";")),
                    IF(ISERROR(listed),IF(ERROR.TYPE(listed)=3,#N/A,listed),IF(listed=";",#VALUE!,listed))))))))
        )),IF(ISERROR(cell),cell,#VALUE!)))""",
    "GROWCELLS.ANALYSIS_TEXT": """LAMBDA(cells,IF(IFERROR(COLUMNS(cells),1)<>2,cells,
        IF(GROWCELLS.NUMBERS(CHOOSECOLS(cells,2))=0,cells,TRIM(REDUCE("",SEQUENCE(ROWS(cells)),LAMBDA(text,row_given,LET(
            name,INDEX(cells,row_given,1),figure,INDEX(cells,row_given,2),
            IF(ISERROR(name),name,IF(ISERROR(figure),figure,IF(ISERROR(text),text,IF(TRIM(figure)="",text,
                IF(AND(row_given=1,ISTEXT(figure),ISERROR(GROWCELLS.SIGNED(SUBSTITUTE(figure," %","")))),text,
                    text&" "&name&" "&SUBSTITUTE(figure,",","."))))))))))))) """.strip(),
}
"""The names that functions of nutrients call."""


@functools.cache
def tables() -> Mapping[str, Rows]:
    """The tables of nutrients, ions, recipes and substances, by their names."""
    return {
        "GROWCELLS.NUTRIENTS": _nutrients(),
        "GROWCELLS.KEYS": _keys(),
        "GROWCELLS.NO_NITROGEN": tuple(
            (one.symbol, one.share) for one in nutrients().values() if one.key not in (TOTAL_NITROGEN, *NITROGEN_FORMS)
        ),
        "GROWCELLS.IONS": _ions(),
        "GROWCELLS.RECIPES": tuple(
            (folded(name), _list(recipes()[recipe])) for name, recipe in names_in("recipes.csv", "recipe").items()
        ),
        "GROWCELLS.SUBSTANCES": _substances(),
    }


def _keys() -> Rows:
    """Each key with the symbols of its bases and their shares, three at most."""
    bases: dict[str, list[object]] = {}
    for one in nutrients().values():
        bases.setdefault(one.key, []).extend((one.symbol, one.share))
    return tuple((key, *pairs) for key, pairs in bases.items())


def _nutrients() -> Rows:
    rows: dict[str, tuple[object, ...]] = {name: (name, "") for name in AMBIGUOUS}
    for name, symbol in names_in("nutrients.csv", "symbol").items():
        one = nutrients()[symbol]
        rows.setdefault(folded(name), (folded(name), one.symbol, one.key, one.share, one.key_mass))
    return tuple(rows.values())


def _ions() -> Rows:
    rows: dict[str, tuple[object, ...]] = {folded(name): (folded(name), "") for name in ("N", "nitrogen", *UNCHARGED)}
    for name, ion in names_in("ions.csv", "ion").items():
        rows.setdefault(folded(name), (folded(name), ions()[ion].milliequivalent))
    return tuple(rows.values())


def _list(figures: Mapping[str, float]) -> str:
    return ";" + "".join(f"{key}:{figure!r};" for key, figure in figures.items())


def _substances() -> Rows:
    rows = []
    for name, known in folded_substances().items():
        substance = substances()[known]
        percents = parse_analysis(substance.grade).percents if substance.grade else formula_percents(substance.formula)
        rows.append((name, _list(percents), "grade" if substance.grade else "formula"))
    return tuple(rows)
