"""What a course covers.

Outside sources: SPARQL queries written here by hand and asked of the closure's quads (W3C SPARQL 1.1 Query Language, 2013),
which share no code with the reckoning; and the answers of ``ask``, whose own queries come from another module.
"""

from __future__ import annotations

import random
import tomllib
from pathlib import Path

import pytest

from kg import names
from kg.course.records import Status
from kg.language import nodes

PREFIXES = """PREFIX bl: <https://boxlock.example/ns#>
PREFIX kind: <https://boxlock.example/kind/>
PREFIX graph: <https://boxlock.example/graph/>
PREFIX skos: <http://www.w3.org/2004/02/skos/core#>
"""
QUESTIONS = sorted((Path(__file__).parents[1] / "questions").glob("*.toml"))
SHOWN = ("Kelly forceps", "Crile forceps", "Allis tissue forceps", "Babcock forceps", "Mayo scissors", "Mathieu needle holder")
TAUGHT = ("KellyForceps", "CrileForceps", "AllisForceps", "BabcockForceps", "MayoScissors", "MathieuNeedleHolder")


def rows(catalogue, query: str) -> list[dict[str, str]]:
    return [{k: v.short for k, v in row.items()} for row in catalogue.store.select(PREFIXES + query)]


def among_taught() -> str:
    return "VALUES ?p { " + " ".join(f"bl:{t}" for t in TAUGHT) + " }"


# --- against SPARQL -------------------------------------------------------------------------------------------------
CASES = {
    "artery forceps": "?p a bl:ArteryForceps",
    "traumatic instruments": "?p bl:tissueTrauma bl:Traumatic",
    "instruments with a ratchet": "?p bl:hasPart bl:Ratchet",
    "needle holders without finger rings": "?p a bl:NeedleHolder ; bl:lacksPart bl:FingerRings",
    "clamps with transverse serration": "?p a bl:Clamp ; bl:jawSurface bl:TransverseSerration",
    "instruments used on bowel": "?p bl:usedOn bl:Bowel",
    "scissors or needle holders": "{ ?p a bl:Scissors } UNION { ?p a bl:NeedleHolder }",
}


@pytest.mark.parametrize("question", CASES)
def test_counts_are_those_of_sparql(catalogue, covered, objective, session, question: str) -> None:
    found = covered(session("S", SHOWN) + objective("O", question=question)).objectives[0]
    whole = f"SELECT DISTINCT ?p WHERE {{ GRAPH graph:holds {{ ?p a bl:Pattern . {CASES[question]} }} }}"
    taught = f"SELECT DISTINCT ?p WHERE {{ {among_taught()} GRAPH graph:holds {{ {CASES[question]} }} }}"
    assert found.in_catalogue == len(rows(catalogue, whole)) > 0
    assert {name for name, _ in found.instruments} == {r["p"] for r in rows(catalogue, taught)}
    assert found.count == len(found.instruments)


def test_random_pairs_of_facts_are_those_of_sparql(catalogue, matcher) -> None:
    rng = random.Random(11)
    held = rows(catalogue, "SELECT ?f ?v WHERE { GRAPH graph:holds { ?p a bl:Pattern ; ?f ?v } FILTER(isIRI(?v)) }")
    facts = sorted((r["f"], r["v"]) for r in held if r["f"] in catalogue.vocabulary.features)
    some = 0
    for _ in range(60):
        (f, v), (g, w) = rng.sample(facts, 2)
        if f == g:
            continue
        both = matcher.find(nodes.And((nodes.Has(f, v), nodes.Has(g, w)))).true
        asked = rows(catalogue, f"SELECT DISTINCT ?p WHERE {{ GRAPH graph:holds {{ ?p a bl:Pattern ; {f} {v} ; {g} {w} }} }}")
        assert set(matcher.table.names(both)) == {r["p"] for r in asked}, (f, v, g, w)
        some += bool(asked)
    assert some >= 5


@pytest.mark.parametrize("file", QUESTIONS, ids=lambda f: f.stem[:3])
def test_the_whole_answer_is_the_answer_of_ask(catalogue, matcher, file: Path) -> None:
    sentence = tomllib.loads(file.read_text(encoding="utf-8"))["sentence"]
    question = catalogue.parse(sentence)
    if not isinstance(question, nodes.Filter | nodes.Count):
        return
    answer = catalogue.answer(question, sentence, limit=1000)
    found = matcher.find(question.expr)
    assert set(matcher.table.names(found.true)) == {m.name for m in answer.matches}
    listed = {p.name for p in answer.possible} | {d.name for d in answer.disputed} - {m.name for m in answer.matches}
    assert {p.name for p in answer.possible} <= set(matcher.table.names(found.open))
    assert set(matcher.table.names(found.open)) <= listed
    reasoned = set(matcher.table.names(matcher.inferred(question.expr, found.true)))
    assert reasoned == {m.name for m in answer.matches if m.inferred}


def test_values_never_taught_are_those_of_sparql(catalogue, covered, objective, session) -> None:
    found = covered(session("S", SHOWN) + objective("O", question="scissors"))
    query = f"""SELECT DISTINCT ?f ?v WHERE {{
      GRAPH graph:holds {{ ?x a bl:Pattern ; ?f ?v }} FILTER(isIRI(?v))
      FILTER NOT EXISTS {{ {among_taught()} GRAPH graph:holds {{ ?p ?f ?v }} }} }}"""
    wanted = set()
    for row in rows(catalogue, query):
        if row["f"] in catalogue.vocabulary.features:
            wanted.add((row["f"], catalogue.vocabulary.label(row["v"])))
        elif row["f"] == names.HAS_PART:
            wanted.add((row["v"], "there"))
    assert {(g.name, label) for g in found.feature_gaps for label, _ in g.values} == wanted
    assert len(wanted) > 200


def test_families_are_those_of_sparql(catalogue, covered, objective, session) -> None:
    found = covered(session("S", SHOWN) + objective("O", question="scissors"))
    query = """SELECT ?k (COUNT(DISTINCT ?p) AS ?n) WHERE { GRAPH graph:holds { ?p a bl:Pattern ; bl:ofKind ?k }
      FILTER NOT EXISTS { GRAPH graph:terms { ?k skos:broader ?above } } } GROUP BY ?k"""
    assert {g.name: g.in_catalogue for g in found.families} == {r["k"]: int(r["n"]) for r in rows(catalogue, query)}
    query = f"SELECT ?k ?p WHERE {{ {among_taught()} GRAPH graph:holds {{ ?p bl:ofKind ?k }} }}"
    kinds = [r["k"] for r in rows(catalogue, query)]
    assert {g.name: g.taught for g in found.families if g.taught} == {
        g.name: kinds.count(g.name) for g in found.families if g.name in kinds
    }


def test_categories_are_those_of_sparql(catalogue, covered, objective, session) -> None:
    found = covered(session("S", SHOWN) + objective("O", question="scissors"))
    query = "SELECT ?c (COUNT(DISTINCT ?p) AS ?n) WHERE { GRAPH graph:holds { ?p a bl:Pattern, ?c } } GROUP BY ?c"
    counts = {r["c"]: int(r["n"]) for r in rows(catalogue, query)}
    assert {g.name: g.in_catalogue for g in found.categories} == {
        c: n for c, n in counts.items() if c in catalogue.vocabulary.definitions
    }


# --- how objectives stand -------------------------------------------------------------------------------------------
def test_the_course_lacks_it_or_the_catalogue_lacks_it(covered, objective, session) -> None:
    text = session("S", ["Kelly forceps"])
    text += objective("A", question="artery forceps") + objective("B", question="artery forceps", minimum=2)
    text += objective("C", question="artery forceps", minimum=400) + objective("D", question="crushing non-crushing clamps")
    a, b, c, d = covered(text).objectives
    assert (a.status, a.met, a.lacks) == (Status.MET, True, "")
    assert (b.status, b.met, b.lacks) == (Status.SHORT, False, "course")
    assert b.helpful and "Kelly forceps" not in b.helpful
    assert (c.status, c.lacks) == (Status.SHORT, "catalogue")
    assert (d.status, d.met) == (Status.IMPOSSIBLE, False)


def test_prose_is_proposed_and_never_counts_as_met(covered, objective, session) -> None:
    text = session("S", ["Mayo scissors"])
    text += (
        objective("P", text="Name the scissors") + objective("U", text="Be calm") + objective("X", text="Pass", outside="skill")
    )
    text += objective("N", question="scissors", confirmed=False)
    p, u, x, n = covered(text).objectives
    assert (p.status, p.met, p.would_be_met, p.reading, p.words) == (
        Status.UNCONFIRMED, False, True, "scissors", ("scissors",),
    )  # fmt: skip
    assert (u.status, u.met) == (Status.UNMAPPED, False)
    assert (x.status, x.outside) == (Status.OUTSIDE, "skill")
    assert (n.status, n.would_be_met) == (Status.UNCONFIRMED, True)


def test_a_comparison_needs_each_of_its_subjects(covered, objective, session) -> None:
    text = session("S", ["Kelly forceps", "curved Kelly forceps"]) + objective("O", question="compare Kelly and Crile")
    only = covered(text).objectives[0]
    assert (only.minimum, only.count, only.status, only.wanting) == (2, 2, Status.SHORT, ("Crile forceps",))
    assert "Crile forceps" in only.helpful and not any("Kelly" in label for label in only.helpful)
    assert len(only.helpful) == only.helpful_count
    both = covered(text.replace("curved Kelly forceps", "Crile forceps")).objectives[0]
    assert both.met


def test_without_a_list_the_whole_answer_counts_and_the_report_says_so(covered, objective) -> None:
    found = covered(objective("O", question="towel clips", minimum=8))
    assert not found.listed
    assert found.objectives[0].met
    assert any("does not list what it shows" in n for n in found.notes)
    assert {n for n, _ in found.taught} == {n for n, _ in found.objectives[0].instruments}


def test_a_list_takes_names_and_questions(covered, objective, session) -> None:
    found = covered(session("S", ["Kelly forceps", "towel clips"]) + objective("O", question="towel clips"))
    assert found.listed
    assert len(found.taught) == 1 + found.objectives[0].in_catalogue


def test_what_the_file_claims_is_held_against_the_catalogue(covered, objective) -> None:
    claimed = ["Allis tissue forceps", "Babcock forceps", "Kelly forceps"]
    found = covered(objective("O", question="traumatic tissue forceps", met_by=claimed))
    verdicts = {c.label: c.verdict for c in found.objectives[0].claims}
    assert verdicts["Allis tissue forceps"] == "so"
    assert verdicts["Babcock tissue forceps"] == "contradicted"
    assert [c.label for _, c in found.contradictions if "atraumatic" in c.reason] == ["Babcock tissue forceps"]
    assert not found.complete
    assert found.objectives[0].met  # by the one that is right


def test_instruments_that_no_objective_reaches(catalogue, covered, objective, session) -> None:
    found = covered(session("S", ["Mayo scissors", "Kelly forceps"]) + objective("O", question="scissors"))
    assert [label for _, label in found.idle] == ["Kelly forceps"]
    missed = {n for _, group in found.unreached for n, _ in group}
    assert (
        len(missed) + found.objectives[0].in_catalogue == len(found.families and {*missed}) + found.objectives[0].in_catalogue
    )
    assert "bl:KellyForceps" in missed and "bl:MayoScissors" not in missed


def test_look_alikes_are_split_by_sessions(covered, objective, session) -> None:
    scissors = objective("O", question="artery forceps")
    apart = covered(session("A", ["Kelly forceps"]) + session("B", ["Crile forceps"]) + scissors)
    pair = {"Kelly forceps", "Crile forceps"}
    (split,) = [p for p in apart.split_pairs if {label for _, label in p.pair} == pair]
    assert split.how == "different sessions"
    assert "extent of the serration" in split.signs
    together = covered(session("A", ["Kelly forceps", "Crile forceps"]) + scissors)
    assert not [p for p in together.split_pairs if {label for _, label in p.pair} == pair]
    assert together.contrasted_pairs == 1
    compared = covered(
        session("A", ["Kelly forceps"]) + session("B", ["Crile forceps"]) + objective("O", question="compare Kelly and Crile")
    )
    assert not [p for p in compared.split_pairs if {label for _, label in p.pair} == pair]
    alone = [p for p in apart.split_pairs if p.how == "one is not taught"]
    assert alone and all(p.pair[0][1] in pair and p.pair[1][1] not in pair for p in alone)


def test_too_much_is_said(covered, objective, session) -> None:
    text = (
        session("A", ["Kelly forceps", "towel clips"])
        + session("B", ["Kelly forceps"])
        + objective("O", question="towel clips")
    )
    found = covered(text)
    assert found.repeated == ((("bl:KellyForceps", "Kelly forceps"), ("A", "B")),)
    assert found.crowded == ("O",)


def test_values_on_some_pieces_are_marked(covered, objective, session) -> None:
    """The Kelly forceps is made straight or curved: neither is shown for certain, both on some pieces."""
    found = covered(session("S", ["Kelly forceps"]) + objective("O", question="artery forceps"))
    (curvature,) = [g for g in found.feature_gaps if g.name == "bl:curvature"]
    assert {"curved", "straight"} <= set(curvature.on_some)
    assert {label for label, _ in curvature.values} > {"curved", "straight"}


def test_the_share_is_of_the_weight(covered, objective, session) -> None:
    text = session("S", ["Kelly forceps"]) + objective("A", question="artery forceps", weight=3)
    text += objective("B", question="towel clips", weight=1) + objective("X", text="Pass", outside="skill")
    assert covered(text).summary() == {
        "met": 1, "short": 1, "impossible": 0, "unconfirmed": 0, "unmapped": 0, "outside": 1, "weight_met": 0.75,
    }  # fmt: skip


def test_a_proposal_reads_whole_names() -> None:
    """ "and towel" of "retractors and towel clips" is no drape."""
    from kg import open_catalogue
    from kg.course.proposals import propose

    lexicon = open_catalogue().lexicon
    found = propose("Handle self-retaining retractors and towel clips", lexicon)
    assert found is not None
    assert found.words == ("self-retaining retractors", "towel clips")
    assert propose("Keep the key points in mind", lexicon) is None


# --- two courses ----------------------------------------------------------------------------------------------------
def test_what_differs_between_two_versions(covered, objective, session) -> None:
    from kg.course.compare_curricula import changes

    old = covered(
        session("A", ["Kelly forceps"])
        + objective("O1", question="artery forceps", minimum=2)
        + objective("O2", question="scissors"),
        "old.toml",
    )
    new = covered(
        session("A", ["Kelly forceps", "Crile forceps"])
        + objective("O1", question="artery forceps", minimum=2)
        + objective("O3", question="clamps", weight=2),
        "new.toml",
    )
    found = changes(old, new)
    assert (found.added, found.removed) == (("O3",), ("O2",))
    assert found.moved == (("O1", "short: the course lacks it", "met"),)
    assert found.taught_added == (("bl:CrileForceps", "Crile forceps"),)
    assert found.taught_removed == ()
    assert "extent of the serration: serrated over the full length" in found.values_gained
    assert not found.values_lost
    assert found.share == (0.0, 1.0)
    assert not found.same
    assert changes(new, new).same


def test_a_minimum_raised_is_told(covered, objective) -> None:
    from kg.course.compare_curricula import changes

    old, new = (covered(objective("O", question="towel clips", minimum=n)) for n in (1, 100))
    assert changes(old, new).reworded == (("O", "minimum", "1", "100"),)
    assert changes(old, new).moved == (("O", "met", "short: the catalogue lacks it"),)


def test_all_at_once_is_one_by_one(catalogue, matcher) -> None:
    """The sets of patterns are what ``truth.evaluate`` says of each, for categories, their negations and mixtures."""
    from kg.truth import evaluate, normalise

    rng = random.Random(3)
    vocabulary = catalogue.vocabulary
    values = [nodes.Has(t.feature, t.name) for t in vocabulary.by_role("value") if t.feature in vocabulary.features]
    kinds = [nodes.IsA(c) for c in sorted(vocabulary.definitions)]
    exprs: list[nodes.Expr] = []
    for _ in range(25):
        one, other, value = rng.choice(kinds), rng.choice(kinds), rng.choice(values)
        exprs += [one, nodes.Not(one), nodes.And((one, nodes.Not(value))), nodes.Or((other, nodes.And((one, value))))]
        exprs += [nodes.Not(nodes.And((one, other))), nodes.And((nodes.Not(one), nodes.Length(">", 150.0)))]
    for expr in exprs:
        found = matcher.find(expr)
        form = normalise(expr, vocabulary)
        for place, name in enumerate(matcher.table.patterns):
            value = evaluate(form, matcher.known(name), vocabulary)
            assert (found.true >> place & 1, found.open >> place & 1) == (value == 1, value == 0), (expr, name)
