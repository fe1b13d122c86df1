"""How fast is the clearance of a bridge beside a library for triangle meshes?"""

from casework.benchmark.measuring import Comparison, best_of, spread_of
from casework.demo.meshes import bridge, lower_arch, upper_arch
from casework.measure.bite import clearance, clearance_field, jaws_in_bite

TRIANGLES = 667_000  # of the opposing jaw at scale 1
ASKED = 60  # points that the library is timed on; its cost grows with their number
SITES = ("44", "45", "46", "47")


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return clearance and its field beside the obvious way, and of two jaws; warm."""
    import trimesh

    part = bridge(SITES, 3, step_mm=0.2)
    jaw = upper_arch(3, triangles=int(TRIANGLES * scale))
    mesh = trimesh.Trimesh(jaw.vertices, jaw.faces, process=False)
    some, signed = spread_of(part.vertices, ASKED), trimesh.proximity.signed_distance
    theirs = best_of(lambda: signed(mesh, some)) * len(part.vertices) / len(some)
    note = f"{len(part.faces)} against {len(jaw.faces)} triangles"
    slow = f"trimesh's signed distance, extrapolated from {len(some)} points; noise stays in it"
    arguments = part.vertices, part.faces, jaw.vertices, jaw.faces
    lower = lower_arch(3, (), triangles=int(0.5 * TRIANGLES * scale))
    return [
        Comparison(
            "clearance, overlap and their noise",
            best_of(lambda: clearance(*arguments, "design")), theirs, note, slow,
        ),
        Comparison(
            "field of clearance, 2 mm",
            best_of(lambda: clearance_field(*arguments)), theirs, note, slow,
        ),
        Comparison(
            "bite of two jaws",
            best_of(lambda: jaws_in_bite(lower.vertices, lower.faces, *arguments[2:], "jaws")),
            None, note, "no general-purpose way",
        ),
    ]  # fmt: skip
