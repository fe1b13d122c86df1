"""Which pictures do the tests send with questions? All made here from numbers."""

import io

from casework.evidence.incoming import incoming_from
from tests.casework.evidence.making import exif, picture

PNG = picture("PNG")
# A camera's: laid down, with a name, a moment and a place in it.
PHOTOGRAPH = picture("JPEG", exif=exif(turn=6))


def coming(data=PNG, name="shot.png"):
    return incoming_from(io.BytesIO(data), name)
