"""Instruments that are spoken of and not named: what is seen on one in the hand, and a list asked for in other words than those
of the language."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.identify.sure import FIRST_FEW, sure
from kg.language import nodes, say
from kg.language.amiss import amiss, asks_no_name
from kg.language.heard import left_over, list_asked, says_enough
from kg.language.joining import conj, family_in
from kg.language.nameless import (
    asks_at_its_end,
    asks_elsewhere,
    asks_more,
    asks_whether,
    says_a_family,
    told_for_its_use,
    use_asked,
    weighty,
)
from kg.language.nameless import described as read_description
from kg.language.parse import parser_for
from kg.model import Answer
from kg.records import replace

if TYPE_CHECKING:
    from kg.catalogue import Catalogue
    from kg.language import Understood
    from kg.language.parse_forms import FormParser

_TOO_LITTLE = "Too little of this is understood to name an instrument"
_SAY_WHAT = "Say what you see, piece by piece, with commas between: ring handle, box lock, serrated jaws."
_READ_AS_ONE = "This was read as the description of one instrument, since it could not be read as a question for a list."
_ASKED_FOR = frozenset({"category", "kind", "group", "kw.instrument"})
_HEARD = "The words of this question are not those of the catalogue; each was taken for the recorded wording nearest to it."
_NONE_HAS_ALL = "No instrument is recorded with all that was understood of this; those nearest to it are told as likely names."
_NOT_ALL = (
    "Not every word of this question is one of the catalogue; what fits those that are is told as likely names, not as a list."
)
_WHICH_USE = "What it is for is told by its name: ask again with the one that it is."
CLEARLY = 2
"""So many times as likely as the next is the one whose use is told."""
MOST_HEARD = 80
"""A list of more says that too little was heard."""
MOST_CHOICE = 6
"""So few words with "or" are a choice that is asked for ("straight or curved?")."""
LEAST_LIKELY = 0.3
"""The first few have so much probability together, where nothing has all that was heard."""


def seen_too(catalogue: Catalogue, text: str, after: Answer | QuestionError | None) -> nodes.Question | None:
    """After an instrument in the hand: what is said now as one more thing seen; None if it is none."""
    asked = getattr(after, "tree", None)
    if not isinstance(asked, nodes.Identify) or asks_more(text, catalogue.lexicon):
        return None
    if text.rstrip().endswith("?") and _asks_back(parser_for(text, catalogue.lexicon)):
        return None  # "does its look-alike have teeth?", "straight or curved?" tell of nothing seen
    try:
        catalogue.identifier.observe(text, [], catalogue.talk.unseen)
    except QuestionError:
        return None
    return nodes.Identify(nodes.seen_text(f"{asked.seen}, {nodes.seen_text(text)}"))


def _asks_back(parser: FormParser) -> bool:
    """Whether a text with a question mark asks something of what was named, and tells nothing more of it."""
    tokens = parser.tokens
    led = int(len(tokens) > 1 and bool(parser.kinds(0) & {"kw.and", "kw.and_what_of"}))
    if not tokens or not parser.kinds(led).isdisjoint(("kw.do", "kw.which", "kw.whatis")):
        return bool(tokens)
    return parser.says("kw.or") and len(tokens) <= MOST_CHOICE


def identified(
    catalogue: Catalogue,
    question: nodes.Identify,
    text: str,
    reading: str,
    limit: int,
    *,
    asked: bool = True,
    told: bool = False,
) -> Answer:
    """An instrument in the hand, as an answer. ``asked``: whether its name is asked for; ``told``: whether it is told of at
    length. Raises QuestionError if too little of the description is understood."""
    claim = catalogue.vocabulary.label(question.claim) if question.claim else ""
    outcome = catalogue.identify(question.seen, claim=claim, limit=min(limit, 10), strict=False)
    missing = [w for w in outcome.set_aside if weighty(w, catalogue.lexicon, catalogue.talk)]
    family = says_a_family(question.seen, catalogue.lexicon) and asks_at_its_end(text, catalogue.lexicon, catalogue.talk)
    if not sure(outcome, [word for w in missing for word in w.split()], asked=asked, told=told, family=family):
        named = ", ".join(f'"{w}"' for w in missing)
        raise QuestionError(
            "BL-Q02",
            _TOO_LITTLE + (f"; not understood: {named}." if named else "."),
            question=text,
            hint=_SAY_WHAT,
        )
    light = ", ".join(f'"{w}"' for w in outcome.set_aside if w not in missing)
    near = dict(zip(outcome.set_aside, outcome.nearest, strict=True))
    outcome = replace(outcome, set_aside=tuple(missing), nearest=tuple(near[w] for w in missing))
    notes = (f"Passed over, as saying nothing of instruments: {light}.",) if light else ()
    return Answer(
        text,
        reading,
        "identify",
        identification=outcome,
        notes=notes,
        verified_by=catalogue.verified_by,
        tree=replace(question, claim=""),
        others=(question.claim,) if question.claim else (),
    )


def refuse_no_description(catalogue: Catalogue, found: Understood, text: str) -> None:
    """Raises QuestionError if what was taken for a description of an instrument (``found`` is in the hand or doubtful) asks for
    something else."""
    lists = found.doubtful is not None and text.count(",") < 2  # what is seen comes piece by piece
    lexicon, talk = catalogue.lexicon, catalogue.talk
    if (
        asks_elsewhere(text, lexicon, talk)
        or asks_no_name(text, lexicon)
        or asks_whether(text, lexicon, talk)
        or (lists and read_description(text, lexicon, talk) is None)
    ):
        raise found.doubtful or QuestionError("BL-Q02", f"{_TOO_LITTLE}.", question=text, hint=_SAY_WHAT)


def refuse_words_of_it(catalogue: Catalogue, found: Understood, text: str) -> None:
    """Raises QuestionError if only words of a description would be explained where it is asked what the thing is for."""
    explained = isinstance(found.question, nodes.Define | nodes.DefineAll)
    if explained and told_for_its_use(text, catalogue.lexicon, catalogue.talk):
        raise QuestionError("BL-Q02", f"{_TOO_LITTLE}.", question=text, hint=_SAY_WHAT)


def described(catalogue: Catalogue, text: str, limit: int, *, asking: bool = False) -> Answer | None:
    """A text that describes one instrument without naming it, read as that; None if it is none or says too little.
    ``asking``: only if it asks for the name."""
    from kg.language.featured import begins_no_list

    found = None if begins_no_list(text, catalogue.lexicon) else read_description(text, catalogue.lexicon, catalogue.talk)
    if found is None or (asking and not found.asked) or asks_no_name(text, catalogue.lexicon):
        return None
    tree = nodes.Identify(found.seen)
    try:
        reading = say(tree, catalogue.lexicon)
        out = identified(catalogue, tree, text, reading, limit, asked=found.asked, told=found.told)
    except QuestionError:
        return None
    if not found.asked:
        return replace(out, notes=(_READ_AS_ONE, *out.notes))
    return _with_its_use(catalogue, out, text, limit)


def _with_its_use(catalogue: Catalogue, out: Answer, text: str, limit: int) -> Answer:
    """The likely names with what the first of them is for, if that is asked at the end ("... What for?")."""
    if not use_asked(text, catalogue.lexicon, catalogue.talk) or not out.identification:
        return out
    first, *others = out.identification.candidates
    if others and first.probability < CLEARLY * others[0].probability:
        return replace(out, notes=(_WHICH_USE, *out.notes))
    features = (*catalogue.lexicon.words.besides, *catalogue.lexicon.words.besides.values())
    tree = nodes.Value(first.name, tuple(f for f in features if f in catalogue.vocabulary.features))
    return replace(out, also=catalogue.answer(tree, say(tree, catalogue.lexicon), limit=limit))


def listed(catalogue: Catalogue, text: str, limit: int) -> Answer | None:
    """The list of a question for instruments, or for a family of them, that tells of what was seen as well ("which forceps
    deliver the baby by rotation?"); None if it is no such question ("what goes in first?"), or if nothing has all of it."""
    parser = parser_for(text, catalogue.lexicon)
    if not any(parser.kinds(at) & _ASKED_FOR for at in range(len(parser.tokens))):
        return None
    return heard(catalogue, text, limit, alone=True, names=False)


def heard(catalogue: Catalogue, text: str, limit: int, *, alone: bool, names: bool = True) -> Answer | None:
    """A question for instruments of which each word that weighs is one of the wordings of what is recorded, though no rule
    reads it: the list, or the likely ``names`` if nothing has all of it. None if it is no such question, or a word is left."""
    if asks_whether(text, catalogue.lexicon, catalogue.talk):
        return None
    if (asked := list_asked(text, catalogue.lexicon, catalogue.talk, alone=alone)) is None:
        return None
    aside: list[QuestionError] = []
    try:
        seen = catalogue.identifier.observe(asked, aside, catalogue.talk.unseen)
    except QuestionError:
        return None
    left = [asked[slice(*e.span)] for e in aside]
    if any(weighty(w, catalogue.lexicon, catalogue.talk) for w in left) or not says_enough([o.expr for o in seen]):
        return None
    tree = nodes.Filter(conj([o.expr for o in seen]))
    if amiss(text, tree, catalogue.lexicon):
        return None
    try:
        out = catalogue.answer(tree, text, limit=limit)
    except QuestionError:
        return None
    over = left_over(asked, [o.text for o in seen], catalogue.lexicon, catalogue.talk)
    if 0 < len(out.matches) <= MOST_HEARD and not over:
        passed = ", ".join(f'"{w}"' for w in left)
        notes = (f"Passed over, as saying nothing of instruments: {passed}.",) if left else ()
        return replace(out, notes=(_HEARD, *out.notes, *notes))
    if (out.matches and not over) or not names:
        return None
    try:
        held = nodes.Identify(asked)
        one = identified(catalogue, held, text, say(held, catalogue.lexicon), limit)
    except QuestionError:
        return None
    candidates = one.identification.candidates if one.identification else ()
    if sum(c.probability for c in candidates[:FIRST_FEW]) < LEAST_LIKELY:
        return None
    likely = candidates[0].name
    families = [o.expr for o in seen if family_in(o.expr)][:1]
    if families and likely not in {m.name for m in catalogue.answer(nodes.Filter(conj(families)), limit=1).matches}:
        return None  # "a crushing clamp that leaves a furrow" is no needle holder
    return replace(one, notes=(_NOT_ALL if out.matches else _NONE_HAS_ALL, *one.notes))
