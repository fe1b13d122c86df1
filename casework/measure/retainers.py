"""Which part of a restoration lies over each abutment, and what is its outer surface?

A face of the restoration belongs to a retainer where it looks at the abutment: over wall and
top of the post it is the intaglio, over the shoulder the seat. So nothing need be known about
which way the parts stand in space.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.spatial import cKDTree

from casework.measure.post_axis import BORE_MM, looks_one_way, patches
from casework.measure.post_reading import SHOULDER, TOP, WALL
from casework.measure.posts import Post
from casework.measure.surfaces.nearest import Nearest
from casework.measure.surfaces.normals import face_areas
from casework.measure.surfaces.places import even_places_on
from casework.measure.surfaces.rays import FRONT, first_hits

OUTER, INTAGLIO, SEAT, ACCESS = range(4)

SEAT_REACH_MM = 0.6  # a seat is nearer to its abutment; cement gaps are below 0.1 mm
GAP_REACH_MM = 1.0  # gaps at the margin are told up to this
COVER_SAMPLE = 2000  # places of the post's wall that are looked at
FACING = -0.3  # cosine between the normals of two surfaces that face each other
LEAST_LOOKING = 0.3  # of a face's area, for large faces that reach beyond the post
UNDER = -0.5  # sine of the elevation of a rim that looks toward the gum
RIM_MM = 1.5  # such a rim lies within this of the margin
ACCESS_MM = 5.0  # an access channel lies within this of the post's axis
PATCH_SHARE = 0.03  # of the intaglio: what it encloses that is smaller belongs to it
LEAST_COVERED = 0.25  # of the post's wall; a restoration that covers less is not its own
FAR_SAMPLE = 4000  # vertices whose distances say how far apart two parts are


@dataclass(frozen=True, eq=False)
class Retainer:
    """The part of a restoration over one abutment.

    intaglio, seat, access: numbers of faces of the restoration: over the post, over the
    shoulder and at the rim, and of the channel above the post. edge_mm (k, 2, 3): pieces of its
    margin line. because: why it is not known, else empty.
    """

    post: Post | None
    intaglio: np.ndarray
    seat: np.ndarray
    access: np.ndarray
    edge_mm: np.ndarray
    because: str = ""

    @property
    def is_found(self) -> bool:
        return not self.because


@dataclass(frozen=True, eq=False)
class Restoration:
    """A crown or bridge taken apart: kind (n,) uint8 of its faces, its retainers by site."""

    nearest: Nearest
    kind: np.ndarray
    areas: np.ndarray
    middles: np.ndarray
    retainers: dict[str, Retainer] = field(default_factory=dict)

    def faces_of(self, kind: int) -> np.ndarray:
        return np.flatnonzero(self.kind == kind)


def take_apart(
    vertices: np.ndarray, faces: np.ndarray, posts: dict[str, Post | None]
) -> Restoration:
    """Return the Restoration of a mesh over the posts at some sites.

    A post that is None is an abutment that the set does not hold.
    """
    nearest = Nearest(vertices, faces, GAP_REACH_MM)
    kind = np.full(len(faces), OUTER, np.uint8)
    areas = face_areas(nearest.vertices, nearest.faces)
    middles = nearest.vertices[nearest.faces].mean(axis=1)
    whole = Restoration(nearest, kind, areas, middles)
    for site, post in posts.items():
        whole.retainers[site] = _retainer(whole, post)
    return whole


def _unknown(post, because):
    none = np.zeros(0, np.int64)
    return Retainer(post, none, none, none, np.zeros((0, 2, 3)), because)


def _retainer(whole, post):
    if post is None:
        return _unknown(post, "No abutment is known under this retainer.")
    if not post.has_wall:
        return _unknown(post, post.because)
    near = _near(whole, post)
    near = near[whole.kind[near] == OUTER]  # the rest belongs to another retainer
    intaglio, seat = _facing(whole, post, near)
    if not len(intaglio):
        return _unknown(post, _apart(whole, post))
    covered = _covered(whole, post, intaglio)
    if covered < LEAST_COVERED:
        return _unknown(
            post,
            f"The restoration lies over {100 * covered:.0f} % of the abutment's post only, so "
            "it does not sit on it.",
        )
    whole.kind[intaglio], whole.kind[seat] = INTAGLIO, SEAT
    rim = _rim(whole, post, near)
    whole.kind[rim] = SEAT
    access = _access(whole, post, near)
    whole.kind[access] = ACCESS
    _fill_patches(whole, near, whole.areas[intaglio].sum())
    kind = whole.kind[near]
    edge = _edge(whole, near[(kind == INTAGLIO) | (kind == SEAT)])
    return Retainer(
        post, near[kind == INTAGLIO], near[kind == SEAT], near[kind == ACCESS], edge
    )


def _near(whole, post):
    """Faces around the post: the others can have no part in its retainer."""
    local = post.pose.to_local(whole.middles)
    corners = post.pose.to_local(post.nearest.vertices)
    upper = corners[np.unique(post.nearest.faces[post.faces_of(SHOULDER, WALL, TOP)])]
    margin = post.pose.to_local(post.outline_mm)
    wide = np.hypot(margin[:, 0], margin[:, 1]).max() + SEAT_REACH_MM + RIM_MM
    low, high = margin[:, 2].min() - RIM_MM, upper[:, 2].max() + 3 * ACCESS_MM
    away = whole.nearest.vertices[whole.nearest.faces] - whole.middles[:, None]
    size = np.sqrt((away**2).sum(axis=2).max(axis=1))  # of each face, from its middle
    is_near = np.hypot(local[:, 0], local[:, 1]) - size < max(wide, ACCESS_MM)
    return np.flatnonzero(is_near & (local[:, 2] + size > low) & (local[:, 2] - size < high))


def _facing(whole, post, near):
    """Faces that look at the wall or top of the post, and faces that look at its shoulder."""
    used = post.faces_of(SHOULDER, WALL, TOP)
    seat = Nearest(post.nearest.vertices, post.nearest.faces[used], SEAT_REACH_MM)
    places, area = even_places_on(whole.nearest, near, SEAT_REACH_MM)
    found = seat.closest(places.point_mm)
    looks = np.einsum("ij,ij->i", places.normal, found.normals()) < FACING
    on_shoulder = looks & (post.part[used][found.face] == SHOULDER)
    count = len(whole.kind)
    looking = np.bincount(places.face, area * (looks & found.is_found), minlength=count)
    sitting = np.bincount(places.face, area * (on_shoulder & found.is_found), minlength=count)
    is_inner = looking[near] > LEAST_LOOKING * whole.areas[near]
    is_seat = is_inner & (sitting[near] > looking[near] / 2)
    return near[is_inner & ~is_seat], near[is_seat]


def _apart(whole, post):
    """Say how far a restoration without a seat is from the post."""
    step = max(len(whole.nearest.vertices) // FAR_SAMPLE, 1)
    tree = cKDTree(whole.nearest.vertices[::step])
    away = float(tree.query(post.outline_mm)[0].min())
    return (
        f"No surface of the restoration faces the abutment's post within {SEAT_REACH_MM:g} mm; "
        f"the parts are about {away:.1f} mm apart and may not be in one frame."
    )


def _covered(whole, post, intaglio):
    """Share of the post's wall that has the intaglio before it."""
    wall = post.faces_of(WALL)
    inner = Nearest(whole.nearest.vertices, whole.nearest.faces[intaglio], SEAT_REACH_MM)
    places, area = even_places_on(post.nearest, wall, SEAT_REACH_MM)
    step = max(len(area) // COVER_SAMPLE, 1)
    found, area = inner.closest(places.point_mm[::step]), area[::step]
    return float(area[found.is_found].sum() / area.sum()) if area.sum() > 0 else 0.0


def _fill_patches(whole, near, area):
    """Give what they enclose to intaglio, channel and seat: slivers that look elsewhere."""
    across, corners, areas = whole.nearest.across[near], whole.nearest.faces[near], whole.areas
    local = _renumbered(across, near, len(whole.kind))
    kind = whole.kind[near]
    rest = kind == OUTER
    patch = patches(corners, local, rest)
    sizes = np.bincount(patch[rest], areas[near[rest]], minlength=patch.max() + 1)
    leaves = ((across >= 0) & (local < 0)).any(axis=1)
    is_open = np.zeros(len(sizes), bool)
    is_open[patch[leaves & rest]] = True
    filled = rest & (sizes < PATCH_SHARE * area)[patch] & ~is_open[patch]
    beside = np.where(local >= 0, kind[local], OUTER)
    for one in (SEAT, ACCESS, INTAGLIO):  # the last that it touches counts
        touches = np.zeros(len(sizes), bool)
        touches[patch[filled & (beside == one).any(axis=1)]] = True
        whole.kind[near[filled & touches[patch]]] = one


def _renumbered(across, near, count):
    """Neighbours (k, 3) in the numbers of the near faces, -1 where they are not near."""
    place = np.full(count + 1, -1, np.int64)
    place[near] = np.arange(len(near))
    return place[across]  # the last place stands for -1


def _joined(whole, near, chosen, kinds):
    """Chosen faces (bool of near) in patches that touch faces of some kinds."""
    local = _renumbered(whole.nearest.across[near], near, len(whole.kind))
    patch = patches(whole.nearest.faces[near], local, chosen)
    beside = np.isin(np.where(local >= 0, whole.kind[near][local], 255), kinds)
    touches = np.zeros(patch.max() + 1, bool)
    touches[patch[chosen & beside.any(axis=1)]] = True
    return chosen & touches[patch], patch


def _rim(whole, post, near):
    """Faces that look toward the gum at the margin and hang together with the seat."""
    down = whole.nearest.face_normals[near] @ post.pose.axis < UNDER
    height = (whole.middles[near] - post.pose.origin_mm) @ post.pose.axis
    spread = np.abs((post.outline_mm - post.pose.origin_mm) @ post.pose.axis).max()
    chosen = down & (np.abs(height) < RIM_MM + spread) & (whole.kind[near] == OUTER)
    if not chosen.any():
        return near[:0]
    return near[_joined(whole, near, chosen, (INTAGLIO, SEAT))[0]]


def _access(whole, post, near):
    """Faces of the channel above the post: a hollow that begins at the intaglio's roof.

    They see each other across it, but for its rounded lower rim: that looks down and inward.
    """
    local = post.pose.to_local(whole.middles[near])
    top = np.nanmedian(post.ridge.top_mm)
    could = (whole.kind[near] == OUTER) & (local[:, 2] > top / 2)
    could &= np.hypot(local[:, 0], local[:, 1]) < ACCESS_MM
    asked = np.flatnonzero(could)
    normals = whole.nearest.face_normals[near]
    _, met = first_hits(
        whole.nearest, whole.middles[near[asked]], normals[asked], FRONT, BORE_MM
    )
    toward = normals @ post.pose.rigid.rotation
    chosen = could & (toward[:, 2] < 0) & ((toward * local)[:, :2].sum(axis=1) < 0)
    chosen[asked[met >= 0]] = True
    if not chosen.any():
        return near[:0]
    chosen, patch = _joined(whole, near, chosen, (INTAGLIO,))
    # What looks one way is the outside of a neighbouring unit.
    chosen &= ~looks_one_way(patch, whole.areas[near], normals)
    return near[chosen]


def _edge(whole, inner):
    """Edges (k, 2, 3) between the inner side of a retainer and the outer surface."""
    across = whole.nearest.across[inner]
    row, corner = np.nonzero((across >= 0) & (whole.kind[across] == OUTER))
    corners = whole.nearest.faces[inner]
    ends = np.stack([corners[row, corner], corners[row, (corner + 1) % 3]], axis=1)
    return whole.nearest.vertices[ends]
