"""Does free text that leaves the practice contain the patient's name?"""

import re
import unicodedata
from collections.abc import Iterable, Iterator

_SHORTEST = 3
_APOSTROPHES = re.compile("['\u2018\u2019\u02bc\u02b9`\u00b4\uff07]")
_INSIDE = re.compile(r"(?<=\w)'(?=\w)")
# Letters that have no decomposition in Unicode.
_PLAIN = str.maketrans(
    {
        "\u00f8": "o",
        "\u0142": "l",
        "\u0111": "d",
        "\u00f0": "d",
        "\u00fe": "th",
        "\u00e6": "ae",
        "\u0153": "oe",
        "\u0131": "i",
        "\u0127": "h",
    }
)
# Umlauts are also spelled with an e behind.
_SPELLED = str.maketrans({"\u00e4": "ae", "\u00f6": "oe", "\u00fc": "ue", "\u00e5": "aa"})
# Scripts written without blanks between words: Thai, Lao, Burmese, Khmer, kana, Han, Hangul.
_UNSPACED = re.compile(
    "[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3040-\u30ff\u3400-\u9fff\uac00-\ud7af]"
)


def mentions_name(text: str, name: str) -> bool:
    """Whether a word of three letters or more of the name, or the whole name, is in the text.

    Case, accents and apostrophes do not matter. Whole words only, except in scripts that put
    no blanks between words: there two characters are enough.
    """
    for spelled in (_plain, _umlauts_spelled):
        tokens, words = set(_tokens(spelled(name))), list(_words(spelled(text)))
        known = set(words) | set(_tokens(spelled(text)))
        if any(token in known for token in tokens if _counts(token)):
            return True
        if _holds_run(words, list(_words(spelled(name)))):
            return True
        if any(token in spelled(text) for token in tokens if _is_unspaced(token)):
            return True
    return False


def without_words_of(text: str, names: Iterable[str]) -> str:
    """The text without the words that stand in one of the names."""
    known = {
        word
        for name in names
        for spelled in (_plain, _umlauts_spelled)
        for word in _words(spelled(name))
    }
    return " ".join(part for part in text.split() if not known.issuperset(_words(_plain(part))))


def _counts(token):
    return len(token) >= _SHORTEST and not token.isdigit()


def _is_unspaced(token):
    return len(token) >= 2 and bool(_UNSPACED.search(token))


def _plain(text):
    text = unicodedata.normalize("NFKC", _APOSTROPHES.sub("'", text))
    decomposed = unicodedata.normalize("NFD", text.casefold().translate(_PLAIN))
    kept = "".join(c for c in decomposed if unicodedata.category(c) not in ("Mn", "Cf"))
    return unicodedata.normalize("NFC", kept)


def _umlauts_spelled(text):
    return _plain(unicodedata.normalize("NFC", text).casefold().translate(_SPELLED))


def _words(text) -> Iterator[str]:
    """Words with their apostrophes closed up: O'Brien is obrien."""
    return (word for word in re.split(r"[\W_]+", _INSIDE.sub("", text)) if word)


def _tokens(text) -> Iterator[str]:
    """Words closed up at apostrophes, and their parts: obrien, o, brien."""
    yield from _words(text)
    yield from (part for part in re.split(r"[\W_]+", text) if part)


def _holds_run(words, name):
    """Whether the whole name, of two words or more, stands in the text word for word."""
    if len(name) < 2:
        return False
    return any(words[i : i + len(name)] == name for i in range(len(words) - len(name) + 1))
