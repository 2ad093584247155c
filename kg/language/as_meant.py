"""A question as it is meant, once it is read: what a row of names, an "only", a contrast or a name that holds its own family
says beyond the words one by one."""

from __future__ import annotations

from kg.language.atodds import held_gently, not_held, picked_up
from kg.language.bladed import as_part
from kg.language.branches import of_either
from kg.language.contrasted import contrasted
from kg.language.lexicon import Lexicon
from kg.language.listed import each_by_itself, one_of_both, without_itself
from kg.language.nodes import Question
from kg.language.set_right import set_right
from kg.language.several import any_of_a_row
from kg.language.solely import bounded


def as_meant(text: str, question: Question, lexicon: Lexicon) -> Question:
    """The question, or what its text means by it."""
    asked = as_part(text, set_right(text, question, lexicon), lexicon)
    asked = bounded(text, any_of_a_row(text, asked, lexicon), lexicon)
    asked = held_gently(each_by_itself(text, one_of_both(without_itself(contrasted(asked, lexicon)))), lexicon)
    return of_either(text, picked_up(not_held(asked, lexicon), text, lexicon), lexicon)
