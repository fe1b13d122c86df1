"""How large may the mesh of a scan body's form be, and which parts may have one?"""

from casework.limits import bytes_of, limit
from orders.catalogue.parts import SCAN_BODY

FILE_MAX_BYTES = bytes_of("body_form_file_size")
TRIANGLES_MAX = int(limit("body_form_triangles").value)


def objections_to_form_of(kind: str, part_number: str) -> tuple[str, ...]:
    """What stands against a mesh of the form of a part; empty when nothing does."""
    if kind == SCAN_BODY:
        return ()
    return (f"{part_number} is a {kind}: only a scan body has a mesh of its form.",)
