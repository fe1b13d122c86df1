"""What is said of a scan body that was found?"""

from dataclasses import dataclass

from casework.measure.results import Measured, Quantity
from casework.measure.surfaces.poses import Pose

_FIT = "robust point-to-plane fit without what lies near sharp edges; 95 % from its covariance"

FOUND = Quantity(
    "scan_bodies_found", "Scan bodies found in the scan", "",
    "walls sought by the axis they share, each fitted to the reference forms",
)  # fmt: skip
RESIDUAL = Quantity(
    "scan_body_residual", "Residual of the scan body against its form", "µm",
    "root mean square distance of the points fitted",
)  # fmt: skip
COVERED = Quantity(
    "scan_body_covered", "Share of the scan body that the scan shows", "",
    "area of the form above 1 mm over its platform that has points near",
)  # fmt: skip
FITTING = Quantity(
    "scan_body_fitting", "Share of what stands free there that lies on the form", "",
    "area above the gum within 0.12 mm of the form, of all within 0.8 mm",
)  # fmt: skip
ORIGIN = Quantity(
    "scan_body_origin", "Platform centre: radius of its doubt", "µm", _FIT
)  # fmt: skip
AXIS = Quantity("scan_body_axis", "Implant axis: doubt of its direction", "deg", _FIT)
ROTATION = Quantity("scan_body_rotation", "Rotation about the axis: its doubt", "deg", _FIT)
QUANTITIES = (FOUND, RESIDUAL, COVERED, FITTING, ORIGIN, AXIS, ROTATION)


@dataclass(frozen=True, eq=False)
class Found:
    """A scan body: which form, where, how surely; `problem` says what speaks against it.

    The doubts are 95 % (radius for places and axes, half width for turns); None where what
    they are of is not known, and `height_because` or `rotation_because` says why.
    `second_turn_gap` is the logarithm of how much likelier the turn is than the next best one,
    `also_fits` names the forms that fit as well.
    """

    form: str
    pose: Pose
    residual_rms_um: float
    noise_um: float
    covered_share: float
    top_covered_share: float
    fits_share: float
    point_count: int
    origin_95_um: float | None
    axis_95_deg: float
    rotation_95_deg: float | None
    rotation_because: str
    height_because: str
    second_turn_gap: float
    second_turn_deg: float
    problem: str
    also_fits: tuple[str, ...] = ()


def as_measured(found: Found, subject: str) -> list[Measured]:
    """Return what is known of one scan body as measured values; the pose is in the details.

    `subject` is its site. All are placed at the centre of the platform.
    """
    place, pose = found.pose.origin_mm, found.pose
    told = {
        "form": found.form,
        "also_fits": list(found.also_fits),
        "problem": found.problem,
        "origin_mm": place,
        "axis": pose.axis,
        "toward": None if found.rotation_because else pose.toward,
    }
    turn = {"next_turn_deg": found.second_turn_deg, "next_turn_gap": found.second_turn_gap}
    return [
        ORIGIN.not_known(subject, found.height_because, place, **told)
        if found.height_because
        else ORIGIN.of(subject, found.origin_95_um, place, **told),
        AXIS.of(subject, found.axis_95_deg, place, axis=pose.axis),
        ROTATION.not_known(subject, found.rotation_because, place, **turn)
        if found.rotation_because
        else ROTATION.of(subject, found.rotation_95_deg, place, toward=pose.toward, **turn),
        RESIDUAL.of(
            subject, found.residual_rms_um, place, noise_um=found.noise_um,
            point_count=found.point_count,
        ),
        COVERED.of(subject, found.covered_share, place, top=found.top_covered_share),
        FITTING.of(subject, found.fits_share, place, problem=found.problem),
    ]  # fmt: skip
