"""What is recorded of the instruments that a question names, where no more of it is understood."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kg.errors import QuestionError
from kg.language import nodes
from kg.language.about import about
from kg.language.halved import halved
from kg.language.hand import describes
from kg.language.lexicon import Lexicon
from kg.language.listed import read_back
from kg.language.otherwise import said_otherwise
from kg.language.parse import parser_for
from kg.language.readings import Understood
from kg.language.slips import corrected
from kg.language.topics import in_passing

if TYPE_CHECKING:
    from kg.language.before import Before
    from kg.language.talk import Talk


def named_only(
    text: str, lexicon: Lexicon, talk: Talk, before: Before | None, topic: QuestionError | None
) -> Understood | None:
    """What is recorded of the instruments that are named, if no more is understood; not where a topic without an answer is, and
    not where a word is misspelt."""
    if text.split()[0].casefold() in lexicon.words.articles and "?" not in text and describes(text, lexicon):
        return None  # an instrument in the hand; a name in it only says what it looks like
    partly = topic is not None and any(t.partly and t.message == topic.message for t in talk.topics)
    if (topic is not None and not partly and not in_passing(text, topic, talk)) or corrected(text, lexicon) is not None:
        return None
    found = about(parser_for(said_otherwise(text, lexicon, talk) or text, lexicon), talk, before)
    if found is None or not read_back(found.question, lexicon) or halved(parser_for(text, lexicon)) is not None:
        return None
    if topic is None or not partly:
        return Understood(found.question, unread=None if found.sure else found.unread)
    question = found.question
    if isinstance(question, nodes.Value):
        asked = tuple(f for f in question.features if f in lexicon.vocabulary.features)
        question = nodes.Value(question.subject, tuple(dict.fromkeys((*asked, *lexicon.words.bearing))))
    return Understood(question, unread=found.unread, untold=topic.message)
