"""Where does something stand in space, and which motion carries one thing onto another?"""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False)
class Rigid:
    """A turn and a shift: x becomes rotation x + shift_mm."""

    rotation: np.ndarray  # (3, 3), determinant 1
    shift_mm: np.ndarray  # (3,)

    @classmethod
    def none(cls) -> "Rigid":
        return cls(np.eye(3), np.zeros(3))

    def apply(self, points: np.ndarray) -> np.ndarray:
        """Return moved points (k, 3)."""
        return points @ self.rotation.T + self.shift_mm

    def turn(self, vectors: np.ndarray) -> np.ndarray:
        """Return turned directions (k, 3)."""
        return vectors @ self.rotation.T

    def inverse(self) -> "Rigid":
        return Rigid(self.rotation.T, -self.rotation.T @ self.shift_mm)

    def after(self, other: "Rigid") -> "Rigid":
        """Return the motion that does `other` first, then this one."""
        return Rigid(self.rotation @ other.rotation, self.apply(other.shift_mm[None])[0])

    @property
    def angle_deg(self) -> float:
        """How far it turns, 0 to 180."""
        r = self.rotation
        sine = np.linalg.norm([r[2, 1] - r[1, 2], r[0, 2] - r[2, 0], r[1, 0] - r[0, 1]]) / 2
        return float(np.degrees(np.arctan2(sine, (np.trace(r) - 1) / 2)))

    @property
    def matrix(self) -> np.ndarray:
        """The motion as a (4, 4) matrix for columns of homogeneous coordinates."""
        whole = np.eye(4)
        whole[:3, :3], whole[:3, 3] = self.rotation, self.shift_mm
        return whole


@dataclass(frozen=True, eq=False)
class Pose:
    """Where a part stands: its origin, its axis toward the crown, and a direction across it."""

    origin_mm: np.ndarray  # (3,)
    axis: np.ndarray  # (3,) unit, coronal
    toward: np.ndarray  # (3,) unit, at right angles to the axis

    @classmethod
    def of(cls, origin_mm, axis, toward=None) -> "Pose":
        """Return a pose with its axis at length one and `toward` taken across the axis.

        Without `toward`, or where it lies along the axis, the direction across is arbitrary but
        always the same.
        """
        axis = np.asarray(axis, float)
        length = np.linalg.norm(axis)
        if not length > 0:
            raise ValueError("an axis has a length")
        axis = axis / length
        across = None if toward is None else np.asarray(toward, float)
        if across is not None:
            across = across - (across @ axis) * axis
        if across is None or np.linalg.norm(across) < 1e-9:
            across = np.eye(3)[np.argmin(np.abs(axis))]
            across = across - (across @ axis) * axis
        return cls(np.asarray(origin_mm, float), axis, across / np.linalg.norm(across))

    @property
    def rigid(self) -> Rigid:
        """The motion from the part's own coordinates (toward, across, axis) into the world."""
        columns = np.stack([self.toward, np.cross(self.axis, self.toward), self.axis], axis=1)
        return Rigid(columns, self.origin_mm)

    @property
    def matrix(self) -> np.ndarray:
        return self.rigid.matrix

    def to_local(self, points: np.ndarray) -> np.ndarray:
        """Return points (k, 3) as (toward, across, along the axis)."""
        return (points - self.origin_mm) @ self.rigid.rotation

    def to_world(self, local: np.ndarray) -> np.ndarray:
        """Return points of the part's own coordinates (k, 3) in the world."""
        return self.rigid.apply(local)

    def moved(self, rigid: Rigid) -> "Pose":
        return Pose(
            rigid.apply(self.origin_mm[None])[0],
            rigid.turn(self.axis[None])[0],
            rigid.turn(self.toward[None])[0],
        )
