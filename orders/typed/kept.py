"""Does a text that is to be kept name the patient, given what kind of text it is?"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

from orders.typed.names import mentions_name, without_words_of


@dataclass(frozen=True, slots=True)
class Text:
    """A text in a person's own words. `label` is what the page calls it.

    A word that the page offers to be chosen says nothing of the patient.
    """

    label: str
    offered: tuple[str, ...] = ()

    advice: ClassVar[str] = "Write 'the patient' instead."

    def is_about(self, text: str, name: str, others: Iterable[str] = ()) -> bool:
        """Whether the text holds something of the patient's `name`.

        `others` are names that may be the same by chance: those of colleagues, of systems.
        """
        return text not in self.offered and mentions_name(text, name)


@dataclass(frozen=True, slots=True)
class Name(Text):
    """What somebody or something else is called, which may be what the patient is called."""

    advice: ClassVar[str] = "If somebody else is called the same, write the initials."

    def is_about(self, text: str, name: str, others: Iterable[str] = ()) -> bool:
        """As for any text, but for the words that stand in one of the `others`."""
        return mentions_name(without_words_of(text, others), name)


@dataclass(frozen=True, slots=True)
class Code(Text):
    """What is printed on a label, to the letter: a month in it may look like a name."""

    advice: ClassVar[str] = "Type only what is printed on the label."

    def is_about(self, text: str, name: str, others: Iterable[str] = ()) -> bool:
        """Whether the whole name is in it; a word of it where there is no digit."""
        words = [word for word in name.split() if mentions_name(word, word)]
        if any(character.isdigit() for character in text):
            return bool(words) and all(mentions_name(text, word) for word in words)
        return mentions_name(without_words_of(text, others), name)
