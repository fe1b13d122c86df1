"""What is a paper: a title, the facts it says, its number series, and who may read it?"""

import json
import re
from dataclasses import asdict, dataclass
from importlib import import_module

from django.apps import apps

from orders.canonical import text_of

_NAME = re.compile(r"[a-z][a-z_]*")


class NoSuchPaper(LookupError):
    """No file of that name lies in a documents folder."""


@dataclass(frozen=True, slots=True)
class Document:
    """One kind of paper. `facts` is the frozen dataclass of everything it says.

    A fact `pictures` is a list of rows with "png" (base64), "sha256" of its bytes and "alt":
    the pictures are frozen with the paper, and its template finds each at "source".
    """

    title: str
    facts: type
    # Two letters that begin its numbers.
    series: str
    # Otherwise both sides of the handoff may read it.
    practice_only: bool = False
    # The print names the patient; its frozen facts never do.
    names_patient: bool = False


def find_document(kind):
    """The DOCUMENT of a kind of paper and the name of its template."""
    if _NAME.fullmatch(kind):
        for config in apps.get_app_configs():
            name = f"{config.name}.documents.{kind}"
            try:
                module = import_module(name)
            except ModuleNotFoundError as missing:
                if not f"{name}.".startswith(f"{missing.name}."):
                    raise
            else:
                if hasattr(module, "DOCUMENT"):
                    return module.DOCUMENT, f"{config.label}/documents/{kind}.html"
    raise NoSuchPaper(kind)


def freeze(facts, head):
    """Canonical text of a paper: its head (number, person, moment) and what it says."""
    return text_of({**head, "says": asdict(facts)})


def thaw(document, text):
    """Head and facts of a frozen paper, as plain values; amounts and days are text."""
    head = json.loads(text)
    return head, document.facts(**head.pop("says"))
