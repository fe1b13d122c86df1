"""How is it said that something cannot be done? One family of refusals, in sentences."""

from django.utils.translation import gettext as _


class Refused(Exception):
    """Nothing was changed; `sentences` say what stands against it and what to do."""

    def __init__(self, *sentences):
        self.sentences = [str(sentence) for sentence in sentences]
        super().__init__(" ".join(self.sentences))


def refuse_unlisted(typed, lists):
    """Raise Refused where a field that is chosen from a list holds something else.

    typed: values by field; lists: what may be chosen, by field; empty is always possible.
    """
    for name, offered in lists.items():
        text = typed.get(name) or ""
        if text not in ("", *offered):
            raise Refused(
                _("“{text}” cannot be chosen as {field}. It is one of: {offered}.").format(
                    text=text, field=name.replace("_", " "), offered=", ".join(offered)
                )
            )


class PasswordWrong(Refused):
    """The password entered again is not the person's."""


class TooManyTries(PasswordWrong):
    """Wrong passwords came so often that none is compared for a while."""
