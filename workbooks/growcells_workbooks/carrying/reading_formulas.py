"""How cells are read by formulas: numbers, quantities as text, units; the same rules as ``growcells.cells`` has.

Each is a defined name of the carried workbook. Local names are in small letters, functions and names in capitals.
"""

from __future__ import annotations

from collections.abc import Mapping

from growcells.cells.kinds import CONCENTRATION, CONDUCTIVITY

from .unit_rows import ANY_UNITS, SECOND, units_table

FIGURES = '"0123456789"'

NAMES: Mapping[str, str] = {
    "GROWCELLS.ONLY": """LAMBDA(text,signs,IF(text="",FALSE,REDUCE(text,SEQUENCE(LEN(signs)),
        LAMBDA(rest,place,SUBSTITUTE(rest,MID(signs,place,1),"")))=""))""",
    "GROWCELLS.DECIMAL": f"""LAMBDA(text,LET(
        cut,IFERROR(FIND("e",LOWER(text)),0),
        mantissa,IF(cut>0,LEFT(text,cut-1),text),
        power,IF(cut>0,MID(text,cut+1,255),"0"),
        unsigned,IF(OR(LEFT(power,1)="-",LEFT(power,1)="+"),MID(power,2,255),power),
        dot,IFERROR(FIND(".",mantissa),0),
        whole,IF(dot>0,LEFT(mantissa,dot-1),mantissa),
        part,IF(dot>0,MID(mantissa,dot+1,255),""),
        plain,SUBSTITUTE(whole,",",""),
        commas,LEN(whole)-LEN(plain),
        first,LEN(whole)-4*commas,
        grouped,IF(commas=0,TRUE,IF(OR(first<1,first>3),FALSE,IF(AND(commas=1,part=""),FALSE,
            REDUCE(TRUE,SEQUENCE(commas),LAMBDA(so_far,place,
                IF(so_far,MID(whole,LEN(whole)-4*place+1,1)=",",FALSE)))))),
        IF(AND(grouped,GROWCELLS.ONLY(plain&part,{FIGURES}),GROWCELLS.ONLY(unsigned,{FIGURES})),
            NUMBERVALUE(IF(plain="","0",plain)&"."&IF(part="","0",part)&"E"&power,".",","),#VALUE!)))""",
    # Most texts are written as the program itself writes a number: then there is nothing to take apart.
    "GROWCELLS.NUMBER": """LAMBDA(text,LET(number,IFERROR(NUMBERVALUE(text,".",","),0),
        IF(number&""=text,number,GROWCELLS.ANY_NUMBER(text))))""",
    "GROWCELLS.ANY_NUMBER": f"""LAMBDA(text,LET(
        clean,TRIM(SUBSTITUTE(text,"−","-")),
        negative,LEFT(clean,1)="-",
        size,TRIM(IF(OR(negative,LEFT(clean,1)="+"),MID(clean,2,255),clean)),
        slash,IFERROR(FIND("/",size),0),
        number,IF(slash=0,GROWCELLS.DECIMAL(size),LET(
            before,SUBSTITUTE(LEFT(size,slash-1),"-"," "),
            below,MID(size,slash+1,255),
            gap,IFERROR(FIND(" ",before),0),
            whole,IF(gap>0,LEFT(before,gap-1),"0"),
            above,IF(gap>0,TRIM(MID(before,gap+1,255)),before),
            IF(AND(GROWCELLS.ONLY(whole,{FIGURES}),GROWCELLS.ONLY(above,{FIGURES}),GROWCELLS.ONLY(below,{FIGURES})),
                NUMBERVALUE(whole,".",",")+NUMBERVALUE(above,".",",")/NUMBERVALUE(below,".",","),#VALUE!))),
        IF(LEN(text)>255,#VALUE!,IF(negative,0-number,number))))""",
    "GROWCELLS.UNIT_AT": """LAMBDA(text,start,REDUCE(0,SEQUENCE(LEN(text)),LAMBDA(found,place,
        IF(found>0,found,IF(place<start,0,IF(ISERROR(FIND(MID(text,place,1),"0123456789.,/+- ")),place,0))))))""",
    "GROWCELLS.UNIT_PLACE": f"""LAMBDA(text,LET(
        first,GROWCELLS.UNIT_AT(text,1),
        sign,IF(first>0,MID(text,first+1,1),""),
        figure,IF(OR(sign="-",sign="+"),MID(text,first+2,1),sign),
        IF(first=0,0,IF(AND(LOWER(MID(text,first,1))="e",first>1,GROWCELLS.ONLY(figure,{FIGURES})),
            GROWCELLS.UNIT_AT(text,first+1),first))))""",
    "GROWCELLS.NEXT_PART": f"""LAMBDA(text,IF(LEN(text)<2,0,REDUCE(0,SEQUENCE(LEN(text)),LAMBDA(found,place,
        IF(OR(found>0,place<2),found,LET(
            before,MID(text,place-1,1),
            last,IF(AND(before=" ",place>2),MID(text,place-2,1),before),
            is_quote,OR(last="'",last=\"\"\"\"),
            is_letter,AND(before=" ",NOT(EXACT(UPPER(last),LOWER(last)))),
            IF(AND(GROWCELLS.ONLY(MID(text,place,1),{FIGURES}),OR(is_quote,is_letter)),place,0)))))))""",
    # Each kind is handed over as the table of its units: unit, slope, offset, spellings that mean something else.
    "GROWCELLS.UNIT_ROW": f"""LAMBDA(units,unit,LET(
        spelled,TRIM(SUBSTITUTE(unit,"μ","µ")),
        found,GROWCELLS.UNIT_SPELLED(units,spelled,""),
        IF(ISERROR(found),GROWCELLS.UNIT_SPELLED(units,spelled,"{SECOND}"),found)))""",
    "GROWCELLS.UNIT_SPELLED": """LAMBDA(units,spelled,mark,LET(
        found,XMATCH(spelled&mark,INDEX(units,0,1)),
        stored,INDEX(units,found,1),
        IF(ISERROR(found),#VALUE!,IF(OR(EXACT(stored,spelled&mark),EXACT(stored,LOWER(spelled)&mark)),
            IF(ISNUMBER(FIND("|"&spelled&"|",INDEX(units,found,4))),#VALUE!,found),#VALUE!))))""",
    "GROWCELLS.FACTOR": """LAMBDA(units,column,unit,default,IF(ISTEXT(unit),IF(TRIM(unit)="",default,
        INDEX(units,GROWCELLS.UNIT_ROW(units,unit),column)),
        IF(ISBLANK(unit),default,IF(ISERROR(unit),unit,IF(IF(ISNUMBER(unit),unit=0,FALSE),default,#VALUE!)))))""",
    "GROWCELLS.SLOPE": """LAMBDA(units,unit,default,IF(IF(ISTEXT(unit),unit="",FALSE),default,
        GROWCELLS.FACTOR(units,2,unit,default)))""",
    "GROWCELLS.OFFSET": """LAMBDA(units,unit,default,IF(IF(ISTEXT(unit),unit="",FALSE),default,
        GROWCELLS.FACTOR(units,3,unit,default)))""",
    "GROWCELLS.FRACTIONS": """LAMBDA(text,REDUCE(text,SEQUENCE(9),LAMBDA(so_far,place,
        SUBSTITUTE(so_far,MID("½¼¾⅓⅔⅛⅜⅝⅞",place,1),
            " "&MID("1/21/43/41/32/31/83/85/87/8",3*place-2,3)))))""",
    "GROWCELLS.PARTS": """LAMBDA(text,units,slope,offset,LET(
        clean,TRIM(text),
        start,GROWCELLS.UNIT_PLACE(clean),
        number,GROWCELLS.NUMBER(IF(start>0,LEFT(clean,start-1),clean)),
        rest,IF(start>0,TRIM(MID(clean,start,255)),""),
        next,GROWCELLS.NEXT_PART(rest),
        unit,TRIM(IF(next>0,LEFT(rest,next-1),rest)),
        IF(ISERROR(number),#VALUE!,IF(unit="",number*slope+offset,IF(next=0,
            number*GROWCELLS.SLOPE(units,unit,#VALUE!)+GROWCELLS.OFFSET(units,unit,#VALUE!),
            IF(SUM(INDEX(units,0,3))<>0,#VALUE!,number*GROWCELLS.SLOPE(units,unit,#VALUE!)
                +GROWCELLS.PARTS(MID(rest,next,255),units,#VALUE!,#VALUE!)))))))""",
    "GROWCELLS.QUANTITY": """LAMBDA(cell,units,slope,offset,IF(ISNUMBER(cell),cell*slope+offset,IF(ISTEXT(cell),LET(
        gap,IFERROR(FIND(" ",cell),1),
        figure,LEFT(cell,gap-1),
        number,IFERROR(NUMBERVALUE(figure,".",","),0),
        place,IF(number&""=figure,GROWCELLS.UNIT_ROW(units,MID(cell,gap+1,255)),#VALUE!),
        IF(ISERROR(place),GROWCELLS.ANY_QUANTITY(cell,units,slope,offset),
            number*INDEX(units,place,2)+INDEX(units,place,3))),
        IF(ISERROR(cell),cell,#VALUE!))))""",
    "GROWCELLS.ANY_QUANTITY": """LAMBDA(cell,units,slope,offset,
        IF(LEN(cell)>255,#VALUE!,GROWCELLS.PARTS(GROWCELLS.FRACTIONS(cell),units,slope,offset)))""",
    "GROWCELLS.ACCEPTED": """LAMBDA(cell,value,missing,zero,sign,IF(ISBLANK(cell),missing,
        IF(IF(ISTEXT(cell),TRIM(cell)="",FALSE),missing,
        IF(IF(ISNUMBER(cell),IF(zero,FALSE,cell=0),FALSE),#VALUE!,IF(ISERROR(value),value,
            IF(IF(sign=1,value<=0,IF(sign=0,value<0,FALSE)),#NUM!,value))))))""",
    "GROWCELLS.TAKEN": """LAMBDA(cell,units,slope,offset,missing,zero,sign,
        IF(IF(ISNUMBER(cell),IF(sign<0,cell<>0,cell>0),FALSE),cell*slope+offset,
            GROWCELLS.ACCEPTED(cell,GROWCELLS.QUANTITY(cell,units,slope,offset),missing,zero,sign)))""",
    "GROWCELLS.PLAIN": """LAMBDA(cell,IF(ISNUMBER(cell),cell,IF(ISTEXT(cell),
        LET(number,GROWCELLS.NUMBER(cell),IF(ISERROR(number),GROWCELLS.ANY_NUMBER(GROWCELLS.FRACTIONS(cell)),number)),IF(ISERROR(cell),cell,#VALUE!))))""",
    "GROWCELLS.SHARE": """LAMBDA(cell,IF(IF(ISTEXT(cell),RIGHT(TRIM(cell),1)="%",FALSE),
        GROWCELLS.NUMBER(GROWCELLS.FRACTIONS(LEFT(TRIM(cell),LEN(TRIM(cell))-1)))/100,GROWCELLS.PLAIN(cell)))""",
    "GROWCELLS.FRACTION": """LAMBDA(cell,LET(share,GROWCELLS.SHARE(cell),IF(ISERROR(share),share,
        IF(share>1,#NUM!,share))))""",
    "GROWCELLS.HUMIDITY": """LAMBDA(cell,LET(number,GROWCELLS.SHARE(cell),
        share,IF(IF(ISTEXT(cell),RIGHT(TRIM(cell),1)="%",FALSE),number,IF(number>1,number/100,number)),
        IF(ISERROR(share),share,IF(share>1,#NUM!,share))))""",
    "GROWCELLS.COUNT": """LAMBDA(cell,LET(number,GROWCELLS.PLAIN(cell),IF(ISERROR(number),number,
        IF(number=INT(number),number,#VALUE!))))""",
    "GROWCELLS.MONEY": """LAMBDA(cell,IF(ISTEXT(cell),GROWCELLS.PLAIN(TRIM(REDUCE(TRIM(cell),SEQUENCE(4),
        LAMBDA(rest,place,LET(sign,MID("$€£¥",place,1),
            after,IF(LEFT(rest,1)=sign,TRIM(MID(rest,2,255)),rest),
            IF(RIGHT(after,1)=sign,TRIM(LEFT(after,LEN(after)-1)),after)))))),GROWCELLS.PLAIN(cell)))""",
    "GROWCELLS.MONEY_COLUMN": """LAMBDA(cells,IF(AND(IFERROR(ROWS(cells),1)>1,IFERROR(COLUMNS(cells),1)>1),#VALUE!,
        MAKEARRAY(IFERROR(ROWS(cells),1),IFERROR(COLUMNS(cells),1),LAMBDA(row_given,column_given,LET(
            cell,GROWCELLS.ITEM(cells,row_given,column_given),
            is_heading,IF(AND(row_given=1,IFERROR(ROWS(cells),1)>1),IF(ISTEXT(cell),
                REDUCE(TRUE,SEQUENCE(10),LAMBDA(so_far,place,IF(so_far,ISERROR(FIND(place-1,cell)),FALSE))),FALSE),FALSE),
            value,IF(ISBLANK(cell),"",IF(IF(ISTEXT(cell),OR(TRIM(cell)="",is_heading),FALSE),"",GROWCELLS.MONEY(cell))),
            IF(ISERROR(value),value,IF(ISNUMBER(value),IF(value<0,#NUM!,value),"")))))))""",
    "GROWCELLS.NUMBERS": "LAMBDA(cells,REDUCE(0,cells,LAMBDA(count,cell,count+IF(ISNUMBER(cell),1,0))))",
    "GROWCELLS.SIGNIFICANT": "LAMBDA(number,figures,ROUND(number,figures-1-INT(LOG10(number))))",
    "GROWCELLS.NEAREST_MULTIPLE": """LAMBDA(number,step,LET(
        exact,GROWCELLS.SIGNIFICANT(step,12),
        steps,INT(GROWCELLS.SIGNIFICANT(number,12)/exact*(1+1E-15)+0.5),
        IF(steps=0,0,GROWCELLS.SIGNIFICANT(steps*exact,15))))""",
    "GROWCELLS.CONVERTED": f"""LAMBDA(value,unit,to,LET(
        source,GROWCELLS.UNIT_ROW({ANY_UNITS},unit),
        target,GROWCELLS.UNIT_ROW({ANY_UNITS},to),
        IF(ISERROR(source+target),#VALUE!,
        IF(INDEX({ANY_UNITS},source,5)<>INDEX({ANY_UNITS},target,5),#VALUE!,
            value*(INDEX({ANY_UNITS},source,2)/INDEX({ANY_UNITS},target,2))
            +(INDEX({ANY_UNITS},source,3)-INDEX({ANY_UNITS},target,3))/INDEX({ANY_UNITS},target,2)))))""",
    "GROWCELLS.DATE": """LAMBDA(cell,IF(ISTEXT(cell),LET(text,TRIM(cell),
        year,MID(text,1,4),month,MID(text,6,2),day,MID(text,9,2),
        IF(AND(LEN(text)=10,MID(text,5,1)="-",MID(text,8,1)="-",GROWCELLS.ONLY(year&month&day,"0123456789")),
            LET(serial,DATE(NUMBERVALUE(year,".",","),NUMBERVALUE(month,".",","),NUMBERVALUE(day,".",",")),
                IF(AND(DAY(serial)=NUMBERVALUE(day,".",","),NUMBERVALUE(year,".",",")>1900),serial,#VALUE!)),#VALUE!)),
        IF(ISNUMBER(cell),IF(AND(cell>0,cell<2958466),cell,#NUM!),IF(ISERROR(cell),cell,#VALUE!))))""",
    "GROWCELLS.MEASURES": f"""LAMBDA(cell,IF(IF(ISTEXT(cell),TRIM(cell)<>"",FALSE),LET(parts,GROWCELLS.FRACTIONS(cell),
        IF(NOT(ISERROR(GROWCELLS.NUMBER(parts))),0,
        IF(NOT(ISERROR(GROWCELLS.PARTS(parts,{units_table(CONDUCTIVITY)},1,0))),1,2))),0))""",
    "GROWCELLS.STRENGTH": f"""LAMBDA(cell,IF(ISNUMBER(cell),cell,SWITCH(GROWCELLS.MEASURES(cell),
        0,GROWCELLS.PLAIN(cell),
        1,GROWCELLS.QUANTITY(cell,{units_table(CONDUCTIVITY)},1,0),
        GROWCELLS.QUANTITY(cell,{units_table(CONCENTRATION)},1,0))))""",
    "GROWCELLS.WITHIN": """LAMBDA(value,low,high,IF(ISERROR(value),value,IF(AND(value>=low-1E-12,
        value<=high+1E-12*MAX(1,value)),value,#NUM!)))""",
    "GROWCELLS.EXPM1": """LAMBDA(value,IF(ABS(value)<0.001,
        value*(1+value/2*(1+value/3*(1+value/4*(1+value/5*(1+value/6))))),EXP(value)-1))""",
    "GROWCELLS.LOG1P": """LAMBDA(value,IF(ABS(value)<0.001,
        value*(1-value*(1/2-value*(1/3-value*(1/4-value*(1/5-value/6))))),LN(1+value)))""",
    "GROWCELLS.INTERPOLATED": """LAMBDA(value,places,heights,LET(
        before,MIN(IF(value<INDEX(places,1),1,MATCH(value,places,1)),COLUMNS(places)-1),
        left,INDEX(places,before),low,INDEX(heights,before),
        slope,(INDEX(heights,before+1)-low)/(INDEX(places,before+1)-left),
        slope*(value-left)+low))""",
    "GROWCELLS.ROOT": """LAMBDA(difference,low,high,steps,LET(middle,(low+high)/2,IF(steps=0,middle,
        IF(difference(middle)<0,GROWCELLS.ROOT(difference,middle,high,steps-1),
            GROWCELLS.ROOT(difference,low,middle,steps-1)))))""",
    "GROWCELLS.FAILURES": """LAMBDA(confidence,successes,chance,LET(
        most,GROWCELLS.DOUBLED(confidence,successes,chance,1),
        GROWCELLS.HALVED(confidence,successes,chance,0-1,most)))""",
    "GROWCELLS.DOUBLED": """LAMBDA(confidence,successes,chance,most,
        IF(BETA.DIST(chance,successes,most+1,TRUE)>=confidence,most,
            GROWCELLS.DOUBLED(confidence,successes,chance,2*most)))""",
    "GROWCELLS.HALVED": """LAMBDA(confidence,successes,chance,low,high,IF(high-low<=1,high,LET(
        middle,INT((low+high)/2),
        IF(BETA.DIST(chance,successes,middle+1,TRUE)>=confidence,
            GROWCELLS.HALVED(confidence,successes,chance,low,middle),
            GROWCELLS.HALVED(confidence,successes,chance,middle,high)))))""",
}
"""The names that carried functions call, and what each is."""
