"""Look-alikes against brute force over the whole catalogue: none is missed, none is too many."""

from __future__ import annotations

import pytest

from kg import names
from kg.answer.lookalikes import SHARE, answer_look_alikes, look_alike_pairs
from kg.answer.visible import table
from kg.truth import INAPPLICABLE, domain, possible


@pytest.fixture(scope="module")
def seen(catalogue):
    """pattern -> visible slot -> possible values where something is recorded, read pattern by pattern."""
    ctx = catalogue.context
    slots = [c.slot for c in table(ctx).columns if c.slot != names.LENGTH]
    facts = ctx.reader.facts([t.name for t in ctx.vocabulary.by_role("pattern")])
    whole = {s: domain(s, ctx.vocabulary) for s in slots}
    out = {}
    for p, record in facts.items():
        found = {s: possible(s, record.known, ctx.vocabulary) for s in slots}
        out[p] = {s: v for s, v in found.items() if v != whole[s] and v != frozenset({INAPPLICABLE})}
        if record.known.length:
            out[p][names.LENGTH] = record.known.length
    return out


def _near(a, b, differences, least) -> bool:
    both = [s for s in a if s in b]
    different = sum(_apart(s, a[s], b[s]) for s in both)
    gone = frozenset({names.LACKS_PART})
    shared = sum(not (a[s] == gone == b[s]) for s in both)
    known = max(sum(v != gone for v in record.values()) for record in (a, b))
    return different <= differences and shared >= least and shared * SHARE >= known


def _apart(slot, a, b) -> bool:
    return (a[1] < b[0] or b[1] < a[0]) if slot == names.LENGTH else not a & b


@pytest.mark.parametrize(("differences", "least"), [(0, 4), (1, 4), (2, 4), (3, 7), (2, 1)])
def test_all_pairs_and_no_others(catalogue, seen, differences, least) -> None:
    roots = [p for p in sorted(seen) if not catalogue.vocabulary.ancestors(p)]
    expected = {(p, q) for i, p in enumerate(roots) for q in roots[i + 1 :] if _near(seen[p], seen[q], differences, least)}
    found = list(look_alike_pairs(catalogue.context, differences=differences, shared=least))
    assert len(found) == len(set(found))
    assert set(found) == expected
    assert expected or differences == 0


def test_pairs_are_symmetric(catalogue) -> None:
    pairs = set(look_alike_pairs(catalogue.context))
    for p in ("bl:KellyForceps", "bl:BabcockForceps"):
        found = {a.name for a in answer_look_alikes(catalogue.context, p).look_alikes}
        assert found == {q if p == r else r for r, q in pairs if p in (r, q)}


def test_the_classic_pair_with_its_deciding_sign(catalogue) -> None:
    """Kelly and Crile differ in the extent of the serration alone (VetSurgeryOnline, Hemostatic Forceps, ch. 3)."""
    alike = {a.label: a for a in catalogue.ask("look-alikes of Kelly forceps").look_alikes}
    signs = alike["Crile forceps"].signs
    assert signs == (("extent of the serration", "serrated over the distal half", "serrated over the full length"),)
    assert not {"curved Kelly forceps", "straight Kelly forceps", "curved Crile forceps"} & set(alike)


def test_every_sign_is_one_of_the_differences(catalogue) -> None:
    for a in catalogue.ask("look-alikes of Babcock tissue forceps").look_alikes:
        assert len(a.signs) <= 2
        assert all(here != there for _, here, there in a.signs)


@pytest.mark.parametrize("text", ["look-alikes of Kelly forceps", "what looks like the Kelly forceps", "lookalikes for Kelly"])
def test_asked_in_words(catalogue, text) -> None:
    found = catalogue.ask(text)
    assert found.kind == "look-alikes"
    assert found.to_json()["look_alikes"][0].keys() >= {"iri", "label", "deciding_signs"}
