"""Seeded faults: each is refused with the right finding, at the right place, and nothing is written.

One run looks at all the files, as ``add`` does; a finding of the severity error in any of them refuses them all.
"""

from __future__ import annotations

import io
import warnings
import zipfile
from datetime import datetime
from pathlib import Path

import openpyxl
import pytest

from kg import overlay, paths
from kg.intake import read_xlsx
from kg.intake.inspect import inspect

SOURCES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
PREFIXES = """@prefix bl: <https://boxlock.example/ns#> .
@prefix src: <https://boxlock.example/source/> .
@prefix some: <https://boxlock.example/some/> .
@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> . @prefix skos: <http://www.w3.org/2004/02/skos/core#> .
"""
A_SOURCE = 'src:{0} a bl:Source ; dcterms:title "{0}" ; bl:sourceKind "textbook" .\n'


def said(*rows: str) -> bytes:
    return "\n".join(["source,subject,mode,feature,value", *rows, ""]).encode()


def turtle(body: str, source: str = "") -> bytes:
    return (PREFIXES + (A_SOURCE.format(source) if source else "") + body).encode()


def patterns(*rows: str) -> bytes:
    return "\n".join(["id,label,definition,definition source,variant of", *rows, ""]).encode()


def book(**sheets: list[list[object]]) -> bytes:
    made = openpyxl.Workbook()
    made.remove(made.active)
    for name, rows in sheets.items():
        sheet = made.create_sheet(name)
        for row in rows:
            sheet.append(row)
    return saved(made)


def saved(made: openpyxl.Workbook) -> bytes:
    out = io.BytesIO()
    made.save(out)
    return out.getvalue()


HEADER = ["source", "subject", "mode", "feature", "value"]


def rewritten(data: bytes, member: str, change) -> bytes:
    """A workbook with one part of its archive changed."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            new.writestr(name, change(content) if name == member else content)
    return out.getvalue()


def entity_bomb() -> bytes:
    levels = "".join(f'<!ENTITY e{i} "{f"&e{i - 1};" * 10}">' for i in range(1, 10))
    head = f'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY e0 "boom">{levels}]>'.encode()
    plain = book(statements=[HEADER, ["one", "Kelly forceps", "is", "type of joint", "box lock"]])
    return rewritten(plain, "xl/worksheets/sheet1.xml", lambda xml: head + xml.replace(b"box lock", b"&e9;"))


def entity_bomb_in_utf_16() -> bytes:
    plain = book(statements=[HEADER])
    text = '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE x [<!ENTITY a "b">]><worksheet>&a;</worksheet>'
    return rewritten(plain, "xl/worksheets/sheet1.xml", lambda _: text.encode("utf-16"))


def great_cell() -> bytes:
    plain = book(statements=[HEADER, ["one", "Kelly forceps", "is", "type of joint", "GREAT"]])
    return rewritten(plain, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b"GREAT", b"x" * 50_000_000))


def many_members() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for number in range(read_xlsx.MOST_MEMBERS + 1):
            archive.writestr(f"xl/worksheets/sheet{number}.xml", "")
    return out.getvalue()


def joined_cells() -> bytes:
    made = openpyxl.Workbook()
    sheet = made.active
    sheet.title = "statements"
    for row in (HEADER, ROW.split(","), ["one", None, "is", "type of handle", "ring handle"]):
        sheet.append(row)
    sheet.merge_cells("B2:B3")
    return saved(made)


def part_twice() -> bytes:
    out = io.BytesIO(book(statements=[HEADER, ROW.split(",")]))
    with zipfile.ZipFile(out, "a") as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # zipfile warns of just this
        archive.writestr("xl/worksheets/sheet1.xml", "<worksheet/>")
    return out.getvalue()


def far_below() -> bytes:
    made = openpyxl.Workbook()
    made.active.title = "statements"
    made.active.append(HEADER)
    made.active["A1000000"] = "far"
    return saved(made)


def cell(value: object) -> bytes:
    return book(statements=[HEADER, ["one", "Kelly forceps", "is", "type of joint", value]])


ROW = "one,Kelly forceps,is,type of joint,box lock"
FAULTS: dict[str, tuple[bytes, str, str, int]] = {
    # name of the file: contents, code, what the finding says (a part), line
    "unknown-pattern.csv": (said("one,Kely forcps,is,type of joint,box lock"), "BL-I05", '"Kely forcps" is no pattern', 2),
    "unknown-feature.csv": (said("one,Kelly forceps,is,jaw surfce,box lock"), "BL-I05", '"jaw surfce" is no feature', 2),
    "unknown-value.csv": (said(ROW, "one,Kelly forceps,is,type of joint,box luck"), "BL-I05", "no value of type of joint", 3),
    "value-of-another.csv": (said("one,Kelly forceps,is,type of joint,ring handle"), "BL-I05", "another feature", 2),
    "ambiguous.csv": (said("one,Doyen,is,type of joint,box lock"), "BL-I05", "can mean", 2),
    "misspelt-property.ttl": (turtle("bl:KellyForceps bl:jawSurfce bl:SerratedJaw .\n", "t1"), "BL-I05", "no feature", 7),
    "foreign-property.ttl": (
        turtle('bl:KellyForceps dcterms:format "steel" .\n', "t2"), "BL-I05", "no property of evidence", 7,
    ),
    "two-joints.csv": (
        said("two,Kelly forceps,is,type of joint,box lock", "two,Kelly forceps,is,type of joint,screw joint"),
        "BL-I06", "contradicts itself", 3,
    ),
    "crushing-and-not.csv": (
        said("three,Doyen intestinal clamp,is,crushing,Crushing", "three,Doyen intestinal clamp,is,crushing,NonCrushing"),
        "BL-I06", "contradicts itself", 3,
    ),
    "crushing-and-atraumatic.csv": (
        said("ten,Doyen intestinal clamp,is,crushing,Crushing", "ten,Doyen intestinal clamp,is,tissueTrauma,Atraumatic"),
        "BL-I06", "contradicts itself", 3,
    ),
    "teeth-and-none.csv": (
        said("four,Kelly forceps,is,tipTeeth,NoTipTeeth", "four,Kelly forceps,is,tipTeeth,OneByTwoTeeth"),
        "BL-I06", "contradicts itself", 3,
    ),
    "part-there-and-absent.csv": (
        said("five,Kelly forceps,is,part,ratchet", "five,Kelly forceps,is,absent part,ratchet"),
        "BL-I06", "contradicts itself", 3,
    ),
    "said-and-denied.csv": (
        said("six,Kelly forceps,is,used on,bowel", "six,Kelly forceps,not,used on,bowel"), "BL-I06", "says and denies", 3,
    ),
    "used-and-never-used.csv": (
        said("seven,Kelly forceps,is,used on,bowel", "seven,Kelly forceps,is,not used on,bowel"),
        "BL-I06", "says and denies", 3,
    ),
    "category-stated.csv": (said("one,MayoHegarNeedleHolder,is,type,artery forceps"), "BL-I07", "forceps: a category", 2),
    "category-as-kind.csv": (said("one,MayoHegarNeedleHolder,is,kind,artery forceps"), "BL-I07", "inferred, never stated", 2),
    "category-stated.ttl": (turtle("bl:MayoHegarNeedleHolder a bl:ArteryForceps .\n", "t3"), "BL-I07", "artery forceps: a", 7),
    "category-of-a-new-one.ttl": (turtle("bl:NewOne a bl:Pattern , bl:ArteryForceps .\n", "t4"), "BL-I07", "artery forceps", 7),
    "category-defined.ttl": (
        turtle("bl:MyThing owl:equivalentClass [ owl:onProperty bl:joint ; owl:hasValue bl:BoxLock ] .\n", "t5"),
        "BL-I07", "defines", 7,
    ),
    "said-of-a-category.csv": (said("one,artery forceps,is,type of joint,box lock"), "BL-I07", "is a category", 2),
    "nine-metres.csv": (said("one,Kelly forceps,is,length,9000"), "BL-I03", "9000 mm is not plausible", 2),
    "metres.csv": (said("one,Kelly forceps,is,length,9 m"), "BL-I03", "no length in millimetres", 2),
    "three-mm.csv": (said("one,Kelly forceps,is,length,3"), "BL-I03", "3 mm is not plausible", 2),
    "backwards.csv": (said("one,Kelly forceps,is,length,178..127"), "BL-I03", "shorter than the shortest", 2),
    "half-a-length.ttl": (turtle("bl:KellyForceps bl:shortestLength 127.0 .\n", "t6"), "BL-I03", "only one of", 7),
    "unknown-source.csv": (said("nobodys-book,Kelly forceps,is,type of joint,box lock"), "BL-I05", "is no source", 2),
    "no-source.ttl": (turtle("bl:KellyForceps bl:joint bl:BoxLock .\n"), "BL-I03", "declares no source", 6),
    "two-sources.ttl": (
        turtle(A_SOURCE.format("u1") + A_SOURCE.format("u2") + "bl:KellyForceps bl:joint bl:BoxLock .\n"),
        "BL-I03", "declares 2 sources", 8,
    ),
    "unknown-pattern.ttl": (turtle("bl:NobodysForceps bl:joint bl:BoxLock .\n", "t7"), "BL-I05", "no pattern or kind", 7),
    "text-for-a-value.ttl": (turtle('bl:KellyForceps bl:joint "box lock" .\n', "t8"), "BL-I03", "is text", 7),
    "nameless.ttl": (turtle("bl:KellyForceps bl:joint [ ] .\n", "t9"), "BL-I03", "without a name", 7),
    "no-definition.csv": (b"id,label,definition source\nAnyForceps,any forceps,one\n", "BL-I03", "lacks definition", 1),
    "empty-definition.csv": (patterns("BlankForceps,blank forceps,,one,"), "BL-I03", "no definition", 2),
    "no-definition-source.csv": (patterns("LoneForceps,lone forceps,A forceps of nobody at all.,,"), "BL-I03", "source", 2),
    "brand.csv": (patterns("BrandForceps,Acme® forceps,A forceps with the name of its maker.,one,"), "BL-C04", "brand", 2),
    "circle.csv": (
        patterns("RoundA,round a,A forceps that is a variant.,one,RoundB", "RoundB,round b,A forceps likewise.,one,RoundA"),
        "BL-C04", "variant of itself", 2,
    ),
    "there-already.csv": (patterns("KellyForceps,Kelly forceps,Another definition of it.,one,"), "BL-I03", "already", 2),
    "same-label.csv": (patterns("OtherCrile,Crile forceps,A forceps under a label in use.,one,"), "BL-C04", "same label", 2),
    "no-evidence.csv": (patterns("SilentForceps,silent forceps,A forceps without a word.,one,"), "BL-C04", "no source", 2),
    "bad-id.csv": (patterns("no good id,odd forceps,A forceps with a bad id.,one,"), "BL-I03", "cannot be an id", 2),
    "unknown-parent.csv": (patterns("ChildForceps,child forceps,A variant of nothing.,one,Nothing"), "BL-I05", "no pattern", 2),
    "unknown-kind-of-source.csv": (b"id,title,kind\nodd,Odd,leaflet\n", "BL-I05", "no kind of source", 2),
    "source-in-use.csv": (b"id,title,kind\ncommon-practice,Mine,textbook\n", "BL-I03", "in use for another source", 2),
    "bad-mode.csv": (said("one,Kelly forceps,maybe,type of joint,box lock"), "BL-I03", "mode is", 2),
    "empty-cell.csv": (said("one,Kelly forceps,is,type of joint,"), "BL-I03", "no value given", 2),
    "odd-column.csv": (b"source,subject,mode,feature,valeu\n", "BL-I03", '"valeu" is no column', 1),
    "no-header.csv": (f"{ROW}\n".encode(), "BL-I03", "does not name the columns", 1),
    "open-quote.csv": (said(ROW, 'one,"Kelly forceps,is,type of joint,box lock'), "BL-I03", "not valid CSV", 3),
    "formula.csv": (said("one,Kelly forceps,is,type of joint,=1+1"), "BL-I03", "is a formula", 2),
    "formula.xlsx": (
        book(statements=[HEADER, ["one", "Kelly forceps", "is", "type of joint", "=A1"]]), "BL-I03", "statements!E2", 2,
    ),
    "error-cell.xlsx": (
        book(statements=[HEADER, ["one", "Kelly forceps", "is", "type of joint", "#REF!"]]), "BL-I03", "statements!E2", 2,
    ),
    "unknown-value.xlsx": (
        book(statements=[HEADER, [], ["one", "Kelly forceps", "is", "type of joint", "box luck"]]),
        "BL-I05", "statements!E3", 3,
    ),
    "no-table.xlsx": (book(anything=[["a", "b"], ["c", "d"]]), "BL-I03", "does not name the columns", 1),
    "broken.ttl": (turtle("bl:KellyForceps bl:joint bl:BoxLock\nbl:Crile bl:joint bl:BoxLock .\n"), "BL-I03", "Turtle", 7),
    "broken.trig": (turtle("src:x { bl:KellyForceps bl:joint }\n"), "BL-I03", "not valid TriG", 6),
    "great-cell.csv": (said(f"one,Kelly forceps,is,type of joint,{'x' * 50_000_000}"), "BL-I04", "50.0 MB", 0),
    "great-cell.xlsx": (great_cell(), "BL-I04", "more than 40 MB", 0),
    "long-cell.csv": (said(f"one,Kelly forceps,is,type of joint,{'x' * 40_000}"), "BL-I04", "40,000 characters", 2),
    "long-text.ttl": (turtle(f'src:t11 a bl:Source ; dcterms:title "{"x" * 40_000}" .\n'), "BL-I04", "40,000 characters", 6),
    "entity-bomb.xlsx": (entity_bomb(), "BL-I04", "declares entities", 0),
    "entity-bomb-16.xlsx": (entity_bomb_in_utf_16(), "BL-I04", "declares entities", 0),
    "many-members.xlsx": (many_members(), "BL-I04", "parts", 0),
    "no-workbook.xlsx": (b"not a workbook", "BL-I03", "not an XLSX workbook", 0),
    "cut-off.xlsx": (book(statements=[HEADER])[:-200], "BL-I03", "not an XLSX workbook", 0),
    "hollow.xlsx": (rewritten(book(a=[]), "xl/workbook.xml", lambda _: b"<a/>"), "BL-I03", "nothing in it is evidence", 0),
    "damaged.xlsx": (
        rewritten(book(a=[]), "xl/worksheets/sheet1.xml", lambda _: b"<worksheet><"), "BL-I03", "cannot be read", 0,
    ),
    "workbook.csv": (book(statements=[HEADER]), "BL-I03", "workbook under another name", 0),
    "latin-1.csv": (said(ROW, "one,K\xe9lly,is,type of joint,box lock").decode().encode("latin-1"), "BL-I03", "encoding", 3),
    "utf-16-without-mark.csv": (said(ROW).decode().encode("utf-16-le"), "BL-I03", "NUL", 1),
    "nul.csv": (said(ROW, "one,Kelly\0 forceps,is,type of joint,box lock"), "BL-I03", "NUL character", 3),
    "commas.csv": (b",,,\n,,,\n", "BL-I03", "nothing in it is evidence", 0),
    "mark-alone.csv": (b"\xef\xbb\xbf", "BL-I03", "nothing in it is evidence", 0),
    "empty.csv": (b" \n", "BL-I03", "empty", 0),
    "letter.doc": (b"Dear Sir", "BL-I03", "not read", 0),
    # --- dividers, headers, cells
    "pipes.csv": (said(ROW).replace(b",", b"|"), "BL-I03", "not divided by a comma", 1),
    "two-dividers.csv": (said(ROW, ROW.replace(",", ";")), "BL-I03", "divided by semicolons, the first line by commas", 3),
    "title-above.csv": (b"My list,,,,\n" + said(ROW), "BL-I03", "stand in line 2, below something else", 1),
    "title-above.xlsx": (book(statements=[["My list"], [], HEADER]), "BL-I03", "stand in row 3", 1),
    "a-cell-too-many.csv": (said(f"{ROW},more"), "BL-I03", "stands in no column", 2),
    "column-twice.csv": (b"source,subject,mode,feature,value,value\n", "BL-I03", "value is there twice", 1),
    "header-alone.csv": (said(), "BL-I03", "nothing in it is evidence", 0),
    "header-alone.xlsx": (book(statements=[HEADER]), "BL-I03", "nothing in it is evidence", 0),
    "joined-cells.xlsx": (joined_cells(), "BL-I03", "no subject given", 3),
    "renamed-sheet.xlsx": (
        book(**{"statements (2)": [HEADER, ROW.split(",")], "x": []}), "BL-I03", "has the columns of statements", 0,
    ),
    "part-twice.xlsx": (part_twice(), "BL-I04", "is in the workbook twice", 0),
    "far-below.xlsx": (far_below(), "BL-I04", "goes on below row 40,000", 40_001),
    "date-cell.xlsx": (cell(datetime(2024, 5, 3)), "BL-I03", "is a date or a time", 2),
    "truth-cell.xlsx": (cell(True), "BL-I05", '"true" is no value of type of joint', 2),
    "outside-link.xlsx": (cell("='[http://nowhere.example/x.xlsx]S'!A1"), "BL-I03", "is a formula", 2),
    "utf-32.csv": (said(ROW).decode().encode("utf-32"), "BL-I03", "NUL", 1),
    "windows-1252.csv": (said("one,Kelly forceps,is,length,127–178").decode().encode("cp1252"), "BL-I03", "encoding", 2),
    "zero-width.csv": (said("one,Kelly\u200bforceps,is,type of joint,box lock"), "BL-I05", "Kelly?forceps", 2),
    "cyrillic.csv": (said("one,\u041aelly forceps,is,type of joint,box lock"), "BL-I05", "no pattern", 2),
    "hidden-formula.csv": (said('one,"\t=HYPERLINK(1)",is,type of joint,box lock'), "BL-I03", "is a formula", 2),
    "escape.csv": (said("one,Kelly\x1b[31m forceps,is,type of joint,box lock"), "BL-I03", "control character (U+001B)", 2),
    # --- lengths
    "decimal-comma.csv": (said('one,Kelly forceps,is,length,"14,5 cm"'), "BL-I03", "no length in millimetres", 2),
    "inches.csv": (said('one,Kelly forceps,is,length,"5 1/2"""'), "BL-I03", "no length in millimetres", 2),
    "negative.csv": (said("one,Kelly forceps,is,length,-140"), "BL-I03", "no length in millimetres", 2),
    "no-number.csv": (said("one,Kelly forceps,is,length,NaN"), "BL-I03", "no length in millimetres", 2),
    "some-length.csv": (said("one,Kelly forceps,some,length,140"), "BL-I03", "a length has the mode is", 2),
    "two-lengths.csv": (
        said("eight,Kelly forceps,is,length,140", "eight,Kelly forceps,is,length,200"), "BL-I06", "gives 2 lengths", 3,
    ),
    "infinite-length.ttl": (
        turtle('bl:KellyForceps bl:shortestLength "INF"^^<http://www.w3.org/2001/XMLSchema#double> ; '
               "bl:longestLength 5 .\n", "t12"), "BL-I03", "no length", 7,
    ),
    "some-length.ttl": (turtle("bl:KellyForceps some:shortestLength 140 .\n", "t13"), "BL-I03", "the mode is", 7),
    # --- names
    "part-as-feature.csv": (said("one,Kelly forceps,is,ratchet,box lock"), "BL-I05", "is a part, not a feature", 2),
    "part-and-jaws.csv": (
        said("nine,No. 3 scalpel handle,is,jaw surface,smooth jaws", "nine,No. 3 scalpel handle,is,absent part,jaws"),
        "BL-I06", "cannot both have and lack jaws", 3,
    ),
    "foreign-name.csv": (said("one,http://elsewhere.example/Kelly,is,type of joint,box lock"), "BL-I05", "no pattern", 2),
    "path-as-source.csv": (said(ROW.replace("one", "../../one")), "BL-I05", "is no source", 2),
    "path-as-id.csv": (b"id,title,kind\n../../one,One,textbook\n", "BL-I03", "cannot be an id", 2),
    "device-as-id.csv": (b"id,title,kind\nCON,Con,textbook\n", "BL-I03", "cannot be an id", 2),
    "capitals-of-a-source.csv": (b"id,title,kind\nCommon-Practice,Mine,textbook\n", "BL-I03", "in capitals alone", 2),
    "capitals-of-a-pattern.csv": (patterns("KELLYForceps,kelly two,A second forceps.,one,"), "BL-I03", "in capitals alone", 2),
    "no-title.csv": (b"id,title,kind\nuntitled,,textbook\n", "BL-I03", "no title", 2),
    "no-date.csv": (b"id,title,kind,seen\nodd-date,Odd,textbook,yesterday\n", "BL-I03", "no date", 2),
    "date-to-come.csv": (b"id,title,kind,seen\nlate,Late,textbook,2999-01\n", "BL-I03", "no date", 2),
    "no-web-address.csv": (b"id,title,kind,url\nweb,Web,textbook,javascript:alert(1)\n", "BL-I03", "no web address", 2),
    "kind-as-pattern.csv": (patterns("kind:NeedleHolder,my holder,A kind as a pattern.,one,"), "BL-I03", "be an id", 2),
    "category-as-pattern.csv": (patterns("ArteryForceps,af two,A category as a pattern.,one,"), "BL-I03", "a category", 2),
    "value-as-pattern.csv": (patterns("BoxLock,box lock two,A value as a pattern.,one,"), "BL-I03", "a value", 2),
    "label-of-a-value.csv": (patterns("LockForceps,box lock,A forceps called like a value.,one,"), "BL-C04", "same label", 2),
    "two-parents.csv": (patterns("TwinForceps,twin forceps,A variant of two.,one,Kelly|Crile"), "BL-I05", "no pattern", 2),
    # --- RDF
    "nameless-subject.ttl": (turtle("[] bl:joint bl:BoxLock .\n", "t14"), "BL-I03", "without a name", 7),
    "nameless-source.ttl": (
        turtle('[] a bl:Source ; dcterms:title "T" .\nbl:KellyForceps bl:joint bl:BoxLock .\n'), "BL-I03", "without a name", 6,
    ),
    "list.ttl": (turtle("bl:KellyForceps bl:joint ( bl:BoxLock ) .\n", "t15"), "BL-I03", "without a name", 7),
    "about-a-statement.ttl": (
        turtle("<< bl:KellyForceps bl:joint bl:BoxLock >> bl:joint bl:BoxLock .\n", "t16"), "BL-I03", "without a name", 7,
    ),
    "one-and-the-same.ttl": (turtle("bl:KellyForceps owl:sameAs bl:CrileForceps .\n", "t17"), "BL-I07", "owl:sameAs", 7),
    "disjoint.ttl": (turtle("bl:ArteryForceps owl:disjointWith bl:Clamp .\n", "t18"), "BL-I07", "owl:disjointWith", 7),
    "all-disjoint.ttl": (
        turtle("[] a owl:AllDisjointClasses ; owl:members ( bl:ArteryForceps bl:Clamp ) .\n", "t19"),
        "BL-I07", "owl:AllDisjointClasses", 7,
    ),
    "functional.ttl": (turtle("bl:usedOn a owl:FunctionalProperty .\n", "t20"), "BL-I07", "owl:FunctionalProperty", 7),
    "new-property.ttl": (turtle("bl:myOwn a owl:DatatypeProperty .\n", "t21"), "BL-I07", "owl:DatatypeProperty", 7),
    "new-value.ttl": (turtle("bl:MyJoint a bl:FeatureValue .\n", "t22"), "BL-I07", "bl:FeatureValue", 7),
    "imports.ttl": (turtle("src:t23 owl:imports <http://nowhere.example/> .\n", "t23"), "BL-I07", "owl:imports", 7),
    "renamed-term.ttl": (
        turtle('bl:BoxLock <http://www.w3.org/2000/01/rdf-schema#label> "bolt"@en .\n', "t24"), "BL-I07", "rdfs:label", 7,
    ),
    "variant-of-another.ttl": (
        turtle("bl:KellyForceps bl:variantOf bl:CrileForceps .\n", "t25"), "BL-I07", "bl:variantOf describes", 7,
    ),
    "shipped-pattern-as-variant.ttl": (
        turtle("bl:KellyForceps a bl:Pattern ; bl:variantOf bl:CrileForceps .\n", "t26"), "BL-I03", "already", 7,
    ),
    "shipped-pattern-with-a-synonym.ttl": (
        turtle('bl:KellyForceps a bl:Pattern ; skos:altLabel "my forceps"@en .\n', "t27"), "BL-I03", "already", 7,
    ),
    "weight-of-a-source.ttl": (turtle("src:t28 bl:weight 9000 .\n", "t28"), "BL-I03", "has no bl:weight", 7),
    "another-language.ttl": (
        turtle('bl:XForceps a bl:Pattern ; skos:definition "Eine Klemme."@de .\n', "t29"), "BL-I03", "(@de)", 7,
    ),
    "name-as-text.ttl": (turtle("bl:YForceps a bl:Pattern ; skos:definition bl:BoxLock .\n", "t30"), "BL-I03", "not a text", 7),
    "number-as-a-text.ttl": (turtle("bl:ZForceps a bl:Pattern ; skos:definition 42 .\n", "t31"), "BL-I03", "xsd:integer", 7),
    "escape-in-a-title.ttl": (
        turtle('src:t32 a bl:Source ; dcterms:title "T\\u001B[31m" ; bl:sourceKind "textbook" .\n'), "BL-I03", "(U+001B)", 6,
    ),
    "foreign-source.ttl": (
        turtle('<http://elsewhere.example/s> a bl:Source ; dcterms:title "T" ; bl:sourceKind "textbook" .\n'),
        "BL-I03", "cannot be an id", 6,
    ),
    "path-as-source.ttl": (
        turtle('<https://boxlock.example/source/../../s> a bl:Source ; dcterms:title "T" ; bl:sourceKind "textbook" .\n'),
        "BL-I03", "cannot be an id", 6,
    ),
    "relative.ttl": (turtle("<KellyForceps> bl:joint bl:BoxLock .\n", "t33"), "BL-I03", "not valid Turtle", 7),
    "many-triples.ttl": (
        turtle("".join(f"bl:KellyForceps bl:usedOn bl:X{n} .\n" for n in range(30_001)), "t34"), "BL-I04", "30,000 triples", 0,
    ),
    "nested.ttl": (turtle(f"bl:KellyForceps bl:joint {'(' * 50_000}{')' * 50_000} .\n", "t35"), "BL-I04", "30,000 triples", 0),
    "nameless-graph.trig": (turtle("_:g { bl:KellyForceps bl:joint bl:BoxLock }\n", "t36"), "BL-I03", "no name", 7),
    "foreign-graph.trig": (
        turtle("<http://elsewhere.example/g> { bl:KellyForceps bl:joint bl:BoxLock }\n"), "BL-I05", "is no source", 6,
    ),
    "system-graph.trig": (
        turtle("<https://boxlock.example/graph/holds> { bl:KellyForceps bl:joint bl:BoxLock }\n"), "BL-I05", "is no source", 6,
    ),
    "two-joints.trig": (
        turtle("src:t37 { bl:KellyForceps bl:joint bl:BoxLock , bl:LapJoint }\n", "t37"), "BL-I06", "contradicts itself", 7,
    ),
    "with-macros.xlsm": (book(statements=[HEADER]), "BL-I03", "not read", 0),
    "sheet.ttl": (book(statements=[HEADER]), "BL-I03", "workbook under another name", 0),
    "table.ttl": (said(ROW), "BL-I03", "not valid Turtle", 1),
}  # fmt: skip


@pytest.fixture(scope="module")
def findings(tmp_path_factory: pytest.TempPathFactory, staged, ontology_folder: Path):
    folder = tmp_path_factory.mktemp("faults")
    (folder / "sources.csv").write_text(
        "id,title,kind\n" + "".join(f"{s},The book {s},textbook\n" for s in SOURCES), encoding="utf-8"
    )
    for name, (data, *_) in FAULTS.items():
        (folder / name).write_bytes(data)
    found = inspect(sorted(folder.iterdir()), ontology_folder, {}, hermit=False, before=staged)
    assert not found.accepted
    return found.findings


@pytest.mark.parametrize("name", sorted(FAULTS))
def test_fault_is_found(name: str, findings) -> None:
    _, code, text, line = FAULTS[name]
    mine = [f for f in findings if Path(f.file).name == name]
    assert [f for f in mine if f.severity == "error" and f.code == code and text in f.text and f.line == line], mine


# --- what is accepted, with a remark -----------------------------------------------------------------------------------
REMARKS = {
    "centimetres": (
        "one,Kelly forceps,is,length,14.5",
        "a length of 14.5 mm is far from what other sources say of Kelly forceps",
    ),
    "said-twice": (f"{ROW}\n{ROW}", "this is said already, in row 2"),
    "ratchet": ("one,No. 3 scalpel handle,is,part,ratchet", '"has no ratchet"'),
    "inapplicable": ("one,No. 3 scalpel handle,is,jaw surface,smooth jaws", '"has no jaws"'),
    "another-kind": ("one,Mayo-Hegar needle holder,is,kind,haemostatic forceps in general", "a dispute on Mayo-Hegar"),
}


@pytest.mark.parametrize("name", sorted(REMARKS))
def test_what_is_odd_is_remarked(name: str, tmp_path: Path, staged, ontology_folder: Path) -> None:
    row, text = REMARKS[name]
    (tmp_path / "a.csv").write_bytes(said(row))
    (tmp_path / "b.csv").write_text("id,title,kind\none,The book one,textbook\n", encoding="utf-8")
    found = inspect(sorted(tmp_path.iterdir()), ontology_folder, {}, hermit=False, before=staged)
    assert found.accepted
    assert [f for f in found.findings if f.severity == "warning" and text in f.text and f.line], found.findings


def test_hidden_sheets_far_cells_and_silent_sources_are_remarked(tmp_path: Path, staged, ontology_folder: Path) -> None:
    made = openpyxl.load_workbook(io.BytesIO(book(statements=[HEADER, ROW.split(",")], sources=[["id", "title", "kind"]])))
    for number in ("one", "idle"):
        made["sources"].append([number, f"The book {number}", "textbook"])
    made["statements"].sheet_state = "veryHidden"
    made.create_sheet("prices").append(["=1+1", "#REF!"])  # a sheet that is none of ours may hold anything
    made["statements"]["BZ2"] = "far"
    (tmp_path / "a.xlsx").write_bytes(saved(made))
    found = inspect([tmp_path / "a.xlsx"], ontology_folder, {}, hermit=False, before=staged)
    assert found.accepted
    texts = " ".join(f.text for f in found.findings)
    assert (
        'sheet "prices" is not read' in texts
        and "is hidden, and is read" in texts
        and "there is a cell BZ2" in texts
        and "src:idle says nothing" in texts
    )


def test_full_addresses_are_names(tmp_path: Path, staged, ontology_folder: Path) -> None:
    rows = [f"common-practice,{address('KellyForceps')},is,{address('joint')},<{address('LapJoint')}>"]
    (tmp_path / "a.csv").write_bytes(said(*rows))
    found = inspect([tmp_path / "a.csv"], ontology_folder, {}, hermit=False, before=staged)
    assert [(s.subject, s.feature, s.value) for s in found.staging.said] == [("bl:KellyForceps", "bl:joint", "bl:LapJoint")]


def address(local: str) -> str:
    return f"https://boxlock.example/ns#{local}"


def test_the_sources_alone_are_without_fault(findings) -> None:
    assert not [f for f in findings if Path(f.file).name == "sources.csv"]


def test_near_names_are_offered(findings) -> None:
    fixes = {Path(f.file).name: f.fix for f in findings if f.severity == "error"}
    assert "Kelly forceps" in fixes["unknown-pattern.csv"]
    assert "jaw surface" in fixes["unknown-feature.csv"]
    assert "box lock" in fixes["unknown-value.csv"]
    assert "jaw" in fixes["misspelt-property.ttl"]


def test_every_finding_says_how_to_fix_it(findings) -> None:
    assert all(f.fix for f in findings if f.severity == "error")


def test_too_many_rows(tmp_path: Path, staged, ontology_folder: Path) -> None:
    file = tmp_path / "long.csv"
    file.write_bytes(said(*[ROW] * 10_001))
    found = inspect([file], ontology_folder, {}, hermit=False, before=staged)
    assert [(f.code, f.line) for f in found.findings if "10,000" in f.text] == [("BL-I04", 10_002)]


def test_a_missing_file(tmp_path: Path, staged, ontology_folder: Path) -> None:
    found = inspect([tmp_path / "missing.csv"], ontology_folder, {}, hermit=False, before=staged)
    assert [f.code for f in found.findings] == ["BL-I02", "BL-I03"][:1]


@pytest.mark.parametrize("name", ["two-joints.csv", "entity-bomb.xlsx", "broken.ttl"])
def test_nothing_is_written(name: str, tmp_path: Path, ontology_folder: Path) -> None:
    (tmp_path / "sources.csv").write_text("id,title,kind\ntwo,The book two,textbook\n", encoding="utf-8")
    (tmp_path / name).write_bytes(FAULTS[name][0])
    done = overlay.add_files([tmp_path / "sources.csv", tmp_path / name], ontology_folder, hermit=False)
    assert done.folder is None and not done.inspection.accepted
    assert sorted(p.name for p in paths.own_dir().iterdir()) == [overlay.LOCK]
