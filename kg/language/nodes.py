"""The tree of a question: frozen records, no behaviour.

A question is one of the ``Question`` classes; a description of a set of patterns is an ``Expr``. Terms are short names
(``bl:KellyForceps``). ``span`` is (start, end) in characters of the question, end exclusive, and never takes part in
equality, so that a question and its canonical text give equal trees.
"""

from __future__ import annotations

import operator

from kg.records import Record, field, record

Span = tuple[int, int]


def _span() -> Span:
    return field(default=(0, 0), compare=False, repr=False)  # type: ignore[return-value]


BOUNDS = {"<": operator.lt, "<=": operator.le, ">": operator.gt, ">=": operator.ge, "=": operator.eq}
"""How a number of things can be bounded."""


# --- descriptions of sets of patterns ------------------------------------------------------------------------------
@record
class Everything(Record):
    """All patterns ("instruments")."""

    span: Span = _span()


@record
class IsA(Record):
    """Membership of a defined category, e.g. ``bl:ArteryForceps``."""

    category: str
    span: Span = _span()


@record
class Has(Record):
    """A feature has a value (or a narrower one), e.g. feature ``bl:jawSurface``, value ``bl:SerratedJaw``."""

    feature: str
    value: str
    span: Span = _span()


@record
class HasPart(Record):
    """A part is there, e.g. ``bl:Ratchet``. "Without" is ``Not(HasPart(...))``."""

    part: str
    span: Span = _span()


@record
class Named(Record):
    """One pattern and its variants, e.g. ``bl:KellyForceps``."""

    pattern: str
    span: Span = _span()


@record
class Length(Record):
    """Length in millimetres. ``op`` is one of ``<  <=  >  >=  =  between``; ``high`` is for ``between``, inclusive."""

    op: str
    low: float
    high: float | None = None
    span: Span = _span()


@record
class Recorded(Record):
    """Something is recorded under a feature, or the feature does not apply; ``bl:length`` too. Never unknown."""

    feature: str
    span: Span = _span()


@record
class Solely(Record):
    """One of ``values`` holds of a feature that can have many, and no other is recorded ("used only on bone")."""

    feature: str
    values: tuple[str, ...]
    span: Span = _span()


@record
class Untold(Record):
    """It is not on record that the feature has the value, or a narrower one ("except those used on vessels"). Never unknown."""

    feature: str
    value: str
    span: Span = _span()


@record
class CalledAfter(Record):
    """The name stands in a label or synonym ("named after Kocher"); ``name`` as the labels write it. Never unknown. With
    ``but`` any name stands in the label that is none of these words ("named after a person")."""

    name: str
    span: Span = _span()
    but: tuple[str, ...] = ()


@record
class Begins(Record):
    """The label begins with these letters, in small letters ("starting with J"). Never unknown."""

    letters: str
    span: Span = _span()


@record
class Not(Record):
    expr: Expr
    span: Span = _span()


@record
class And(Record):
    items: tuple[Expr, ...]
    span: Span = _span()


@record
class Or(Record):
    items: tuple[Expr, ...]
    span: Span = _span()


Expr = Everything | IsA | Has | HasPart | Named | Length | Recorded | Solely | Untold | CalledAfter | Begins | Not | And | Or


# --- questions ------------------------------------------------------------------------------------------------------
@record
class Filter(Record):
    """Which patterns fit? ("clamps with a ratchet")"""

    expr: Expr


@record
class Count(Record):
    """How many patterns fit?"""

    expr: Expr


@record
class Counts(Record):
    """How many fit each of several descriptions, side by side ("how many scissors and how many needle holders")."""

    exprs: tuple[Expr, ...]


@record
class Group(Record):
    """The patterns that fit, grouped by a feature ("needle holders by joint"); by length in its order, ``down`` the longest
    first."""

    expr: Expr
    feature: str
    down: bool = False


@record
class Extreme(Record):
    """The longest or shortest that fit; ``by`` is ``length``, ``range`` for the span of sizes made, or ``ends`` for both the
    longest and the shortest. ``number``: so many are listed, where that is more than usual. ``place``: 1 for the
    second longest, and so on."""

    expr: Expr
    most: bool = True
    by: str = "length"
    number: int = 0
    place: int = 0


@record
class Quantified(Record):
    """Is it so of all, or of any, of a set? ``quantifier`` is ``all``, ``any``, or empty for "are clamps crushing?"."""

    scope: Expr
    expr: Expr
    quantifier: str = ""


EACH = "each:"
"""Before what is counted of every pattern by itself, in ``Tally.by``."""


ROWS = "rows:"
"""Before the features of which a table of the set shows the values, with commas between them."""

PAIR = "pair"
"""What is counted are pairs of look-alikes; behind it and a colon may stand the only part or feature in which they differ."""

PAIR_OF = "pair_of"
"""The same of pairs of which only one is in the set."""

SHARED = "shared:"
"""Behind it and before a pattern: what each pattern has in common with that one is counted."""


@record
class Tally(Record):
    """Which category, source or value of a feature has most (or fewest) patterns? ``by``: ``category``, ``source``, ``eponym``
    (a name that stands in the names of patterns), a feature,
    or ``alike`` for which pattern of the scope has most look-alikes, ``each:name`` most other names, ``each:source`` most
    sources, ``each:category`` most categories, ``each:`` and a feature most values of it,
    ``each:shared:`` and a pattern most in common with that; ``pair`` for the likest pairs of look-alikes (``=`` with
    ``number``: those that differ in so many features; ``pair:`` and a slot: in that alone), ``sign`` for what tells most of
    them apart, ``basis`` for what the facts rest on; ``rows:`` and features for a table of the set.

    ``pick`` is ``most``, ``fewest`` or empty for all of them, or ``<  <=  >  >=  =`` with ``number``: those with so many. Only
    patterns of ``scope`` are counted.
    """

    by: str
    pick: str = ""
    scope: Expr = Everything()
    number: int = 0


@record
class Weak(Record):
    """Which facts rest on memory or common practice? Of a pattern, of a set, or (``Everything``) of the whole catalogue.
    ``basis``: on what else they rest at best: ``one`` source, ``several`` sources, ``maker`` (a maker's page),
    ``veterinary`` sources; or of which kind one of their sources is: ``textbook``, ``journal``, ``standard``, ``museum``."""

    expr: Expr
    basis: str = ""


@record
class Gaps(Record):
    """What is not recorded of a set of patterns, and of how many of them?"""

    expr: Expr


@record
class Filed(Record):
    """Under which categories does a pattern stand, and what puts it there?"""

    pattern: str


@record
class Value(Record):
    """What is recorded of one subject under some features ("what is the joint of the Kelly forceps").

    ``subject`` is a pattern or a category; ``features`` are features, ``bl:hasPart`` or ``bl:length``; empty means all.
    """

    subject: str
    features: tuple[str, ...]


@record
class Compare(Record):
    """Two or more patterns or categories, in the order named. ``telling``: only what decides is asked for."""

    subjects: tuple[str, ...]
    telling: bool = False


@record
class Differences(Record):
    """In what do the patterns of one set differ ("compare bowel clamps")?"""

    expr: Expr


@record
class Holds(Record):
    """Is it so? ("is the Kelly forceps a crushing clamp") ``expr`` never contains ``Named``."""

    pattern: str
    expr: Expr


@record
class Why(Record):
    """Why is it so, or why not? ``negated`` is true for "why is X not ..."."""

    pattern: str
    expr: Expr
    negated: bool = False


@record
class Contrast(Record):
    """Why is it so of one pattern but not of the other? ``expr`` never contains ``Named``."""

    pattern: str
    other: str
    expr: Expr


@record
class Define(Record):
    """What does a term mean? ("what is a box lock") ``term`` is any term: part, value, category, feature, pattern."""

    term: str


@record
class DefineAll(Record):
    """What do several terms mean? At least two, in the order named."""

    terms: tuple[str, ...]


@record
class PartOf(Record):
    """What is a part for, on this subject (a pattern or a category)?"""

    part: str
    subject: str


def seen_text(text: str) -> str:
    """What is said of an instrument in the hand, as ``Identify`` keeps it: single spaces, no marks at the ends."""
    return " ".join(text.split()).strip(" ,;:.?!\"'“”‘’`´-–—…")


@record
class Identify(Record):
    """Which instrument is it, from what is seen? ``seen`` is free text as ``seen_text`` makes it; ``kg.identify`` reads it.
    ``claim``: a pattern to be argued for and against."""

    seen: str
    span: Span = _span()
    claim: str = ""


@record
class NewCategory(Record):
    """Where would a category with this definition stand? ``name`` is free text with single spaces ("gentle clamp").

    ``span`` is the place of the name.
    """

    name: str
    expr: Expr
    span: Span = _span()


@record
class Classify(Record):
    """The categories below a category, with their members ("classify artery forceps")."""

    category: str


@record
class Sources(Record):
    """Who says so? Sources of what is recorded of a pattern, under some features or all."""

    subject: str
    features: tuple[str, ...]


@record
class Disputes(Record):
    """What is disputed? About a pattern, a set of patterns, or (``Everything``) the whole catalogue; on some features only, if
    any are named."""

    expr: Expr
    features: tuple[str, ...] = ()


@record
class Describe(Record):
    """The spoken description of a pattern, part by part; ``parts``: only of these (parts, or one of its two ends)."""

    pattern: str
    parts: tuple[str, ...] = ()


@record
class Telling(Record):
    """What tells a pattern from all others of a scope (None: from its siblings), or a category from all other patterns."""

    subject: str
    scope: Expr | None = None


@record
class Alike(Record):
    """Which patterns are like this one, but otherwise in something ("like a Kelly but with teeth")? ``size``: ``longer``,
    ``shorter`` or empty; one of it and ``expr`` is there."""

    pattern: str
    expr: Expr | None = None
    size: str = ""


@record
class LookAlikes(Record):
    """Which patterns look like this one?"""

    pattern: str


@record
class Cycles(Record):
    """Which published sterilisation cycles fit? Empty texts and None leave that condition open.

    ``method`` is a value ("bl:..."); ``load`` and ``steriliser`` are ids of the word file; ``degrees`` is the temperature
    in ``unit``, "c" or "f", as it was asked for.
    """

    method: str = ""
    load: str = ""
    steriliser: str = ""
    degrees: float | None = None
    unit: str = "c"


@record
class Reprocessing(Record):
    """What do construction and use ask of reprocessing? ``subject`` is a pattern or a category."""

    subject: str


@record
class CareNotes(Record):
    """What do sources say of care, by part and step? ``topics``: names of topics of the file of care, at least one;
    ``subject``: the pattern that it is asked of, or empty."""

    topics: tuple[str, ...]
    subject: str = ""


@record
class ReasonNotes(Record):
    """What do sources say on why something is made or done so? ``notes``: names of notes of the file of reasons, at least
    one."""

    notes: tuple[str, ...]


Question = (
    Filter
    | Count
    | Counts
    | Group
    | Extreme
    | Quantified
    | Tally
    | Weak
    | Gaps
    | Filed
    | Value
    | Compare
    | Differences
    | Holds
    | Why
    | Contrast
    | Define
    | DefineAll
    | PartOf
    | Identify
    | NewCategory
    | Classify
    | Sources
    | Disputes
    | Cycles
    | Reprocessing
    | CareNotes
    | ReasonNotes
    | Describe
    | Telling
    | LookAlikes
    | Alike
)
