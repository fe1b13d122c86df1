"""How is a file refused, to the person with its name and in the trail without?"""

from orders.refusals import Refused


class FileRefused(Refused):
    """The file was not taken. `because` names the kind of reason, with no text of the file."""

    def __init__(self, sentence, *, because):
        super().__init__(sentence)
        self.because = because


class ArchiveRefused(FileRefused):
    """Nothing was taken out of the archive."""
