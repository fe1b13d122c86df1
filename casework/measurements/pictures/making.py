"""What do the places of measured values look like: from outside, cut open, coloured by length?

Pure: surfaces and values in, PNGs out. Seen from the side on which a person would look: the
direction up is that of the implants, never an axis of the file. Each picture names in its
alternative text from where it is seen and what its numbers are.
"""

import base64
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from casework.measure.quantities import quantities
from casework.measure.surfaces.colours import Ramp
from casework.measure.surfaces.drawing import Camera, Part, Section, draw
from casework.measure.surfaces.poses import Pose
from casework.measure.surfaces.revolving import revolved, rod
from casework.measurements.pictures.kinds import CUTS, FIELDS, Cut, cut_of
from casework.measurements.pictures.looking import (
    MARGIN,
    across,
    distance,
    framing,
    outside,
    upward,
)
from casework.measurements.pictures.marking import Mark, finished, is_inside
from casework.measurements.pictures.outlines import driver_outline, screw_outline
from casework.measurements.pictures.shown import PARTS, SCANS, Shown
from casework.measurements.pictures.spots import Spot, least, spots_of

SIZE, WIDE = (780, 560), (1300, 660)  # pixels
CLOSE_MM, JOINT_MM = 16.0, 15.0  # width of a close picture
IN_PLANE_MM = 0.3  # a place this near a section is shown on it
SAME_PLANE_DEG = 10.0
AXIS_RADIUS_MM, AXIS_REACH_MM = 0.07, 9.0
ROOM_MM = 2.5  # shown above the parts where the opposing jaw matters
MOST_PINS, MOST_CLOSE = 14, 8  # pins of one picture; close pictures of single places

SCAN, TISSUE_OPACITY = (206, 192, 182), 0.32
COLOURS = {
    "abutment": (146, 152, 160),
    "bridge": (233, 223, 201),
    "crown": (233, 223, 201),
    "opposing_arch": (188, 194, 200),
}
SCREW, DRIVER, AXIS = (112, 116, 124), (160, 152, 140), (30, 30, 36)


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture: `pins` are the numbers of `spots_of` that it shows."""

    title: str
    alt: str
    png: bytes
    pins: tuple[int, ...]

    def as_dict(self) -> dict:
        """Return the picture as JSON holds it."""
        png = base64.b64encode(self.png).decode()
        return {"title": self.title, "alt": self.alt, "png": png, "pins": list(self.pins)}


def pictures_of(
    results: Sequence[Mapping],
    shown: Sequence[Shown],
    *,
    poses: Mapping[str, Pose],
    screws: Mapping[str, Mapping[str, Mapping]] | None = None,
    limits: Mapping[str, Mapping[str, Sequence[tuple[str, float]]]] | None = None,
    matters: Collection[int] = (),
) -> list[Picture]:
    """Return the pictures of the places of measured values.

    `results` as `Measured.as_dict`; `poses` of the implants by site; `screws` by site the
    dimensions of its "screw" and "driver"; `limits` by the name of a surface and of a length on
    it, words and mm each; `matters` the indices of the results that findings are about: each is
    shown in the first picture, and in one that shows it near by.
    """
    spots = spots_of(results)
    view = _View(shown, poses, screws or {}, limits or {}, list(spots.values()))
    if not view.parts and not view.scans:
        return []
    wanted = [spots[index] for index in matters if index in spots]
    pictures = [view.overview(wanted)]
    for site in poses:
        pictures += view.sections(site)
    pictures += view.joints()
    pictures += view.fields()
    pictured = {number for picture in pictures[1:] for number in picture.pins}
    alone = {spot.number: spot for spot in wanted if spot.number not in pictured}
    return pictures + [view.close(spot) for spot in list(alone.values())[:MOST_CLOSE]]


class _View:
    """The scene of one case, and the directions from which it is looked at."""

    def __init__(self, shown, poses, screws, limits, spots):
        self.shown, self.poses, self.screws = shown, poses, screws
        self.limits, self.spots = limits, spots
        self.parts = [one for one in shown if one.role in PARTS]
        self.scans = [one for one in shown if one.role in SCANS]
        self.working = [one for one in self.scans if one.role != "opposing_arch"][:1]
        self.up = upward(poses, shown)
        self.outward = self._outward()

    def _outward(self):
        """From the middle of the arch toward the work, across `up`."""
        about = self.parts or self.scans
        if not about:
            return np.eye(3)[0]
        middle = np.mean([one.vertices.mean(axis=0) for one in about], axis=0)
        arch = np.mean([one.vertices.mean(axis=0) for one in self.scans or about], axis=0)
        return across(middle - arch, self.up)

    def overview(self, wanted):
        """The work on its arch, from outside and above, with what the findings are about."""
        pins = wanted or [
            spot for cut in CUTS if (spot := least(self._of_cut(cut))) is not None
        ]
        toward = -(0.72 * self.up + 0.7 * self.outward)
        opacity = TISSUE_OPACITY if self.parts else 1.0
        scene = [self._part(one) for one in self.parts]
        scene += [self._part(one, opacity) for one in self.working]
        framed = np.concatenate([one.vertices for one in self.parts or self.scans])
        camera = framing(framed, toward, self.up, WIDE)
        title = "The design on the working arch" if self.parts else "The working arch"
        return self._picture(title, "seen from outside and above", scene, camera, pins)

    def sections(self, site):
        """The parts at an implant, cut along its axis through the places that matter."""
        pose, planes = self.poses[site], []
        for cut in CUTS:
            spot = least(one for one in self._of_cut(cut) if one.subject == site)
            if spot is None:
                continue
            side = across(spot.place_mm - pose.origin_mm, pose.axis, self.outward)
            near = next((one for one in planes if one.takes(side, cut)), None)
            if near is None:
                planes.append(_Plane(side, [cut], [spot]))
            else:
                near.cuts.append(cut)
                near.spots.append(spot)
        return [self._section(site, plane) for plane in planes]

    def _section(self, site, plane):
        pose = self.poses[site]
        toward = np.cross(plane.side, pose.axis)
        here = [one for one in self.parts if site in one.sites]
        scans = [*self.working, *self._opposing()] if plane.with_scans else []
        turned = self._turned(site, pose)
        scene = [self._part(one) for one in (*here, *scans)] + turned
        places = [one.vertices for one in here] + [spot.place_mm[None] for spot in plane.spots]
        heights = pose.to_local(np.concatenate(places))[:, 2]
        low, high = heights.min(), heights.max() + (ROOM_MM if scans else 0.0)
        camera = Camera(
            pose.origin_mm + pose.axis * (low + high) / 2,
            toward,
            pose.axis,
            max(CLOSE_MM, MARGIN * (high - low) * SIZE[0] / SIZE[1]),
        )
        words = ", ".join(cut.title for cut in plane.cuts)
        seen = "cut open along the axis of the implant" + (
            ", with its screw and driver" if len(turned) > 1 else ", drawn as a dark line"
        )
        pins = plane.spots + [
            one
            for one in self.spots
            if one.subject == site
            and abs((one.place_mm - pose.origin_mm) @ toward) < IN_PLANE_MM
        ]
        return self._picture(
            f"{words[:1].upper()}{words[1:]} at ISO {site}",
            seen,
            scene,
            camera,
            pins,
            section=Section(pose.origin_mm, -toward),
        )

    def joints(self):
        """Each connector of a bridge, cut where it is smallest, seen along the bridge."""
        return [
            self._joint(spot)
            for spot in self.spots
            if spot.quantity == "connector_area" and spot.result["details"].get("normal")
        ]

    def _joint(self, spot):
        toward, units = np.array(spot.result["details"]["normal"], float), _units(spot.subject)
        bridges = [one for one in self.parts if one.role == "bridge" and units <= {*one.sites}]
        return self._picture(
            f"Connector {spot.subject}",
            "the bridge cut where the connector is smallest, seen along the bridge",
            [self._part(one) for one in bridges],
            Camera(spot.place_mm, toward, self.up, JOINT_MM),
            [spot, *(one for one in self.spots if one.subject == spot.subject)],
            section=Section(spot.place_mm, -toward),
        )

    def fields(self):
        """Restorations coloured by each length that is known on them."""
        return [
            self._field(one, row)
            for row in FIELDS
            for one in self.parts
            if row.name in one.lengths_mm
        ]

    def _field(self, one, row):
        ramp = Ramp(row.light_mm, row.dark_mm, self._lines(one, row))
        away, side = (-self.up, "below") if row.is_from_below else (self.up, "above")
        toward = -(0.94 * away + 0.34 * self.outward)
        seen = f"seen from {side}, coloured from light to dark by a length as the legend says"
        for words, length in ramp.lines:
            seen += f", with a dark line at the limit of {length:.2f} mm ({words})"
        return self._picture(
            f"{row.title}, {one.role} {_span(one.sites)}",
            seen,
            [Part(one.vertices, one.faces, lengths_mm=one.lengths_mm[row.name], ramp=ramp)],
            framing(one.vertices, toward, -away @ toward * self.outward, SIZE),
            [
                spot
                for spot in self.spots
                if spot.quantity in row.quantities and self._is_on(spot, one)
            ],
            ramp=ramp,
        )

    def _lines(self, one, row):
        """The limits of a length on a surface, where they lie on the ramp."""
        low, high = sorted((row.light_mm, row.dark_mm))
        limits = self.limits.get(one.name, {}).get(row.name, ())
        return tuple((words, length) for words, length in limits if low < length < high)

    def _is_on(self, spot, one):
        return spot.subject == one.name or _units(spot.subject) <= {*one.sites}

    def close(self, spot):
        """One place near by, seen against the surface on which it lies."""
        one = min(self.shown, key=lambda other: distance(other, spot.place_mm))
        toward = -outside(one, spot.place_mm, self.up)
        others = [other for other in (*self.parts, *self.working) if other is not one]
        scene = [self._part(one), *(self._part(other, TISSUE_OPACITY) for other in others)]
        up = self.up if abs(toward @ self.up) < 0.9 else self.outward
        camera = Camera(spot.place_mm, toward, up, CLOSE_MM)
        quantity = quantities().get(spot.quantity)
        title = quantity.title if quantity else spot.quantity.replace("_", " ")
        return self._picture(
            f"{title}, {spot.subject}", "seen against the surface", scene, camera, [spot]
        )

    def _opposing(self):
        return [one for one in self.scans if one.role == "opposing_arch"]

    def _of_cut(self, cut):
        return [one for one in self.spots if cut_of(one.quantity) is cut]

    def _part(self, one, opacity=1.0):
        colour = COLOURS.get(one.role, SCAN)
        is_solid = one.role in PARTS
        return Part(one.vertices, one.faces, colour, opacity, is_solid=is_solid)

    def _turned(self, site, pose):
        """The axis, and the screw with its driver where their dimensions are known."""
        ends = [pose.origin_mm + side * AXIS_REACH_MM * pose.axis for side in (-0.3, 1.6)]
        parts = [Part(*rod(*ends, AXIS_RADIUS_MM), AXIS, is_cut=False)]
        dimensions = self.screws.get(site, {})
        for outline, colour in (
            (screw_outline(dimensions.get("screw", {})), SCREW),
            (driver_outline(dimensions), DRIVER),
        ):
            if outline:
                parts.append(Part(*revolved(outline, pose), colour, is_cut=False))
        return parts

    def _picture(self, title, seen, scene, camera, spots, *, section=None, ramp=None):
        size = WIDE if title.startswith("The ") else SIZE
        places = {spot.number: spot.place_mm for spot in spots}
        on_screen = camera.on_screen(np.reshape([*places.values()], (-1, 3)), size)
        marks = [
            mark
            for number, (right, down, _depth) in zip(places, on_screen, strict=True)
            if is_inside(mark := Mark(number, float(right), float(down)), size)
        ][:MOST_PINS]
        drawn = draw(scene, camera, size, section)
        png = finished(drawn, marks, camera.width_mm / size[0], ramp)
        pins = tuple(sorted(mark.number for mark in marks))
        numbers = ", ".join(map(str, pins)) or "none"
        return Picture(title, f"{title}: {seen}. Numbered places: {numbers}.", png, pins)


@dataclass(frozen=True, slots=True)
class _Plane:
    """A section along an implant, toward one side of it, and what it shows."""

    side: np.ndarray
    cuts: list[Cut]
    spots: list[Spot]

    @property
    def with_scans(self):
        return self.cuts[0].with_scans

    def takes(self, side, cut):
        is_near = abs(self.side @ side) > np.cos(np.radians(SAME_PLANE_DEG))
        return is_near and self.with_scans == cut.with_scans


def _units(subject):
    return set(subject.split("-"))


def _span(sites):
    return sites[0] if len(sites) == 1 else f"{sites[0]}-{sites[-1]}"
