"""The forms of questions. Each rule's docstring is its grammar; a rule that does not fit gives None and leaves the
place unchanged."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress

from kg import names
from kg.errors import QuestionError
from kg.language import nodes
from kg.language.cursor import Match
from kg.language.nodes import Question
from kg.language.parse_bench import BenchParser
from kg.language.parse_care import CareParser
from kg.language.parse_expr import MAX_RECURSION
from kg.language.parse_more import MoreParser
from kg.language.parse_pieces import SUBJECTS, TERMS
from kg.language.parse_survey import SurveyParser
from kg.language.parse_why import WhyParser

_NEEDED = {"extreme": ("kw.longest", "kw.shortest", "kw.longer", "kw.shorter")}
"""Forms that read a whole description before they see whether they fit, with the words of which they need one."""

KINDS_OF = 2
"""A phrase for "how many" of more words than these asks how many kinds of something there are."""


class FormParser(BenchParser, WhyParser, CareParser, SurveyParser, MoreParser):
    """The whole grammar."""

    def explore(self) -> None:
        """Tries every form, for the notes that this leaves; never raises."""
        for form in self._forms():
            start = self.at
            with suppress(QuestionError):
                form()
            self.at, self.whole_phrases, self.cutting, self.families = start, True, False, ()

    def _forms(self) -> tuple[Callable[[], Question | None], ...]:
        return (
            self.identified,
            self.count,
            self.gaps,
            self.paired,
            self.filed,
            self.extreme,
            self.weak,
            self.tally,
            self.cycles,
            self.framed,
            self.reprocessing,
            self.care_notes,
            self.reason_notes,
            self.describe,
            self.tells_apart,
            self.telling,
            self.alike,
            self.alike_counted,
            self.look_alikes,
            self.compare,
            self.differ,
            self.differences,
            self.why,
            self.part_of,
            self.parts_shared,
            self.hindered,
            self.new_category,
            self.disputes,
            self.sources,
            self.define,
            self.what_makes,
            self.define_all,
            self.recorded,
            self.classify,
            self.feature_of_subject,
            self.what_is,
            self.may_use,
            self.same_as,
            self.quantified,
            self.counts,
            self.yes_no,
            self.subject_first,
            self.filter,
        )

    def question(self) -> Question | None:
        """One of the forms, tried in a fixed order, each up to the end of the question."""
        errors: dict[int, QuestionError] = {}
        for place, form in self._in_turn():
            start, self.families = self.at, ()
            try:
                found = self._tried(form)
            except QuestionError as error:
                if error.code == "BL-Q07":
                    raise
                # A name that is ambiguous as a subject may be plain in another form.
                errors[place] = error
                self.at, self.whole_phrases, self.cutting = start, True, False
            else:
                if found is not None:
                    return found
        if errors:
            raise errors[min(errors)]
        return None

    def _in_turn(self) -> Iterator[tuple[int, Callable[[], Question | None]]]:
        """The forms with their places. Those whose words are not in the question cannot fit; they come last, and so only leave
        their notes and errors in a question that no form fits. (One that could be too deep is read in the plain order.)"""
        late = []
        for place, form in enumerate(self._forms()):
            needed = _NEEDED.get(form.__name__)
            if needed is None or self.says(*needed) or len(self.tokens) > MAX_RECURSION:
                yield place, form
            else:
                late.append((place, form))
        yield from late

    def _tried(self, form: Callable[[], Question | None]) -> Question | None:
        start = self.at
        found = form()
        if found is not None and self.ended():
            return self._plain(found)
        self.at = start
        return None

    def _plain(self, found: Question) -> Question:
        """The kind of a category asks for its kinds ("clamps kind" as "kinds of clamps")."""
        match found:
            case nodes.Value(subject, (names.OF_KIND,)) if self.lexicon.vocabulary.terms[subject].role == "category":
                return nodes.Classify(subject)
        return found

    # --- forms -----------------------------------------------------------------------------------------------------
    def count(self) -> Question | None:
        """ "how many" description [ "are there" ] [ "by" feature ] | "how many kinds of" feature [ "are there" ]"""
        match = self.take("kw.count")
        if not match:
            return None
        start = self.at
        if match.end > match.start + KINDS_OF and (kinds := self.with_kinds()):
            self.take("kw.exist", quiet=True)
            if self.ended():
                return nodes.Define(kinds)  # told with the kinds themselves
            self.at = start
        expr = self.description()
        if expr is None:
            return None
        if self.take("kw.exist"):
            self.take("kw.exist", quiet=True)
        feature = self.by()
        return nodes.Group(expr, feature, self.downwards(feature)) if feature else nodes.Count(expr)

    def identified(self) -> Question | None:
        """ "identify" any words: what is seen on an instrument, read elsewhere"""
        match = self.take("kw.identify")
        if match is None or self.at >= len(self.tokens):
            return None
        first, last = self.tokens[match.end - 1].end, self.tokens[-1].end
        self.named = (self.at, len(self.tokens))
        self.at = len(self.tokens)
        seen = nodes.seen_text(self.text[first:])
        return nodes.Identify(seen, (first, last)) if seen else None

    def framed(self) -> Question | None:
        """ "how long is" subject | "where is" subject "used" | ... (the word file lists them)"""
        match = self.take("ask")
        if match is None:
            return None
        subject = self.subject(closed=False)
        if subject is None:
            return None
        for entry in sorted(match.entries, key=lambda e: not self.lexicon.asking(e).after):  # what needs more words first
            asking = self.lexicon.asking(entry)
            if not asking.after or self.take(f"askend.{entry.term}"):
                features = tuple(f for f in asking.features if self.lexicon.exists(f))
                return nodes.Value(subject.term, features) if features else None
        return None

    def compare(self) -> Question | None:
        """[ "what is" | "show" ] ( "compare" | "difference between" ) [ features "of" ] subject ( "and" subject )+"""
        self._opening("kw.compare")
        if not self.take("kw.compare"):
            return None
        self.in_what()
        start, found = self.at, self._two_or_more()
        self.take("kw.compared", quiet=True)
        if len(found) < 2:
            self.at = start
        return nodes.Compare(tuple(found)) if len(found) > 1 else self.words_compared()

    def _two_or_more(self) -> list[str]:
        """Subjects; "needle holders with scissors" are two of them if that leaves nothing over, else one name"""
        start = self.at
        self.whole_phrases = False
        found = self.subjects()
        self.whole_phrases = True
        if len(found) > 1 and self.ended():
            return found
        self.at = start
        return self.subjects()

    def differ(self) -> Question | None:
        """ "how does" subject "differ from" subject | "how do" subject "and" subject "differ" """
        if not self.take("kw.how"):
            return None
        start = self.at
        found = self.subjects()
        if found and self.take("kw.differ_from"):
            found += self.subjects()
        elif not (len(found) > 1 and self.take("kw.differ")):
            self.at = start
            return self.terms_differ()
        return nodes.Compare(tuple(found)) if len(found) > 1 else None

    def yes_no(self) -> Question | None:
        """ "is" [ "not" ] pattern predicate | "does" pattern after | "has" pattern list; "isn't it?" asks whether it is"""
        start = self.at
        verb = None if self.look("kw.which", "kw.exist", quiet=True) else self.verb()
        if verb is None:
            return None
        self.take("kw.not")
        if (found := self._feature_is()) is not None:
            return found
        part, named = self.part_asked_of(), self.at
        entry = self.subject("pattern", closed=False)
        if entry is None:
            self._family_asked(start)
            return None
        part = part or self.part_owned() or self.family_of_it(named)
        expr = self.predicate(verb)
        if expr is None or (part and (expr := self.said_of_part(expr, part)) is None):
            return None
        if features := self.choices_of(expr):
            return nodes.Value(entry.term, features)
        return nodes.Holds(entry.term, expr)

    def _feature_is(self) -> Question | None:
        """feature "of" pattern value ("is the joint of the Kelly a box lock?"), after the verb"""
        start = self.at
        match = self.take("feature", quiet=True)
        if match and self.take("kw.of", quiet=True):
            feature = self.pick(match, [e for e in match.entries if e.kind == "feature"]).term
            entry = self.subject("pattern", closed=False)
            expr = self.value_of((feature,)) if entry and feature in self.lexicon.vocabulary.features else None
            if entry and expr is not None:
                return nodes.Holds(entry.term, expr)
        self.at = start
        return None

    def _family_asked(self, start: int) -> None:
        """Refuses "are clamps crushing?": some are and some are not."""
        match = self.look("category", "kw.instrument", "group", quiet=True)
        if match:
            raise QuestionError(
                "BL-Q03",
                f'A question that starts with "{self.quote(start)}" is about one instrument; '
                f'"{self.quote(match.start, match.end)}" is many.',
                question=self.text,
                span=self.span(match.start, match.end),
                expected=self.expected(("pattern",)),
                hint="Ask which of them it is true of.",
            )

    def disputes(self) -> Question | None:
        """[ "what is" ] ( "disputed" | "disputes" ) [ "about" ] [ features "of" ] [ description ] | "is" subject "disputed"
        | "disagreement about how long" subject "is" | "which" features "are disputed" """
        start = self.at
        if self.take("kw.be", quiet=True):
            entry = self.subject(closed=False)
            if entry and self.take("kw.disputed"):
                expr = nodes.Named(entry.term) if entry.kind == "pattern" else nodes.IsA(entry.term)
                return nodes.Disputes(expr)
            self.at = start
        if self.take("kw.which", quiet=True):
            features = self.features()
            if features and self.take("kw.be", quiet=True) and self.take("kw.disputed") and self.ended():
                return nodes.Disputes(nodes.Everything(), features)
            self.at = start
        self._opening("kw.disputes", "kw.disputed")
        if not self.take("kw.disputes", "kw.disputed"):
            return None
        if self.ended():
            return nodes.Disputes(nodes.Everything())
        if self.take("kw.about") and self.look("kw.of", "kw.place", "kw.about", quiet=True):
            self.take("kw.about", quiet=True)  # "what do the sources disagree about on the Babcock"
        if self.take("kw.how", quiet=True) and self.take("kw.long", quiet=True) and (entry := self.subject(closed=False)):
            self.take("kw.be", quiet=True)
            return nodes.Disputes(
                nodes.Named(entry.term) if entry.kind == "pattern" else nodes.IsA(entry.term), (names.LENGTH,)
            )
        start = self.at
        features = self.features()
        if features and self.ended():
            return nodes.Disputes(nodes.Everything(), features)
        if not (features and self.take("kw.of", "kw.place", quiet=True)):
            self.at, features = start, ()
        expr = self.description()
        if isinstance(expr, nodes.And) and not features and not self.says("kw.instrument"):  # spelt out, it means the set
            named = [i for i in expr.items if isinstance(i, nodes.Named)]
            behind = [i for i in expr.items if isinstance(i, nodes.Has) and named and i.span[0] >= named[0].span[1]]
            if len(named) == 1 and len(behind) == len(expr.items) - 1:  # "the Kielland's pelvic curve"
                expr, features = named[0], self.features_of(expr)
        return nodes.Disputes(expr, features) if expr is not None else None

    def sources(self) -> Question | None:
        """ "sources for" ( features "of" pattern | pattern [ features | statement ] )"""
        self._opening("kw.sources")
        if not self.take("kw.sources"):
            return None
        start = self.at
        features = self.features()
        if features and self.take("kw.of", "kw.place"):
            entry = self.subject("pattern")
            if entry:
                return nodes.Sources(entry.term, features)
        self.at = start
        entry = self.subject("pattern", closed=False)
        if entry is None:
            return None
        if self.ended():
            return nodes.Sources(entry.term, ())
        features = self.features()
        if features and self.ended():
            return nodes.Sources(entry.term, features)
        if features:
            return None
        verb = self.verb()
        expr = self.predicate(verb) if verb else self.after()
        return nodes.Sources(entry.term, self.features_of(expr)) if expr is not None else None

    def define(self) -> Question | None:
        """ "define" term | "what does" term [ "on" subject ] "mean" """
        if self.take("kw.define"):
            term = self.term()
            self.take("kw.mean", quiet=True)
            return nodes.Define(term) if term else None
        if self.take("kw.which", "kw.whatis", quiet=True) and self.take("kw.do", quiet=True):
            term = self.term()
            if term and not self.look("kw.mean", quiet=True):
                self._part_owner()
            return nodes.Define(term) if term and self.take("kw.mean") else None
        return None

    def recorded(self) -> Question | None:
        """[ "what is" ] ( "recorded of" | "describe" ) subject"""
        self._opening("kw.recorded")
        if not self.take("kw.recorded"):
            return None
        entry = self.subject()
        return nodes.Value(entry.term, ()) if entry else None

    def feature_of_subject(self) -> Question | None:
        """[ "what is" ] features "of" subject | "which" features ( "does" subject "have" | "has" subject )"""
        asked = self.take("kw.whatis", "kw.which", quiet=True)
        opening = self.look("kw.classify", "feature", quiet=True)  # "the form of the shanks" begins as "forms of" does
        if opening and opening.entry.kind != "feature" and self.take("kw.classify", quiet=True):
            asked = asked or self.look("feature", "part", quiet=True)
        features = self.features()
        if not features:
            if asked and self.take("kw.category_word", quiet=True) and self.take("kw.do", quiet=True):
                entry = self.subject("pattern", closed=False)  # "which categories does X belong to"
                return nodes.Describe(entry.term) if entry and self.take("kw.be", "kw.have", quiet=True) else None
            return None
        what_is = asked is not None and any(e.kind == "kw.whatis" for e in asked.entries)
        if self.take("kw.of") or (what_is and self.take("kw.part_place", "kw.place", quiet=True)):
            entry = self.subject()
        elif asked and self.take("kw.do"):
            entry = self.subject(closed=False)
            if not self.take("kw.have"):
                return None
        elif asked and self.take("kw.have"):
            entry = self.subject(closed=False)
        elif asked and self.take("kw.be"):
            if self.look("wide", quiet=True):
                return None  # "which hooks are sharp?" says what they are, and does not speak of sharps
            entry = self.subject(closed=False)
            self.take("connector", quiet=True)  # "which materials are retractors made of"
        else:
            return None
        return self.told(entry, features) if entry else None

    def what_is(self) -> Question | None:
        """ "what is" ( term | subject "used on" | subject features | description )"""
        if not self.take("kw.whatis"):
            return None
        start = self.at
        term = self._tried_term()
        if term is not None:
            return nodes.Define(term)
        found = self._subject_asked()
        if found is not None:
            return found
        self.at = start
        return self._filter()

    def _tried_term(self) -> str | None:
        start = self.at
        match = self.look(*TERMS, negated=True)
        role = self.look(*(f"role.{r}" for r in TERMS), quiet=True)
        for candidate in (match, role):
            if candidate is None:
                continue
            if candidate is match:
                # Only look at meanings if nothing else follows: "what is Doyen used on" is no definition.
                self.at = match.end
                if match.entry.kind == "value":
                    self.absorb(self.feature_of(match.entry))
                if not self.ended():
                    self.at = start
                    continue
                self.at = start
            term = self.term()
            if term and candidate is match and match is not None and match.entry.kind == "value":
                self.absorb(self.feature_of(match.entry))  # "what is a double-action joint?"
            if term and self.ended():
                return term
            self.at = start
        return None

    def _subject_asked(self) -> Question | None:
        """subject ( connector | features )"""
        start = self.at
        meant = self._meant(SUBJECTS)  # "what is it for?"
        if meant is None:
            if not self.look(*SUBJECTS):
                return None
            match = self.look(*SUBJECTS, quiet=True)
            self.at = match.end if match else start
            best = self.lexicon.resolve(match.entries) if match else ()
            if len(best) == 1 and best[0].kind == "pattern":
                self.absorb_name(best[0])
        features: tuple[str, ...] = ()
        connector = self.take("connector")
        if connector:
            asked = [f for e in connector.entries for f in self.lexicon.connector(e).ask]
            features = tuple(dict.fromkeys(f for f in asked if self.lexicon.exists(f)))
        else:
            features = self.features()
        if not features or not self.ended():
            self.at = start
            return None
        end, self.at = self.at, start
        entry = self.subject(closed=False)
        self.at = end
        return (nodes.Value(entry.term, features) if connector else self.told(entry, features)) if entry else None

    def classify(self) -> Question | None:
        """[ "what" ] ( "classify" | "kinds of" ) ( category | feature ) [ "are there" ] | "kinds of" description"""
        asked = self.look("kw.whatis", quiet=True)
        self._opening("kw.classify")
        verb = self.at < len(self.tokens) and self.tokens[self.at].key == self.lexicon.word("classify")
        if not self.take("kw.classify"):
            return None
        start = self.at
        match = self.take("category", "feature")
        entry = self.pick(match, [e for e in match.entries if e.kind == match.entry.kind]) if match else None
        if term := entry.term if entry else self.with_kinds():
            self.take("kw.exist")
            if self.ended():
                return nodes.Classify(term) if entry and entry.kind == "category" else nodes.Define(term)
        self.at = start
        match self._filter():
            case nodes.Filter(nodes.Named(pattern)) if asked:  # "what is the kind of the Kelly?" and not "kinds of Kelly"
                return nodes.Value(pattern, (names.OF_KIND,))
            case nodes.Filter(nodes.Named(pattern)) if verb:
                return nodes.Filed(pattern)
            case nodes.Filter(expr) if verb or expr == nodes.Everything():
                return nodes.Classify(expr.category) if isinstance(expr, nodes.IsA) else nodes.Group(expr, names.OF_KIND)
            case found:
                return found

    def subject_first(self) -> Question | None:
        """subject [ "vs" subject | features | connector ] | pattern predicate | subject { "," subject } "compared"
        | pattern "look like" """
        start = self.at
        match = self.look(*SUBJECTS)
        if match is None:
            return None
        found = self._subject_asked()
        if found is not None:
            return found
        self.at = match.end
        if self.take("kw.vs"):
            self.at = start
            subjects = self.subjects()
            return nodes.Compare(tuple(subjects)) if len(subjects) > 1 else None
        self.at = match.end
        if self.look("kw.and", quiet=True) or self.tokens[match.end : match.end + 1]:
            self.at = start
            subjects = self._compared()
            if subjects:
                return nodes.Compare(tuple(subjects))
        self.at = start
        entry = self.subject("pattern", closed=False) if self._pattern_best(match) else None
        if entry is None:
            return None
        if self.ended():
            return nodes.Value(entry.term, ())
        if self.take("kw.look_like", quiet=True) and self.ended():
            return nodes.Describe(entry.term)
        verb = self.verb()
        expr = self.predicate(verb) if verb else None
        if expr is not None and (features := self.choices_of(expr)):
            return nodes.Value(entry.term, features)  # "Babcock: crushing or non-crushing?"
        return nodes.Holds(entry.term, expr) if expr is not None else None

    def _pattern_best(self, match: Match) -> bool:
        return all(e.kind == "pattern" for e in self._family_first(match.entries))

    def _compared(self) -> list[str]:
        """subject { "," subject } "compared"; looked at before any name is decided, so that a plain list raises
        nothing"""
        if not self.says("kw.compared"):
            return []
        subjects = self.subjects()
        return subjects if len(subjects) > 1 and self.take("kw.compared") else []

    def filter(self) -> Question | None:
        """{ "which" } description [ "are there" ] [ "by" feature ] | "group" description "by" feature"""
        grouped = self.take("kw.group", quiet=True)
        asked = False
        while not grouped and self.take("kw.which"):
            asked = True
            if (feature := self._values_asked()) is not None:
                return nodes.Define(feature)
            self.take("kw.of", quiet=True)
            if self.at < len(self.tokens) and not self._so_many() and self._whole_number() and self.article_before(self.at - 1):
                return None  # "which of the two ...": of those named before; but "name 3 things", "give at least two"
        self.take("kw.only", quiet=True)
        if not asked and self.look("kw.be", "kw.do", "kw.can", "kw.have", quiet=True):
            return None  # the start of a question about one instrument, not yet finished
        found = self._filter()
        return None if grouped and not isinstance(found, nodes.Group) else found

    def _values_asked(self) -> str | None:
        """feature "are there": which values it has"""
        start = self.at
        match = self.take("feature", quiet=True, accept=lambda e: e.term in self.lexicon.vocabulary.features)
        if match and self.take("kw.exist", quiet=True) and self.ended():
            return self.pick(match, match.entries).term
        self.at = start
        return None

    def _in_dispute(self) -> tuple[str, ...] | None:
        """( "with" | "have" ) "disputed" features | "whose" features "are disputed" """
        start = self.at
        disputed = self.take("kw.with", "kw.have", quiet=True) and self.take("kw.disputed", quiet=True)
        if disputed and (features := self.features()):
            return features
        self.at = start
        features = self.features() if self.take("kw.whose", quiet=True) else ()
        if features and self.take("kw.be", quiet=True) and self.take("kw.disputed", quiet=True):
            return features
        self.at = start
        return None

    def _side_by_side(self) -> Question | None:
        """value "versus" value family | family [ "," ] value "versus" value: the family in groups"""
        if not self.says("kw.vs"):
            return None
        start = self.at
        head = self.head() if self.look("category", "kind", "group", quiet=True) else None
        self.symbol(",")
        if feature := self._feature_shared("kw.vs"):
            head = head or (self.head() if self.look("category", "kind", "group", quiet=True) else None)
            if head is not None and self.ended():
                return nodes.Group(head, feature)
        self.at = start
        return None

    def _filter(self) -> Question | None:
        if (found := self._side_by_side()) is not None:
            return found
        self.modal = False
        expr = self.description()
        if expr is None:
            return None
        if self.modal:
            self.take("kw.with", quiet=True)  # "things you could hold bowel with"
        self.take("kw.exist", quiet=True)
        start = self.at
        if not (self.take("kw.listed", quiet=True) and self.ended()):
            self.at = start
        start = self.at
        if not (self.take("kw.only", quiet=True) and self._past_fillers() >= len(self.tokens)):  # "straight scissors only"
            self.at = start
        start = self.at
        if self.take("kw.be", quiet=True) and self.take("kw.disputed"):
            return nodes.Disputes(expr)
        self.at = start
        if (features := self._in_dispute()) is not None:
            return nodes.Disputes(expr, features)
        start = self.at
        self.symbol(",")
        if (down := self.in_order()) is not None:
            return nodes.Group(expr, names.LENGTH, down)
        self.at = start
        feature = self.by()
        return nodes.Group(expr, feature, self.downwards(feature)) if feature else nodes.Filter(expr)
