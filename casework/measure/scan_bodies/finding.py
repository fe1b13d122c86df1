"""Which scan bodies are in a scan, where exactly, how surely, and what is wrong with them?"""

from dataclasses import dataclass

import numpy as np

from casework.measure.results import Measured, Quantity
from casework.measure.scan_bodies.fitting import FITS_MM, Fit, fit_form
from casework.measure.scan_bodies.forms import Form
from casework.measure.scan_bodies.seeking import Cylinder, cropped, prepared, round_bodies
from casework.measure.surfaces.poses import Pose

FITS_SHARE = 0.7  # of the points around must lie on the form
RMS_NOISES = 2.5  # the residual is at most so many times the spread of the round wall …
RMS_MM = 0.02  # … and this
RADIUS_MM = 0.06  # a wall that differs more is another body's
SAME_MM = 2.0  # two platforms nearer than this are one body found twice
LEAST_COVERED = 0.2  # of the form; what shows less is not fitted to be relied on
LEAST_BODY_CELLS = 60  # of a wall that fits no form, to be spoken of at all
RIVAL_GAP = 0.04  # a turn that fits nearly as well leaves the rotation open
SIDE_COVERED = 0.15  # of what is not round must be seen for the rotation to be known

FOUND = Quantity(
    "scan_bodies_found", "Scan bodies found in the scan", "",
    "round walls sought by the axis they share, each fitted to the reference forms",
)  # fmt: skip
RESIDUAL = Quantity(
    "scan_body_residual", "Residual of the scan body against its form", "µm",
    "root mean square distance of the points that lie on the form",
)  # fmt: skip
COVERED = Quantity(
    "scan_body_covered", "Share of the scan body that the scan shows", "",
    "area of the form above 1 mm over its platform that has points near",
)  # fmt: skip
FITTING = Quantity(
    "scan_body_fitting", "Share of the points around that lie on the form", "",
    f"points above the gum within {FITS_MM} mm of the form",
)  # fmt: skip
ORIGIN = Quantity(
    "scan_body_origin", "Platform centre: radius of its doubt", "µm",
    "robust point-to-plane fit; 95 % radius from its own covariance",
)  # fmt: skip
AXIS = Quantity(
    "scan_body_axis", "Implant axis: doubt of its direction", "deg",
    "robust point-to-plane fit; 95 % radius from its own covariance",
)  # fmt: skip
ROTATION = Quantity(
    "scan_body_rotation", "Rotation about the axis: its doubt", "deg",
    "robust point-to-plane fit; 95 % half width from its own covariance",
)  # fmt: skip
QUANTITIES = (FOUND, RESIDUAL, COVERED, FITTING, ORIGIN, AXIS, ROTATION)


@dataclass(frozen=True, eq=False)
class Found:
    """A scan body with its pose; `problem` says what speaks against relying on it."""

    fit: Fit
    problem: str = ""

    @property
    def pose(self) -> Pose:
        return self.fit.pose

    @property
    def form(self) -> str:
        return self.fit.form_name

    @property
    def rotation_because(self) -> str:
        """Why the rotation is not known; empty where it is."""
        form, fit = self.fit.form, self.fit
        if form.turns == 0:
            return "The form is round: no side of it tells how it is turned."
        if fit.side_covered < SIDE_COVERED or fit.rival_gap < RIVAL_GAP:
            return (
                "The side that tells how it is turned is not in the scan: a turn by"
                f" {fit.rival_deg:.0f}° fits as well."
            )
        if form.turns > 1:
            return (
                f"The form looks the same after every {360 / form.turns:.0f}°: which of the"
                f" {form.turns} turns it is cannot be seen."
            )
        return ""

    @property
    def height_because(self) -> str:
        """Why the height along the axis is not known; empty where it is."""
        if self.fit.origin_95_mm > 0.2:
            return (
                "Neither its top nor a ledge is in the scan: its height along the axis is open."
            )
        return ""


@dataclass(frozen=True, eq=False)
class Doubtful:
    """Something like a scan body that no form fits: where, how wide, and why not."""

    place_mm: np.ndarray
    axis: np.ndarray
    diameter_mm: float
    because: str


@dataclass(frozen=True, eq=False)
class ScanBodies:
    """What was found, what is like a scan body but is none of the forms, what was left out."""

    found: tuple[Found, ...]
    doubtful: tuple[Doubtful, ...]
    dropped: tuple[dict, ...] = ()


def find_scan_bodies(
    vertices: np.ndarray, faces: np.ndarray, forms: dict[str, Form], near_mm=None
) -> ScanBodies:
    """Return the scan bodies of a scan in mm, without a click or near points (k, 3).

    Each is fitted to every form of about its radius, and the best is taken. Two bodies are in
    the order of how well they are covered.
    """
    if not forms:
        raise ValueError("a scan body is found by its form; name one")
    if not len(faces):
        return ScanBodies((), ())
    surface = prepared(vertices, faces)
    if near_mm is not None and len(near_mm):
        surface = cropped(surface, np.asarray(near_mm, float))
    radii = sorted({round(form.wall_radius_mm, 2) for form in forms.values()})
    found, doubtful = [], []
    for body in round_bodies(surface, _apart(radii)) if len(surface.vertices) else ():
        fits = [fit_form(surface, body, name, form) for name, form in forms.items()]
        fits = [fit for fit in fits if fit is not None]
        best = min(fits, key=lambda fit: (-round(fit.share, 2), fit.rms_mm)) if fits else None
        if best is not None and _is_one(best, body):
            found.append(Found(best, _problem(best)))
        elif doubt := _doubt(body, best, forms):
            doubtful.append(doubt)
    found = _once_each(found)
    doubtful = [one for one in doubtful if all(_is_elsewhere(one, other) for other in found)]
    return ScanBodies(tuple(found), tuple(doubtful), tuple(surface.dropped))


def _apart(radii):
    """Radii to seek: one stands for its neighbours within a tenth of a millimetre."""
    kept = []
    for radius in radii:
        if not kept or radius - kept[-1] > 0.1:
            kept.append(radius)
    return kept


def _is_one(fit, body):
    most = max(RMS_NOISES * body.spread_mm, RMS_MM)
    return (
        fit.share >= FITS_SHARE
        and fit.rms_mm <= most
        and fit.covered >= LEAST_COVERED
        and abs(body.radius_mm - fit.form.wall_radius_mm) <= RADIUS_MM
    )


def _problem(fit):
    if fit.worst_mm > FITS_MM and fit.share < 0.85:
        return (
            f"{100 * (1 - fit.share):.0f} % of the points around lie off the form, by"
            f" {fit.worst_mm:.2f} mm: something adheres to it, or it is another body."
        )
    return ""


def _doubt(body: Cylinder, fit, forms):
    """What to say of a round wall that is none of the forms; None where it is no body."""
    if body.cells < LEAST_BODY_CELLS or body.spread_mm > 0.045:
        return None
    near = min(forms.values(), key=lambda form: abs(form.wall_radius_mm - body.radius_mm))
    if abs(near.wall_radius_mm - body.radius_mm) > RADIUS_MM:
        because = (
            f"A round body {2 * body.radius_mm:.2f} mm wide stands there; the form is"
            f" {2 * near.wall_radius_mm:.2f} mm wide. It is of another kind or system."
        )
    elif fit is None:
        because = (
            "A round body of the form's width stands there, but its top and its side do not"
            " fit the form. It is of another kind, or too little of it is in the scan."
        )
    elif fit.covered < LEAST_COVERED:
        because = (
            f"Only {100 * fit.covered:.0f} % of the scan body is in the scan: too little to"
            " say where it stands."
        )
    else:
        because = (
            f"A round body of the form's width stands there, but {100 * (1 - fit.share):.0f} %"
            f" of the points around lie off the form, by {fit.worst_mm:.2f} mm. It is of"
            " another kind, or something adheres to it."
        )
    return Doubtful(body.point_mm, body.axis, 2 * body.radius_mm, because)


def _once_each(found):
    kept = []
    for one in sorted(found, key=lambda one: (-one.fit.points, *one.pose.origin_mm)):
        if all(
            np.linalg.norm(one.pose.origin_mm - other.pose.origin_mm) > SAME_MM
            for other in kept
        ):
            kept.append(one)
    return kept


def _is_elsewhere(doubt, other):
    away = doubt.place_mm - other.pose.origin_mm
    across = away - (away @ other.pose.axis) * other.pose.axis
    return np.linalg.norm(across) > SAME_MM


def as_measured(found: Found, subject: str) -> list[Measured]:
    """Return what is known of one scan body as measured values; the pose is in the details."""
    fit, place = found.fit, found.pose.origin_mm
    pose = {
        "form": found.form,
        "origin_mm": found.pose.origin_mm,
        "axis": found.pose.axis,
        "toward": found.pose.toward,
    }
    height, rotation = found.height_because, found.rotation_because
    return [
        ORIGIN.not_known(subject, height, place, **pose)
        if height
        else ORIGIN.of(subject, 1000 * fit.origin_95_mm, place, **pose),
        AXIS.of(subject, fit.axis_95_deg, place, axis=found.pose.axis),
        ROTATION.not_known(subject, rotation, place)
        if rotation
        else ROTATION.of(subject, fit.rotation_95_deg, place, toward=found.pose.toward),
        RESIDUAL.of(subject, 1000 * fit.rms_mm, place, points=fit.points),
        COVERED.of(subject, fit.covered, place, top=fit.top_covered, side=fit.side_covered),
        FITTING.of(
            subject, fit.share, fit.worst_at_mm, worst_off_mm=fit.worst_mm,
            problem=found.problem,
        ),
    ]  # fmt: skip
