"""Short replies that take the question before up again: "shortest then", "look-alikes?", "which clamps have it?", "and a screw
joint?", "the second lot".

Each is read only together with what went before; what comes out is a whole question, with which the answer begins.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.entries import CONTENT
from kg.language.joining import conj, family_in, names_family
from kg.language.lexicon import Lexicon
from kg.language.nodes import Question
from kg.language.parse import parse, parser_for
from kg.language.parse_forms import FormParser
from kg.language.tokens import SYMBOL

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.talk import Talk

_OF_SEVERAL = (nodes.Filter, nodes.Count, nodes.Group, nodes.Extreme, nodes.Compare, nodes.Contrast, nodes.LookAlikes)
_OF_ONE = (nodes.Define, nodes.Value, nodes.Describe, nodes.Sources, nodes.Disputes, nodes.Reprocessing)
MOST_FRAGMENT = 5
"""A longer text is no fragment of a question."""
MOST_WORDS = 4
"""A longer text is no short reply."""
_EXPLAINED = ("value", "part", "concept")
_NAMES = frozenset(("pattern", "category", "kind", "group", "value", "kw.which", "kw.why", "kw.no", "kw.not", "kw.without"))


def resumed(text: str, lexicon: Lexicon, before: Before) -> Question | None:
    """The question that a short reply asks; None if it is none."""
    question = before.question
    if isinstance(question, nodes.Extreme | nodes.Tally):
        return _other_end(parser_for(text, lexicon), question)
    if isinstance(question, nodes.PartOf):
        found = _having_it(text, lexicon, nodes.Define(question.part))
        whole = nodes.IsA(question.subject) if lexicon.vocabulary.terms[question.subject].role == "category" else None
        if isinstance(found, nodes.Filter) and whole is not None and not names_family(found.expr):
            return nodes.Filter(conj([whole, found.expr]))  # "what is the ratchet of a needle holder for?", "which have it?"
        return found
    if isinstance(question, nodes.Define | nodes.DefineAll):
        return _term_too(parser_for(text, lexicon), question) or _having_it(text, lexicon, question)
    if isinstance(question, nodes.Counts):
        return _one_of_the_counts(parser_for(text, lexicon), question)
    if (
        isinstance(question, nodes.Filter | nodes.Count)
        and (found := _the_others(parser_for(text, lexicon), question)) is not None
    ):
        return found
    if isinstance(question, nodes.Filter) and _some_of_them(parser_for(text, lexicon)):
        return question
    if isinstance(question, nodes.Quantified) and _only_which(parser_for(text, lexicon)):
        return nodes.Filter(conj([question.scope, question.expr]))
    if isinstance(question, nodes.Holds) and (found := _which_then(parser_for(text, lexicon), question)) is not None:
        return found
    return None


def of_it(text: str, lexicon: Lexicon, before: Before) -> Question | None:
    """What a few words ask of the one instrument that went before ("look-alikes?", "length?", "who says so?"); None if they
    name or bound anything themselves."""
    subjects = before.subjects(lexicon)
    parser = parser_for(text, lexicon)
    tokens = parser.tokens
    if len(subjects) != 1 or not 0 < len(tokens) <= MOST_WORDS:
        return None
    if any(parser.kinds(at) & _NAMES for at in range(len(tokens))):
        return None
    if any(end == len(tokens) and any(e.kind.startswith("askend") for e in es) for end, es in parser.phrases(0)):
        return None  # "go on"
    if all(parser.kinds(at) <= {"filler"} for at in range(len(tokens))) and not any(
        lexicon.is_known(t.key) and not parser.phrases(at) for at, t in enumerate(tokens)
    ):
        return None  # "thanks"
    name, said = lexicon.vocabulary.label(subjects[0]), text.rstrip(" ?.!")
    for asked in (f"what is {name} {said}", f"{said} {lexicon.word('of')} {name}", f"{said} for {name}", f"{said} {name}"):
        with suppress(QuestionError):
            found = parse(asked, lexicon)
            if subjects[0] in (getattr(found, field, None) for field in ("subject", "pattern", "term", "category")):
                return found
    return None


def _other_end(parser: FormParser, question: nodes.Extreme | nodes.Tally) -> Question | None:
    """ "and the shortest?", "now the five shortest", "the largest of those?" """
    from kg.records import replace

    parser.take("kw.and_what_of", quiet=True)
    parser.take("kw.which_is", "kw.which", quiet=True)
    parser.take("kw.be", quiet=True)
    number = parser._listed_number()
    match = parser.take("kw.longest", "kw.shortest", "kw.most_of", "kw.fewest_of", quiet=True)
    parser.take("kw.ones", "kw.remaining", quiet=True)
    parser.take("kw.of", quiet=True)
    parser.take("kw.them", quiet=True)
    if match is None or not parser.ended():
        return None
    most = match.entry.kind in ("kw.longest", "kw.most_of")
    if isinstance(question, nodes.Tally):
        return replace(question, pick="most" if most else "fewest")
    return replace(question, most=most, by="length", number=number) if question.by != "range" else None


def _term_too(parser: FormParser, question: nodes.Define | nodes.DefineAll) -> Question | None:
    """ "And a screw joint?": what another word of the trade means; where several were asked for, that one as well"""
    asked = parser.lexicon.vocabulary.terms[question.term].role if isinstance(question, nodes.Define) else ""
    if asked in ("pattern", "category") or not parser.take("kw.and_what_of", quiet=True):
        return None  # "and its length?" asks for no meaning
    parser.symbol(",")
    term = parser.term()
    if term is None or not parser.ended():
        return None
    if isinstance(question, nodes.DefineAll):
        return nodes.DefineAll(tuple(dict.fromkeys((*question.terms, term))))
    return nodes.Define(term)


def explained(text: str, lexicon: Lexicon) -> str:
    """The one value or part that a question asked about; empty if there are several."""
    parser, found, at = parser_for(text, lexicon), [], 0
    while at < len(parser.tokens):
        longest = max((end for end, es in parser.phrases(at) if any(e.kind in (*CONTENT, "concept") for e in es)), default=at)
        named = [e.term for end, es in parser.phrases(at) if end == longest for e in es if e.kind in _EXPLAINED]
        found += named[:1]
        at = max(longest, at + 1)
    return found[0] if len(set(found)) == 1 else ""


def _having_it(text: str, lexicon: Lexicon, question: nodes.Define | nodes.DefineAll) -> Question | None:
    """ "Which clamps have it?" after the meaning of a sign or a part was asked: the list of those that have it"""
    term = getattr(question, "term", "")
    if not term or lexicon.vocabulary.terms[term].role not in ("value", "part"):
        return None
    parser = parser_for(text, lexicon)
    found = [
        (at, end)
        for at in range(len(parser.tokens))
        for end, entries in parser.phrases(at)
        if any(e.kind in ("kw.it", "kw.them") for e in entries) and not any(e.kind == "kw.instrument" for e in entries)
    ]
    last = len(parser.tokens) - 1 - (parser.tokens[-1].kind == SYMBOL if parser.tokens else 0)
    if (
        not found
        and last > 0
        and parser.tokens[last].key in parser.lexicon.words.numbers
        and "kw.have" in parser.kinds(last - 1)
    ):
        found = [(last, last + 1)]  # "which clamps have one?"
    if len(found) != 1:
        return None
    name, ones = lexicon.name(term), f" {lexicon.word('instrument')}s "
    said = f"{text[: parser.tokens[found[0][0]].start]}{name}{text[parser.tokens[found[0][1] - 1].end :]}"
    bare = parser.says("kw.which") and not any(parser.kinds(at) & CONTENT for at in range(len(parser.tokens)))
    others = (said.replace(" ones ", ones), f"{lexicon.word('which')}{ones}{lexicon.word('have')} {name}") if bare else ()
    for typed in (said, *others):
        with suppress(QuestionError):
            if isinstance(listed := parse(typed, lexicon), nodes.Filter | nodes.Holds | nodes.Count):
                return None if _tells_more(parser, listed) else listed
    return None


def _tells_more(parser: FormParser, listed: Question) -> bool:
    """Whether "what" asks for something else than those that have it ("what goes wrong with it?"), or for those without."""
    if parser.says("kw.no", "kw.not", "kw.without") and "Not(" not in repr(listed):
        return True
    asks = parser.tokens[0].key in parser.lexicon.keys(parser.lexicon.word("which")) or "kw.have" in parser.kinds(1)
    family = isinstance(listed, nodes.Filter) and names_family(listed.expr)
    return isinstance(listed, nodes.Filter) and not (asks or family or parser.says("kw.instrument", "kw.ones"))


def _one_of_the_counts(parser: FormParser, question: nodes.Counts) -> Question | None:
    """ "Name me the second lot": the instruments that were counted in one of several counts"""
    while parser.take("kw.which", quiet=True):
        pass
    match = parser.take(*_LOTS, quiet=True)
    if match is None or not parser.ended():
        return None
    at = _LOTS.index(match.entry.kind)
    return nodes.Filter(question.exprs[at]) if at < len(question.exprs) else None


_LOTS = ("kw.first_lot", "kw.second_lot", "kw.third_lot")


def _which_then(parser: FormParser, question: nodes.Holds) -> Question | None:
    """ "Which is, then?", "which forceps are?", "which forceps are not?" after a question whether one instrument is so: those
    that are, or are not. Raises QuestionError (BL-Q03) for those of no family that are not."""
    verbs = ("kw.be", "kw.have", "kw.do", "kw.can")
    start = parser.at
    family = parser.description() if parser.take("kw.which", quiet=True) else None
    if family is not None and parser.take(*verbs, quiet=True):
        denied = bool(parser.take("kw.not", quiet=True))
        if parser.ended():
            return nodes.Filter(conj([family, nodes.Not(question.expr) if denied else question.expr]))
    parser.at = start
    asked = parser.take("kw.which_is", quiet=True)
    if not asked:
        asked = parser.take("kw.ones", quiet=True) or parser.take("kw.which", quiet=True)
        verb = parser.take(*verbs, quiet=True) or (asked and "kw.be" in parser.kinds(parser.at - 1))  # "which are [the]"
        if not asked or not verb:
            return None
    if parser.take("kw.not", quiet=True) and parser.ended():
        raise QuestionError(
            "BL-Q03",
            "Nearly everything is not so.",
            question=parser.text,
            span=(0, len(parser.text.rstrip())),
            hint="Name a family of instruments.",
        )
    return nodes.Filter(question.expr) if parser.ended() else None


def _some_of_them(parser: FormParser) -> bool:
    """ "Name one", "give me two of them": the list again, of which as many as are wanted can be taken"""
    if parser.take("kw.which", quiet=True) is None or parser.at >= len(parser.tokens):
        return False
    if parser.tokens[parser.at].key in parser.lexicon.words.numbers:
        parser.at += 1
        while parser.take("kw.of", "kw.them", "kw.ones", quiet=True):
            pass
        return parser.ended()
    return False


def _only_which(parser: FormParser) -> bool:
    """ "Which?", "which ones are?" """
    led = parser.take("kw.ones", "kw.which", quiet=True) is not None
    parser.take("kw.be", "kw.have", "kw.do", "kw.can", quiet=True)
    return led and parser.ended()


def _the_others(parser: FormParser, question: nodes.Filter | nodes.Count) -> Question | None:
    """ "Which are not?" after a list of a family that are so: those of the family that are not"""
    parser.take("kw.which", "kw.ones", quiet=True)
    parser.take("kw.be", "kw.have", "kw.do", "kw.can", quiet=True)
    items = question.expr.items if isinstance(question.expr, nodes.And) else ()
    families = [i for i in items if family_in(i)]
    conditions = [i for i in items if i not in families]
    if parser.at == 0 or not parser.take("kw.not", quiet=True) or not parser.ended() or not (families and conditions):
        return None
    return nodes.Filter(conj([*families, nodes.Not(conj(conditions))]))


def points_back(text: str, question: Question, lexicon: Lexicon, before: Before | None, talk: Callable[[], Talk]) -> bool:
    """Whether a list asked for without a family ("and one you have to hold", "which of them cuts?") points back to a list
    that went before, though it was not understood so: a list of the whole catalogue would be no answer."""
    if before is None or before.question is None:
        return _counts_nothing(text, question, lexicon) or _leaves_out_of_nothing(parser_for(text, lexicon), question)
    parser = parser_for(text, lexicon)
    if isinstance(question, nodes.Count | nodes.Filter) and _has_one(parser, talk()):
        return True  # "how many rongeurs have one?": what it was is not known
    if isinstance(question, nodes.Count | nodes.Filter) and any(t.key in talk().possessive for t in parser.tokens):
        return True  # "and its jaws?"
    if isinstance(question, nodes.Filter) and _is_a_fragment(parser, question):
        return True  # "both sharp?"
    if isinstance(question, nodes.Value) and _speaks_of_it(parser) and question.subject not in before.subjects(lexicon):
        return lexicon.vocabulary.terms[question.subject].role != "pattern"  # "is it used on the tube?" asks of no tubes
    if isinstance(question, nodes.Define) and any(t.key in talk().back for t in parser.tokens):
        return True  # "what is its purpose?" asks for no meaning of "purpose"
    if isinstance(question, nodes.Count) and _speaks_of_it(parser):
        return True  # "how many teeth has it?" counts no instruments
    if isinstance(question, nodes.Differences) and isinstance(question.expr, nodes.Everything):
        return True  # "how would I tell one from the other?"
    if isinstance(question, nodes.Count) and isinstance(before.question, _OF_SEVERAL):
        named = names_family(question.expr)
        return not named and not parser.says("kw.instrument")  # "of which how many are for bowel?"
    if not isinstance(question, nodes.Filter) or not isinstance(before.question, _OF_SEVERAL):
        return False
    first = parser.kinds(0)
    if "kw.any" in first and not parser.says("kw.instrument") and not names_family(question.expr):
        return True  # "any that lock"
    return "kw.ones" in first or ("kw.and_what_of" in first and not names_family(question.expr))


def _counts_nothing(text: str, question: Question, lexicon: Lexicon) -> bool:
    """Whether a text counts what "it" has, where nothing went before."""
    parser = parser_for(text, lexicon)
    counted = isinstance(question, nodes.Count) and not names_family(question.expr)
    return counted and not parser.says("kw.instrument") and _speaks_of_it(parser)


def _leaves_out_of_nothing(parser: FormParser, question: Question) -> bool:
    """ "Leave out those that have no teeth", where no list went before"""
    if not isinstance(question, nodes.Filter) or not parser.tokens or parser.says("kw.which", "kw.instrument"):
        return False
    items = question.expr.items if isinstance(question.expr, nodes.And) else (question.expr,)
    if any(family_in(i) for i in items):
        return False  # "not a Kelly but a haemostat"
    led = parser.phrases(0) and any(e.kind == "kw.leave_out" for _, es in parser.phrases(0) for e in es)
    return bool(led and "kw.without" not in parser.kinds(0) and any(isinstance(i, nodes.Not) for i in items))


def _is_a_fragment(parser: FormParser, question: nodes.Filter) -> bool:
    """Whether a few words with a mark of a question only say how something is, and no list of anything is asked for."""
    short = len(parser.tokens) <= MOST_FRAGMENT and parser.text.rstrip().endswith("?")
    listed = parser.says("kw.which", "kw.instrument", "kw.exist", "kw.any", "kw.ones") or names_family(question.expr)
    named = isinstance(question.expr, nodes.Named | nodes.CalledAfter | nodes.Everything)
    return short and not listed and not named


def _has_one(parser: FormParser, talk: Talk) -> bool:
    """Whether a text ends with a word for what something has ("have one")."""
    words = [at for at, t in enumerate(parser.tokens) if t.kind != SYMBOL]
    if len(words) < 3 or "kw.have" not in parser.kinds(words[-2]):
        return False
    return parser.tokens[words[-1]].key in talk.one or not parser.kinds(words[-1]).isdisjoint(("kw.it", "kw.them"))


def _speaks_of_it(parser: FormParser) -> bool:
    """Whether a text has a word for one thing that went before, and not as a part of a phrase that says nothing."""
    at = 0
    while at < len(parser.tokens):
        found = parser.phrases(at)
        if found and any(e.kind == "filler" for e in found[0][1]):
            at = found[0][0]
            continue
        if any(e.kind == "kw.it" for _, es in found for e in es) and "kw.that" not in parser.kinds(at):
            return True
        at += 1
    return False


def of_the_one_before(
    text: str, question: Question, lexicon: Lexicon, before: Before, talk: Callable[[], Talk]
) -> Question | None:
    """ "Sharp both sides?" of the one instrument that went before, whether it is so; None for what asks for a list."""
    subjects = before.subjects(lexicon)
    if len(subjects) == 1 and isinstance(before.question, (*_OF_ONE, nodes.Holds)) and isinstance(question, nodes.Define):
        return _of_its_part(parser_for(text, lexicon), subjects[0], question.term, talk())
    if isinstance(question, nodes.Filter) and len(subjects) == 1 and isinstance(before.question, _OF_ONE):
        variants = lexicon.vocabulary.terms[subjects[0]].role == "pattern" and "kw.ones" in parser_for(text, lexicon).kinds(0)
        if variants and not names_family(question.expr):
            return nodes.Filter(conj([nodes.Named(subjects[0]), question.expr]))  # "which ones are curved?"
    if (own := _of_its_family(text, question, lexicon, before)) is not None:
        return own
    if (variants := _its_variants(text, question, lexicon, before, talk)) is not None:
        return variants
    family = len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role != "pattern"
    ones = family and isinstance(before.question, _OF_ONE) and isinstance(question, nodes.Filter)
    ones = ones and "kw.ones" in parser_for(text, lexicon).kinds(0)
    if ones and not names_family(question.expr):  # "what is a rongeur?", "which ones are double-action?"
        return nodes.Filter(conj([nodes.IsA(subjects[0]), question.expr]))
    if not isinstance(question, nodes.Filter) or len(subjects) != 1 or _asks_for_a_list(parser_for(text, lexicon), question):
        return None
    if isinstance(question.expr, nodes.CalledAfter):
        return None  # "does a Gillies?"
    if isinstance(before.question, nodes.Filter | nodes.Identify):
        return None
    if lexicon.vocabulary.terms[subjects[0]].role != "pattern":
        return nodes.Filter(conj([nodes.IsA(subjects[0]), question.expr]))
    if features := parser_for(text, lexicon).choices_of(question.expr):
        return nodes.Value(subjects[0], features)  # "curved or straight?"
    return nodes.Holds(subjects[0], question.expr)


def _of_its_family(text: str, question: Question, lexicon: Lexicon, before: Before) -> Question | None:
    """ "Which are double action?" after "what is a rongeur?": those of the family that went before; None for a list of another,
    or of any instruments."""
    subjects = before.subjects(lexicon)
    family = len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role == "category"
    if not family or not isinstance(question, nodes.Filter | nodes.Count) or not isinstance(before.question, _OF_ONE):
        return None
    parser = parser_for(text, lexicon)
    if names_family(question.expr) or parser.says("kw.instrument") or isinstance(question.expr, nodes.CalledAfter):
        return None
    if any(isinstance(i, nodes.Named) for i in getattr(question.expr, "items", (question.expr,))):
        return None
    return type(question)(conj([nodes.IsA(subjects[0]), question.expr]))


def _its_variants(text: str, question: Question, lexicon: Lexicon, before: Before, talk: Callable[[], Talk]) -> Question | None:
    """ "The forceps with teeth" after "what is an Adson?": those of its variants that are so; None for a list of a family that
    it is not called by."""
    subjects = before.subjects(lexicon)
    tokens = parser_for(text, lexicon).tokens
    one = len(subjects) == 1 and lexicon.vocabulary.terms[subjects[0]].role == "pattern" and len(tokens) > 1
    items = question.expr.items if isinstance(question, nodes.Filter) and isinstance(question.expr, nodes.And) else ()
    said = [i for i in items if not family_in(i)]
    if not one or not isinstance(before.question, _OF_ONE) or len(said) == len(items) or not said:
        return None
    called = tokens[1].key in lexicon.keys(lexicon.vocabulary.label(subjects[0]).split()[-1])
    if tokens[0].key not in talk().definite or not called:
        return None
    return nodes.Filter(conj([nodes.Named(subjects[0]), *said]))


def _of_its_part(parser: FormParser, subject: str, term: str, talk: Talk) -> Question | None:
    """ "What is the blade in the middle called?" of one instrument: that part of it as it is described; None for the meaning of
    a word."""
    terms = parser.lexicon.vocabulary.terms
    if terms[subject].role != "pattern" or terms[term].role != "part" or parser.says("kw.define"):
        return None
    for at in range(1, len(parser.tokens)):
        if parser.tokens[at - 1].key in talk.definite and any(
            e.kind == "part" and e.term == term for _, es in parser.phrases(at) for e in es
        ):
            return nodes.PartOf(term, subject) if parser.says("kw.part_for") else nodes.Describe(subject, (term,))
    return None


def _asks_for_a_list(parser: FormParser, question: nodes.Filter) -> bool:
    """Whether a list is asked for in so many words, or a family is."""
    items = question.expr.items if isinstance(question.expr, nodes.And | nodes.Or) else (question.expr,)
    return parser.says("kw.which", "kw.exist", "kw.instrument") or any(family_in(i) for i in items)
