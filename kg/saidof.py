"""Yes or no of what a question says of named instruments where the answer is a table: of each value that it names ("are the
handles of the Mathieu finger rings?"), of each half of "is the Kelly toothed and the Kocher not?", of each family of "is it a
clamp or a retractor?"."""

from __future__ import annotations

import re
from contextlib import suppress
from itertools import pairwise
from typing import TYPE_CHECKING

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.tokens import NUMBER
from kg.model import VARIES
from kg.records import replace
from kg.wording import capital, listing

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language.nodes import Expr
    from kg.model import Answer
    from kg.yesno import Asked

MOST_NAMESAKES = 8
MOST_NAMED = (2, 3)
"""A name that is taken apart has so many words."""
MOST = 3
"""Of more values than these it is not told at once how they stand."""
_ONE = re.compile(r"\s+ones?(?=\s|$)")
_MANY = frozenset({"pattern"})
_YES, _NO, _SOME, _OPEN = "yes", "no", "some pieces", "not recorded"


# --- each value ------------------------------------------------------------------------------------------------------
def of_values(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """How each value stands that a question names of the one instrument whose values are told."""
    tree, vocabulary = out.tree, catalogue.vocabulary
    if not isinstance(tree, nodes.Value):
        return ""
    if vocabulary.terms[tree.subject].role != "pattern":
        return _of_a_family(catalogue, tree, asked)
    either = asked.says("only") and asked.says("or")
    if asked.says("not") or asked.says("none") or (asked.says("only") and not either) or asked.says("neither"):
        return ""
    if asked.says("differ") or asked.says("same") or names.HAS_PART in tree.features:
        return ""
    if any(t.kind == NUMBER or t.key in catalogue.lexicon.words.numbers for t in asked.parser.tokens):
        return ""  # "are its teeth one into two?" asks for more than teeth
    terms = asked.terms((vocabulary.label(tree.subject),))
    values = [t for kind, t in terms if kind == "value"]
    if any(vocabulary.terms[t].feature not in tree.features for t in values):
        return ""
    if len(tree.features) > 1 and any(f in catalogue.lexicon.words.besides for f in tree.features):
        return ""  # what it is used for has several features; one of them alone denies nothing
    about = {vocabulary.features[f].part for f in tree.features if f in vocabulary.features}
    parts = [t for kind, t in terms if kind == "part" and t not in about and ("feature", t) not in terms]
    said: list[Expr] = [nodes.Has(vocabulary.terms[t].feature, t) for t in values] or [nodes.HasPart(t) for t in parts]
    if not 0 < len(said) <= MOST:
        return ""
    stand = [_stands(catalogue, tree.subject, expr) for expr in said]
    label = [vocabulary.label(t) for t in values or parts]
    if len(set(stand)) > 1:
        return capital("; ".join(f"{name}: {how}" for name, how in zip(label, stand, strict=True))) + "."
    if stand[0] == _SOME and len(label) > 1:
        lead = "Yes, both" if asked.joins_all and not asked.says("only") else "Both"
        return f"{lead}: {listing(label)}, each of some pieces."
    return _in_words(stand[0], listing(label))


def both_of_one(catalogue: Catalogue, out: Answer, text: str) -> Answer | None:
    """The answer where two words before one noun were taken apart and nothing is recorded so ("is it made with both sharp and
    blunt prongs?"): that of the one feature that both are values of; else None."""
    tree, words = out.tree, catalogue.lexicon.words.yesno
    if not isinstance(tree, nodes.Holds) or out.argument is None or out.argument.holds is True:
        return None
    one, joined = ("|".join(map(re.escape, words.get(name, ())[:1])) for name in ("both", "and"))
    found = re.search(rf"\b(?:{one})\s+([\w-]+)\s+(?:{joined})\s+([\w-]+)\s+([\w-]+)[\s?.!]*$", text, re.IGNORECASE)
    if found is None:
        return None
    left, right, noun = found.groups()
    said = f"does the {catalogue.vocabulary.label(tree.pattern)} have {left} {noun} or {right} {noun}?"
    with suppress(QuestionError):
        told = catalogue.ask(said, limit=1)
        if isinstance(told.tree, nodes.Value) and told.tree.subject == tree.pattern and len(told.tree.features) == 1:
            verdict = told.verdict.replace("Both:", "Yes, both:", 1)
            return replace(told, question=text, verdict=verdict) if verdict and told.unread is None else None
    return None


def _of_a_family(catalogue: Catalogue, tree: nodes.Value, asked: Asked) -> str:
    """Whether a family has members with each of two values that are joined ("do artery forceps come both straight and
    curved?"); empty where it is not recorded of both."""
    vocabulary = catalogue.vocabulary
    values = [t for kind, t in asked.terms((vocabulary.label(tree.subject),)) if kind == "value"]
    if not asked.joins_all or any(asked.says(w) for w in ("not", "none", "only", "always", "same", "differ", "neither")):
        return ""
    if len(values) != 2 or any(vocabulary.terms[t].feature not in tree.features for t in values):
        return ""
    if vocabulary.terms[tree.subject].role != "category":
        return ""
    label = [vocabulary.label(t) for t in values]
    for value in values:
        expr = nodes.And((nodes.IsA(tree.subject), nodes.Has(vocabulary.terms[value].feature, value)))
        found = catalogue.answer(nodes.Filter(expr), "", limit=1000)
        if not found.matches and not any(p.only_as(VARIES) for p in found.possible):
            return ""
    return f"Yes, both: {listing(label)}, each of some of them."


def _in_words(how: str, label: str) -> str:
    if how == _YES:
        return f"Yes, by what is recorded: {label}."
    if how == _NO:
        return f"No, by what is recorded: not {label}."
    return "Yes, of some pieces: it is made both ways." if how == _SOME else f"Not recorded: {label}."


def _stands(catalogue: Catalogue, pattern: str, expr: Expr) -> str:
    """Whether something is so of one instrument: yes, no, of some pieces, or not recorded."""
    found = catalogue.answer(nodes.Holds(pattern, expr), "", limit=1)
    return _of(found)


def _of(found: Answer) -> str:
    argument = found.argument
    if argument is None:
        return ""
    if isinstance(argument.holds, bool):
        return _YES if argument.holds else _NO
    varies = argument.missing and all(f"({VARIES}: " in m for m in argument.missing)
    return _SOME if varies else _OPEN


# --- two halves ------------------------------------------------------------------------------------------------------
def _joints(catalogue: Catalogue) -> re.Pattern[str]:
    return re.compile(rf",?\s+(?:{'|'.join(catalogue.lexicon.words.yesno.get('halves', ()))})\s+")


def _denial(catalogue: Catalogue) -> re.Pattern[str]:
    words = sorted(catalogue.lexicon.words.yesno.get("half_not", ()), key=len, reverse=True)
    return re.compile(rf"\s+(?:{'|'.join(map(re.escape, words))})$", re.IGNORECASE)


def evened(catalogue: Catalogue, text: str) -> str:
    """A question whose second half only denies what the first says, its halves joined by the plain word ("... but the Kelly
    isn't?"); any other as it is."""
    bare = text.rstrip(" ?.!").replace("\u2019", "'")
    joints, denied = list(_joints(catalogue).finditer(bare)), _denial(catalogue).search(bare)
    if denied is None or len(joints) != 1 or denied.start() <= joints[0].end():
        return text
    from kg.yesno import Asked

    words = catalogue.lexicon.words.yesno
    if not Asked(catalogue, text).opens("verbs"):
        return text
    joint = joints[0]
    return f"{bare[: joint.start()]} {words['halves'][0]} {bare[joint.end() : denied.start()]} {words['half_not'][0]}"


def of_halves(catalogue: Catalogue, out: Answer, asked: Asked, text: str) -> str:
    """Whether it is so what is said of one instrument and, behind "and" or "but", of another."""
    if len(getattr(out.tree, "subjects", ())) != 2 or not asked.opens("verbs"):
        return ""
    bare = text.rstrip(" ?.!").replace("\u2019", "'")
    for joint in _joints(catalogue).finditer(bare):
        left, right = bare[: joint.start()], _ONE.sub("", bare[joint.end() :])
        told = _both(catalogue, out.tree.subjects, left, right)
        if told:
            return told
    return ""


def _both(catalogue: Catalogue, subjects: tuple[str, ...], left: str, right: str) -> str:
    from kg.yesno import Asked

    denied = _denial(catalogue).search(right)
    one, other = (Asked(catalogue, half).named(*_MANY) for half in (left, right[: denied.start()] if denied else right))
    if len(one) != 1 or len(other) != 1:
        return ""
    label = catalogue.vocabulary.label
    (typed, meant), (again, others) = one[0], other[0]
    of_one, of_other = ([s for s in subjects if s in found] for found in (meant, others))
    if len(of_one) != 1 or len(of_other) != 1:
        return ""
    first = _half(catalogue, left.replace(typed, label(of_one[0]), 1))
    if first is None or first[0] not in subjects:
        return ""
    verb, right = left.split()[0], right.replace(again, label(of_other[0]), 1)
    if denied:
        second = _half(catalogue, left.replace(typed, label(of_other[0]), 1))
    else:
        second = _half(catalogue, f"{verb} {right}") or _half(catalogue, f"is it true that {right}")
    if second is None or second[0] not in subjects or second[0] == first[0]:
        return ""
    turned = {_YES: _NO, _NO: _YES}
    how = (first[1], turned.get(second[1], second[1]) if denied else second[1])
    lead = "Yes" if set(how) == {_YES} else "No" if _NO in how else "Not decided" if _OPEN in how else "In part"
    each = "; ".join(f"{label(pattern)}: {stands}, {said}" for pattern, stands, said in (first, second))
    return f"{lead}. {each}."


def _half(catalogue: Catalogue, text: str) -> tuple[str, str, str] | None:
    """The instrument, whether it is so, and what was asked, of a question of one instrument that is read whole."""
    with suppress(QuestionError):
        found = catalogue.ask(text + "?", limit=1)
        if isinstance(found.tree, nodes.Holds) and found.unread is None and not any("Passed over" in n for n in found.notes):
            from kg.language.say import say_expr

            said = say_expr(found.tree.expr, catalogue.lexicon)
            return found.tree.pattern, _of(found), re.sub(r"^instruments (?:that are )?| instruments$", "", said)
    return None


# --- one of several families -----------------------------------------------------------------------------------------
def of_families(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Which of the families that a question names an instrument belongs to."""
    if not isinstance(out.tree, nodes.Filed) or not asked.says("or") or asked.says("not"):
        return ""
    label = catalogue.vocabulary.label(out.tree.pattern)
    how: dict[str, str] = {}
    for typed, meant in asked.named("category", "kind", "group"):
        if out.tree.pattern in meant or typed.casefold() == label.casefold():
            continue
        with suppress(QuestionError):
            found = catalogue.ask(f"is the {label} a {typed}?", limit=1)
            if isinstance(found.tree, nodes.Holds) and found.unread is None:
                how[typed] = _of(found)
            elif _called(catalogue, out.tree.pattern, typed):
                how[typed] = _YES
    yes = [typed for typed, stands in how.items() if stands == _YES]
    if len(how) < 2 or not yes:
        return ""
    if len(yes) == len(how):
        return f"Both: {' and '.join(yes)}." if len(yes) == 2 else ""
    return capital("; ".join(f"{typed}: {how[typed]}" for typed in sorted(how, key=lambda t: how[t] != _YES))) + "."


def _called(catalogue: Catalogue, pattern: str, typed: str) -> bool:
    """Whether an instrument is one of those that bear a last name, as "elevators" are told in a list."""
    with suppress(QuestionError):
        found = catalogue.ask(f"which instruments are {typed}s?", limit=1000)
        return isinstance(found.tree, nodes.Filter) and found.unread is None and pattern in {m.name for m in found.matches}
    return False


def of_namesakes(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Which of those of one last name belong to which family, where it is asked which of two it is ("is the Volkmann a
    retractor or a curette?"); empty where another word stands in the question, or none belongs to any."""
    expr = out.tree.expr if isinstance(out.tree, nodes.Filter) else None
    row = isinstance(expr, nodes.Or) and all(isinstance(i, nodes.Named) for i in expr.items)
    if not (row or isinstance(expr, nodes.CalledAfter)) or not out.matches:
        return ""
    families = asked.named("category", "kind", "group")
    typed = {key for said, _ in families for key in catalogue.lexicon.keys(said)}
    left = [w for w in out.unread or () if not set(catalogue.lexicon.keys(w)) <= typed]
    if not asked.wants or not asked.says("or") or asked.says("not") or len(families) != 2 or left:
        return ""
    of_each: list[tuple[str, list[str]]] = []
    for said, _ in families:
        members = []
        for one in out.matches[:MOST_NAMESAKES]:
            with suppress(QuestionError):
                found = catalogue.ask(f"is the {one.label} a {said}?", limit=1)
                belongs = isinstance(found.tree, nodes.Holds) and found.unread is None and _of(found) == _YES
                if belongs or _called(catalogue, one.name, said):
                    members.append(one.label)
        of_each.append((said, members))
    if not any(members for _, members in of_each):
        return ""
    each = "; ".join(f"{said}: {listing(members) if members else 'none of them'}" for said, members in of_each)
    lead = "Both, as several bear the name. " if all(members for _, members in of_each) else ""
    return f"{lead}{capital(each)}."


def called_so(catalogue: Catalogue, out: Answer, text: str) -> Answer | None:
    """What an instrument is, where it is asked to be something that only one of its names says ("is the Coupland a chisel?": it
    is called Coupland chisel); None if it is that, or has no such name."""
    from kg.language.parse import parser_for

    tree = out.tree
    if not isinstance(tree, nodes.Holds) or out.argument is None or out.argument.holds is True:
        return None
    parser, articles = parser_for(text.rstrip(" ?.!"), catalogue.lexicon), catalogue.lexicon.words.articles
    left = [at for at, token in enumerate(parser.tokens) if token.key not in articles and "kw.be" not in parser.kinds(at)]
    if not MOST_NAMED[0] <= len(left) <= MOST_NAMED[1] or any(b - a > MOST_NAMED[0] for a, b in pairwise(left)):
        return None
    if "kw.be" not in parser.kinds(0):
        return None
    name = " ".join(parser.quote(at) for at in left)
    if not any(e.kind == "pattern" and e.term == tree.pattern for e in catalogue.lexicon.entries(name)):
        return None
    found = catalogue.answer(nodes.Define(tree.pattern), text, limit=1)
    return replace(found, verdict=f"By name it is: it is also called {name}.")


def whoever_bears_it(catalogue: Catalogue, error: QuestionError, text: str) -> Answer | None:
    """The answer to "is the Sims a speculum or a curette?", where several bear the name; None if anything else is asked."""
    bearers = []
    for reading in error.readings[:MOST_NAMESAKES]:
        with suppress(QuestionError):
            found = catalogue.understand(reading)
            if isinstance(found.question, nodes.Filed) and found.unread is None:
                bearers.append(found.question.pattern)
    if error.code != "BL-Q05" or len(bearers) < 2 or len(bearers) != len(error.readings):
        return None
    from kg.yesno import Asked

    out = catalogue.answer(nodes.Filter(nodes.Or(tuple(nodes.Named(b) for b in bearers))), text, limit=MOST_NAMESAKES)
    verdict = of_namesakes(catalogue, out, Asked(catalogue, text))
    return replace(out, verdict=verdict) if verdict else None


def of_last_name(catalogue: Catalogue, out: Answer, asked: Asked) -> str:
    """Yes where an instrument is asked to be one of a last name and is ("is the Howarth an elevator?")."""
    parser, groups = asked.parser, asked.named("group")
    light = {"filler", "kw.be", "pattern", "group"}
    if not isinstance(out.tree, nodes.Describe) or len(groups) != 1 or len(asked.named("pattern")) != 1:
        return ""
    if not asked.opens("verbs") or any(not parser.kinds(at) & light for at in range(len(parser.tokens))):
        return ""
    if not _called(catalogue, out.tree.pattern, groups[0][0]):
        return ""
    return f"Yes: {catalogue.vocabulary.label(out.tree.pattern)}."


__all__ = [
    "both_of_one",
    "called_so",
    "of_families",
    "of_halves",
    "of_last_name",
    "of_namesakes",
    "of_values",
    "whoever_bears_it",
]
