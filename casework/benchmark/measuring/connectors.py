"""How fast are sections and connectors beside a library for triangle meshes?"""

import numpy as np

from casework.benchmark.accuracy.connectors import made_bridge
from casework.benchmark.measuring import Comparison, best_of
from casework.measure.connectors import connectors
from casework.measure.surfaces.sections import Sections

SEED = 0  # a straight bridge of several units
PLANES = 50
TRIANGLES = 245_000  # of a bridge at scale 1


def compare(scale: float = 1.0) -> list[Comparison]:
    """Return plane sections beside trimesh's, and the connectors of a bridge; all warm."""
    import trimesh

    made = made_bridge(SEED, False)
    vertices, faces = _divided(made.vertices, made.faces, TRIANGLES * scale)
    along = made.centres[-1] - made.centres[0]
    along = along / np.linalg.norm(along)
    planes = made.centres[0] + np.linspace(0, 1, PLANES)[:, None] * (
        made.centres[-1] - made.centres[0]
    )
    mesh = trimesh.Trimesh(vertices, faces, process=False)

    def ours():
        cuts = Sections(vertices, faces)
        return [cuts.cut(at, along).area_mm2 for at in planes]

    def theirs():
        # The areas of its outlines would need a further library: the outlines alone.
        return [mesh.section(along, at) for at in planes]

    ends = {made.sites[0]: made.centres[0], made.sites[-1]: made.centres[-1]}
    note = f"{len(faces)} triangles"
    return [
        Comparison(
            f"{PLANES} plane sections with their areas", best_of(ours), best_of(theirs),
            f"{note}, sorting them included", "outlines without areas",
        ),
        Comparison(
            f"{len(made.sites) - 1} connectors, plane free",
            best_of(lambda: connectors(vertices, faces, made.sites, ends, made.occlusal)),
            None, note, "no general-purpose way",
        ),
    ]  # fmt: skip


def _divided(vertices, faces, wanted):
    """Triangles cut into four until there are about as many as wanted."""
    while len(faces) < wanted / 2:
        edges = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
        edges, at = np.unique(edges, axis=0, return_inverse=True)
        middle = at.reshape(-1, 3) + len(vertices)
        vertices = np.vstack([vertices, vertices[edges].mean(axis=1)])
        (a, b, c), (ab, bc, ca) = faces.T, middle.T
        faces = np.vstack(
            [np.stack(corners, 1) for corners in
             ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))]
        )  # fmt: skip
    return vertices, faces
