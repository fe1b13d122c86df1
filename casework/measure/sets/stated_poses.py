"""How does a design program's list of implant poses become told poses?

Plain text, one implant a line, in millimetres in the frame of the scans: the site in ISO 3950,
the centre of the platform, the axis toward the crown and, where it is stated, the direction of
the reference side.

    45  12.310 -4.220 1.050  0.020 0.010 0.999  1 0 0

Numbers are parted by blanks, commas or semicolons and have a decimal point. A line that begins
with # is a remark.
"""

import math
import re

import numpy as np

LONGEST_BYTES = 64_000
_SITE = re.compile(r"[1-4][1-8]")
_PARTED = re.compile(r"[\s,;]+")
_WITHOUT, _WITH = 7, 10  # words of a line without and with the reference side
LEAST_ANGLE_DEG = 1.0  # between the axis and the reference side


class PosesRefused(Exception):
    """The list cannot be read; the message says where and what to do."""


def read_stated_poses(content: bytes) -> dict[str, dict]:
    """Return `origin_mm`, `axis` and `toward` (None where not stated) by site.

    Raises PosesRefused with the first line that cannot be read.
    """
    if len(content) > LONGEST_BYTES:
        raise PosesRefused("it is too long for a list of implant poses.")
    try:
        lines = content.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError:
        raise PosesRefused("it is not text in UTF-8. Save it again as plain text.") from None
    poses = {}
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        site, pose = _pose(line.strip(), f"in line {number}")
        if site in poses:
            raise PosesRefused(f"in line {number} the site {site} stands a second time.")
        poses[site] = pose
    if not poses:
        raise PosesRefused("it names no implant.")
    return poses


def _pose(line, where):
    site, *words = _PARTED.split(line)
    if not _SITE.fullmatch(site):
        raise PosesRefused(f"{where} “{site}” is no site in ISO 3950.")
    if len(words) + 1 not in (_WITHOUT, _WITH):
        raise PosesRefused(
            f"{where} {len(words)} numbers stand behind the site; 6 are needed (platform,"
            " axis), or 9 with the reference side."
        )
    try:
        numbers = [float(word) for word in words]
    except ValueError as wrong:
        raise PosesRefused(f"{where} something is no number ({wrong}).") from None
    if not all(math.isfinite(one) for one in numbers):
        raise PosesRefused(f"{where} a number is not finite.")
    origin, axis, toward = numbers[:3], numbers[3:6], numbers[6:] or None
    if not any(axis):
        raise PosesRefused(f"{where} the axis has no length.")
    if toward is not None and not _is_across(axis, toward):
        raise PosesRefused(f"{where} the reference side does not point away from the axis.")
    return site, {"origin_mm": origin, "axis": axis, "toward": toward}


def _is_across(axis, toward):
    sine = np.linalg.norm(np.cross(axis, toward))
    return sine > math.sin(math.radians(LEAST_ANGLE_DEG)) * np.linalg.norm(
        axis
    ) * np.linalg.norm(toward)
