"""What a handout says, its fields, orders, groups and covers, and every form that it can have."""

from __future__ import annotations

import csv
import io
import itertools
import json
import re
import struct
import zlib
from pathlib import Path

import pytest

from kg.errors import CODES, InputError, QuestionError
from kg.export import COVERS, FORMATS, ORDERS, Wishes, export, handout_bytes, make_handout
from kg.export.photos import look
from tests.export.hostile import DATE

QUESTION = "non-crushing clamps with longitudinal serration"
ENDINGS = (".html", ".pdf", ".md", ".csv", ".xlsx", ".json")


def made(catalogue, question: str = QUESTION, **wishes):
    return make_handout(catalogue, question, Wishes(date=DATE, **wishes))


def text_of(handout, ending: str) -> str:
    """All words of a form, as another program reads them."""
    data = handout_bytes(handout, ending)
    if ending == ".pdf":
        import pypdfium2

        return "\n".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(data))
    if ending == ".xlsx":
        import openpyxl

        book = openpyxl.load_workbook(io.BytesIO(data))
        return "\n".join(str(c.value) for sheet in book for row in sheet for c in row if c.value is not None)
    if ending == ".html":
        from html import unescape

        return unescape(re.sub(r"<(style|script)>.*?</\1>|<[^>]*>", "", data.decode(), flags=re.DOTALL))
    return data.decode()


def flat(text: str) -> str:
    """Words alone: no line ends, no escapes, no hyphens of a column's end."""
    return re.sub(r"[\W_]+", "", text.casefold())


# --- what it says -----------------------------------------------------------------------------------------------------
def test_matches_disputes_and_open_ones_are_those_of_the_answer(shipped) -> None:
    handout = made(shipped)
    answer = shipped.ask(QUESTION, limit=100_000)
    assert {c.name for c in handout.of("match")} == {m.name for m in answer.matches}
    assert {c.name for c in handout.of("disputed")} == {d.name for d in answer.disputed} - {m.name for m in answer.matches}
    assert {name for group in handout.open for name, _ in group.patterns} == {p.name for p in answer.possible}
    assert answer.possible_count == len(answer.possible)


@pytest.mark.parametrize("ending", ENDINGS)
def test_every_form_carries_the_whole(shipped, ending) -> None:
    handout = made(shipped)
    text = flat(text_of(handout, ending))
    for label in [c.label for c in handout.cards] + [label for group in handout.open for _, label in group.patterns]:
        assert flat(label) in text
    for needed in (handout.title, DATE, QUESTION, "HermiT", "local policy, makers' instructions and licensed practice decide"):
        assert flat(needed) in text
    assert flat("licensed and supervised") in text
    note = handout.footnotes[0]
    assert flat(note.also_said[0].value) in text
    assert flat(note.also_said[0].sources[0]) in text
    assert flat("intestinal clamps in general") in text or ending in (".html", ".pdf", ".md")
    assert flat("memory") in text


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_same_handout_gives_the_same_bytes(shipped, ending) -> None:
    first, second = (handout_bytes(made(shipped, "self-closing clamps"), ending) for _ in range(2))
    assert first == second


@pytest.mark.parametrize(
    "question",
    [
        "how many scissors have blunt tips?",
        "needle holders by joint",
        "what is the joint of the Kelly forceps",
        "compare Allis and Babcock",
        "compare artery forceps and intestinal clamps",
        "is the Allis traumatic?",
        "why is the Doyen intestinal clamp a non-crushing clamp",
        "why is the Kelly forceps but not the Crile forceps a half-serrated artery forceps",
        "what is a box lock?",
        "classify artery forceps",
        "who says that the Kelly forceps is serrated over the distal half",
        "what is disputed about the Babcock?",
        "define gentle clamp as non-crushing clamps with longitudinal serration",
        "describe Kelly forceps",
        "what looks like the Kelly forceps",
        "telling signs of the Kelly forceps",
        "how is the Kelly forceps reprocessed",
        "steam cycles at 134 C",
        "scissors with a balloon",
    ],
)
def test_any_answer_becomes_a_handout(shipped, question) -> None:
    handout = made(shipped, question)
    for ending in (".html", ".md", ".csv", ".json"):
        assert flat(handout.answer.reading)[:40] in flat(text_of(handout, ending))


def test_sources_are_numbered_once_for_cards_and_answer(shipped) -> None:
    page = handout_bytes(made(shipped, "compare Kelly forceps and Crile forceps"), ".html").decode()
    assert page.count("<h2>Sources</h2>") == 1
    listed = re.findall(r"<li>(.*?)</li>", page.split("<h2>Sources</h2>")[1])
    cited = {int(n) for group in re.findall(r"<sup>([\d, ]+)", page) for n in group.split(",")}
    assert cited <= set(range(1, len(listed) + 1))
    assert len(set(listed)) == len(listed)
    shown = shipped.ask("compare Kelly forceps and Crile forceps").comparison.differences[0].sources
    assert dict(shown)["Kelly forceps"][0] == listed[0]


def test_what_rests_on_less_is_marked(shipped) -> None:
    """The marks of a card agree with what the closure says that its facts rest on."""
    handout = made(shipped)
    facts = shipped.context.reader.facts([c.name for c in handout.cards])
    parts = [f.key for f in handout.fields].index("parts")
    for card in handout.cards:
        assert card.result == "disputed" or card.basis == next(m.basis for m in handout.answer.matches if m.name == card.name)
        known = set(facts[card.name].basis.values()) | {""}
        for line in card.cells[parts]:
            assert line.basis in known or line.status == "made with" or "mm" in line.text
            if line.sources and all("no published source" in s for s in line.sources):
                assert line.basis in ("memory", "common practice")


def test_not_recorded_is_neither_absent_nor_left_out(shipped) -> None:
    handout = made(shipped, "self-closing clamps", fields=("ratchet", "tip shape", "serration extent"))
    (card,) = [c for c in handout.cards if c.label == "bulldog clamp"]
    assert [(line.text, line.status) for cell in card.cells for line in cell][1:] == [
        ("not recorded", "not recorded"),
        ("not recorded", "not recorded"),
    ]
    assert card.cells[0][0].text == "absent"


@pytest.mark.parametrize("ending", [".csv", ".xlsx"])
@pytest.mark.parametrize(
    ("question", "said"),
    [
        ("what is a box lock?", "A pivot joint in which one half of the instrument passes through a slot in the other."),
        ("compare Kelly forceps and Crile forceps", "serrated over the distal half"),
        ("why is the Doyen intestinal clamp a non-crushing clamp", "What is made for clamping bowel is made for clamping."),
        ("who says that the Kelly forceps is serrated over the distal half", "Hemostatic Forceps (ch. 3)"),
    ],
)
def test_tables_hold_the_answer_itself(shipped, question, said, ending) -> None:
    assert said in text_of(made(shipped, question), ending)


def test_an_empty_answer_says_that_nothing_is_left_open(shipped) -> None:
    handout = made(shipped, "scalpel blades with a ratchet")
    assert not handout.cards
    for ending in ENDINGS:
        assert flat("Nothing is left open either") in flat(text_of(handout, ending))


# --- wishes -----------------------------------------------------------------------------------------------------------
def test_fields_by_any_name_of_a_feature(shipped) -> None:
    handout = made(shipped, "self-closing clamps", fields=("Jaw Surface", "use", "look alikes", "RATCHET", "length", "notes"))
    assert [f.heading for f in handout.fields] == ["jaw surface", "use", "not to be taken for", "ratchet", "length"]
    assert handout.notes_wanted


@pytest.mark.parametrize(
    ("wishes", "said"),
    [
        ({"fields": ("jaw surfase",)}, "Did you mean: jaw surface"),
        ({"fields": ("",)}, "These work"),
        ({"order": "best"}, "alike, name"),
        ({"cover": "all"}, "names, facts"),
        ({"group": "colour"}, "every feature or part"),
        ({"group": "length"}, "every feature or part"),
        ({"paper": "a5"}, "a4, letter"),
        ({"date": "2026-02-30"}, "year, month and day"),
        ({"date": "31.1.2026"}, "year, month and day"),
        ({"title": "x" * 300}, "shorter"),
    ],
)
def test_error_a_wish_that_cannot_be_met(shipped, wishes, said) -> None:
    with pytest.raises(InputError) as caught:
        make_handout(shipped, "self-closing clamps", Wishes(**({"date": DATE} | wishes)))
    assert caught.value.code == "BL-I01"
    assert said in caught.value.hint


def test_error_the_question_is_not_understood(shipped, tmp_path) -> None:
    with pytest.raises(QuestionError):
        export(shipped, "leafs", tmp_path / "x.html")
    assert list(tmp_path.iterdir()) == []


def test_date(shipped, monkeypatch) -> None:
    """SOURCE_DATE_EPOCH as reproducible-builds.org has it: 1700000000 is 14 November 2023 in UTC (``date -u -d @...``)."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1700000000")
    assert make_handout(shipped, "self-closing clamps").date == "2023-11-14"
    assert make_handout(shipped, "self-closing clamps", Wishes(date="2026-01-31")).date == "2026-01-31"


def test_look_alikes_stand_next_to_each_other(shipped) -> None:
    """Brute force: as many neighbours as possible are look-alikes; far more than by name."""
    from kg.answer.lookalikes import look_alike_pairs

    pairs = set(look_alike_pairs(shipped.context))

    def neighbours(order: str) -> int:
        roots = [c.name for c in made(shipped, "clamps", order=order).cards if not c.variant_of]
        return sum(tuple(sorted(p)) in pairs for p in itertools.pairwise(roots))

    assert neighbours("alike") > neighbours("name")
    ours = made(shipped, "artery forceps").cards
    for a, b in itertools.pairwise(ours):
        if b.variant_of:
            assert b.variant_of in (a.label, a.variant_of)


def test_orders(shipped) -> None:
    def labels(order: str, seed: int = 0) -> list[str]:
        return [c.label for c in made(shipped, "scissors", order=order, seed=seed).cards]

    assert sorted(labels("shuffled")) == sorted(labels("name"))
    assert labels("shuffled", 1) == labels("shuffled", 1) != labels("shuffled", 2)
    lengths = [
        shipped.context.reader.facts([c.name])[c.name].known.length for c in made(shipped, "scissors", order="length").cards
    ]
    known = [span for span in lengths if span]
    assert known == sorted(known)
    assert lengths[: len(known)] == known


def test_groups(shipped) -> None:
    handout = made(shipped, "scissors", group="blade tips")
    answer = shipped.ask("scissors by blade tips")
    assert {g.value: set(g.labels) for g in answer.groups} == {
        g: {c.label for c in handout.of("match") if g in c.groups} for g in handout.groups
    }
    asked = made(shipped, "scissors by blade tips")
    assert asked.groups == handout.groups
    assert [c.label for c in asked.cards] == [c.label for c in handout.cards]


@pytest.mark.parametrize("ending", [".md", ".pdf", ".xlsx", ".csv"])
def test_covered_names_come_last_or_not_at_all(shipped, ending) -> None:
    handout = made(shipped, "self-closing clamps", cover="names")
    text = text_of(handout, ending).casefold()
    body, _, answers = text.partition("answers") if ending in (".md", ".pdf") else (text, "", "")
    for card in handout.cards:
        if ending in (".md", ".pdf"):
            assert card.label.casefold() not in body
            assert flat(card.label) in flat(answers)
        elif ending == ".csv":
            assert card.label.casefold() not in text
    if ending == ".xlsx":
        import openpyxl

        book = openpyxl.load_workbook(io.BytesIO(handout_bytes(handout, ".xlsx")))
        assert {c.value for c in book["study list"]["C"][1 : len(handout.cards) + 1]} == {None}
        assert {c.label for c in handout.cards} <= {c.value for c in book["answers"]["C"]}


def test_covered_facts_are_blank(shipped) -> None:
    handout = made(shipped, "self-closing clamps", cover="facts")
    rows = list(csv.DictReader(io.StringIO(text_of(handout, ".csv"))))
    assert all(row["name"] and not row["use"] and not row["to see, part by part"] for row in rows)
    body = text_of(handout, ".md").split("## Answers")[0]
    assert "cross-action" not in body
    assert "cross-action" in text_of(handout, ".md")


def test_words_of_options_are_ours_and_complete() -> None:
    assert set(COVERS) == {"nothing", "names", "facts"}
    assert set(ORDERS) == {"alike", "name", "length", "shuffled", "asked"}
    assert set(FORMATS) == {".html", ".pdf", ".md", ".csv", ".xlsx", ".json", ".ttl", ".jsonld"}
    assert "BL-I01" in CODES


# --- the forms --------------------------------------------------------------------------------------------------------
def test_json_keeps_the_keys_of_an_answer(shipped) -> None:
    found = json.loads(text_of(made(shipped), ".json"))
    assert {"question", "reading", "matches", "not_recorded", "disputed", "verified_by", "handout"} <= set(found)
    cards = {p["iri"]: p for p in found["handout"]["patterns"]}
    assert {m["iri"] for m in found["matches"]} <= set(cards)
    assert len(found["not_recorded"]) == found["possible_count"]


def test_csv_has_a_row_for_every_pattern(shipped) -> None:
    handout = made(shipped)
    rows = list(csv.DictReader(io.StringIO(text_of(handout, ".csv"))))
    count = {r: sum(row["result"] == r for row in rows) for r in ("match", "disputed", "could match")}
    assert count == {
        "match": len(handout.of("match")),
        "disputed": len(handout.of("disputed")),
        "could match": handout.answer.possible_count,
    }
    assert all(row["iri"].startswith("https://") for row in rows)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_pdf_is_tagged_and_has_its_fonts(shipped, paper, size) -> None:
    """Page sizes: ISO 216 A4 is 210 x 297 mm, US Letter 8.5 x 11 inches; in points of 1/72 inch."""
    import pypdfium2

    data = handout_bytes(made(shipped, "self-closing clamps", paper=paper), ".pdf")
    document = pypdfium2.PdfDocument(data)
    assert tuple(map(round, document[0].get_size())) == size
    assert b"/StructTreeRoot" in data
    assert b"pdfuaid" in data
    assert b"/FontFile3" in data or b"/FontFile2" in data
    assert document.get_metadata_dict()["Title"] == "Self-closing clamps"


def test_xlsx_can_be_read_and_printed(shipped) -> None:
    import openpyxl

    book = openpyxl.load_workbook(io.BytesIO(handout_bytes(made(shipped), ".xlsx")))
    sheet = book["study list"]
    assert book.sheetnames == ["study list", "disputes", "sources", "about"]
    assert sheet.freeze_panes == "D2"
    assert all(cell.alignment.wrap_text for row in sheet for cell in row)
    assert all(8 <= d.width <= 100 or d.width > 0 for d in sheet.column_dimensions.values())
    assert sheet.page_setup.orientation == "landscape"
    assert [c.value for c in sheet[1]][-1] == "own notes"


def test_pictures_say_no_name_and_no_value(shipped) -> None:
    page = handout_bytes(made(shipped, "self-closing clamps"), ".html").decode()
    pictures = re.findall(r"<svg.*?</svg>", page)
    assert len(pictures) == len(made(shipped, "self-closing clamps").cards)
    words = {w for p in pictures for w in re.findall(r"<text[^>]*>([^<]*)</text>", p)}
    assert not any("clamp" in w.casefold() for w in words)
    assert not any(tag in p for p in pictures for tag in ("<title", "<desc", "<metadata", "data-", "<style", "style="))
    assert "<svg" not in handout_bytes(made(shipped, "self-closing clamps", drawings=False), ".html").decode()


# --- photographs ------------------------------------------------------------------------------------------------------
def png(width: int = 2, height: int = 2) -> bytes:
    """A grey PNG, put together from ISO/IEC 15948."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b"".join(b"\0" + b"\x80" * width for _ in range(min(height, 64)))
    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def test_photos_are_found_by_label_or_name(shipped, tmp_path) -> None:
    for name in ("Bulldog Clamp.PNG", "CurvedBulldogClamp.png", "straight-bulldog-clamp.png", "other.png", "notes.txt"):
        (tmp_path / name).write_bytes(png())
    handout = made(shipped, "self-closing clamps", photos=tmp_path)
    found = {c.label for c in handout.cards if c.photo}
    assert {"bulldog clamp", "curved bulldog clamp", "straight bulldog clamp"} == found
    page = handout_bytes(handout, ".html").decode()
    assert page.count("data:image/png;base64,") == 3
    assert (
        handout_bytes(handout, ".pdf").count(b"/Subtype/Image") + handout_bytes(handout, ".pdf").count(b"/Subtype /Image") >= 1
    )


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("bulldog clamp.png", b"<svg onload=alert(1)>", "BL-I03"),
        ("bulldog clamp.jpg", png(), "BL-I03"),
        ("bulldog clamp.png", png()[:40], "BL-I03"),
        ("bulldog clamp.png", png(20_000, 3), "BL-I04"),
        ("bulldog clamp.png", b"\x89PNG\r\n\x1a\n" + b"\0" * 2_100_000, "BL-I04"),
        ("bulldog clamp.jpeg", b"\xff\xd8\xff\xe0\x00\x00" * 5, "BL-I03"),
    ],
)
def test_error_photos(shipped, tmp_path, name, data, code) -> None:
    (tmp_path / name).write_bytes(data)
    with pytest.raises(InputError) as caught:
        made(shipped, "self-closing clamps", photos=tmp_path)
    assert caught.value.code == code
    assert name in caught.value.file


def test_error_photos_elsewhere(shipped, tmp_path) -> None:
    with pytest.raises(InputError, match="cannot be read"):
        made(shipped, "self-closing clamps", photos=tmp_path / "none")
    with pytest.raises(InputError, match="cannot be put into"):
        export(shipped, "self-closing clamps", tmp_path / "x.csv", Wishes(photos=tmp_path))
    for name in ("bulldog clamp.png", "BulldogClamp.png"):
        (tmp_path / name).write_bytes(png())
    with pytest.raises(InputError, match="Two photographs"):
        made(shipped, "self-closing clamps", photos=tmp_path)


def test_sizes_of_pictures_are_read_as_others_read_them(tmp_path) -> None:
    from PIL import Image as image

    for kind, media in (("PNG", "image/png"), ("JPEG", "image/jpeg")):
        for options in ({}, {"progressive": True}) if kind == "JPEG" else ({},):
            out = io.BytesIO()
            image.new("RGB", (37, 53), "red").save(out, kind, **options)
            assert look(out.getvalue()) == (media, 37, 53)
    out = io.BytesIO()
    image.new("RGB", (3, 3)).save(out, "GIF")
    assert look(out.getvalue())[0] == ""


# --- files ------------------------------------------------------------------------------------------------------------
def test_one_command_without_an_option(shipped, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert export(shipped, "self-closing clamps") == Path("self-closing-clamps.html")
    assert [p.name for p in tmp_path.iterdir()] == ["self-closing-clamps.html"]


def test_error_endings(shipped, tmp_path) -> None:
    for name in ("x", "x.docx", "x.html.exe"):
        with pytest.raises(InputError) as caught:
            export(shipped, "self-closing clamps", tmp_path / name)
        assert ".html" in caught.value.hint
    with pytest.raises(InputError, match="Nothing can be covered"):
        export(shipped, "self-closing clamps", tmp_path / "x.json", Wishes(cover="names"))


def test_disputes_are_mentioned_where_they_belong(shipped) -> None:
    """Every dispute listed is mentioned on a card; of a feature with many values only what is denied is marked."""
    for fields in (None, ("use",), ("jaw surface", "tissue trauma")):
        handout = made(shipped, "artery forceps", fields=fields)
        mentioned = {line.note for c in handout.cards for cell in c.cells for line in cell} - {0}
        assert mentioned == {f.number for f in handout.footnotes}
        for card in handout.cards:
            assert set(card.notes) == {line.note for cell in card.cells for line in cell} - {0}
    many = {t.label for t in shipped.vocabulary.by_role("feature") if not shipped.vocabulary.features[t.name].single}
    handout = made(shipped, "clamps")
    for note in [f for f in handout.footnotes if f.feature in many]:
        lines = [line for c in handout.cards for cell in c.cells for line in cell if line.note == note.number]
        assert lines
        assert all(line.status == "disputed" for line in lines)
