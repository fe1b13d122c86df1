"""How is it said that something cannot be done? One family of refusals, in sentences."""


class Refused(Exception):
    """Nothing was changed; `sentences` say what stands against it and what to do."""

    def __init__(self, *sentences):
        self.sentences = [str(sentence) for sentence in sentences]
        super().__init__(" ".join(self.sentences))


class PasswordWrong(Refused):
    """The password entered for a signature is not the person's."""
