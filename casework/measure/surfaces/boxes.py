"""Which triangles are surely farther from a point than what was found already?

A rectangle around each triangle, along its longest side, is as slender as the triangle itself:
the distance from it is told without a division, and next to no triangle that passes is farther.
"""

import numpy as np

from casework.measure.jit import jit

ROUNDING = 4e-7  # of the coordinates: what single precision may take from a distance
SQUARE_ROUNDING = np.float32(1e-6)  # of a square of distances, the same


@jit
def rectangles(vertices, faces, low, reach):
    """Return for each of faces (n, 3) the rectangle around it (n, 12), in single precision.

    Its middle from the corner `low` (3,), its two directions, half its length and its breadth,
    and how much rounding may take from a distance of up to `reach`.
    """
    told = np.zeros((len(faces), 12), np.float32)
    along, across = np.empty(3), np.empty(3)
    for f in range(len(faces)):
        longest, first = -1.0, 0
        for k in range(3):
            square = 0.0
            for x in range(3):
                square += (vertices[faces[f, (k + 1) % 3], x] - vertices[faces[f, k], x]) ** 2
            if square > longest:
                longest, first = square, k
        a, b, c = faces[f, first], faces[f, (first + 1) % 3], faces[f, (first + 2) % 3]
        length, ahead, breadth = np.sqrt(longest), 0.0, 0.0
        for x in range(3):
            along[x] = (vertices[b, x] - vertices[a, x]) / length if length > 0.0 else 0.0
            ahead += along[x] * (vertices[c, x] - vertices[a, x])
        for x in range(3):
            across[x] = vertices[c, x] - vertices[a, x] - ahead * along[x]
            breadth += across[x] ** 2
        breadth = np.sqrt(breadth)
        far = reach
        for x in range(3):
            across[x] = across[x] / breadth if breadth > 0.0 else 0.0
            middle = 0.5 * (length * along[x] + breadth * across[x])
            middle += vertices[a, x] - low[x]
            far += middle
            told[f, x], told[f, 3 + x], told[f, 6 + x] = middle, along[x], across[x]
        told[f, 9] = 0.5 * length * (1 + SQUARE_ROUNDING)
        told[f, 10] = 0.5 * breadth * (1 + SQUARE_ROUNDING)
        told[f, 11] = far * ROUNDING
    return told


@jit
def balls(rectangles, held):
    """Return the balls (k, 4) around those of rectangles (n, 12) that are named (k,).

    Middle, then radius with what rounding may take. In the order in which they are read, they
    tell the most of what is too far.
    """
    told = np.empty((len(held), 4), np.float32)
    for h in range(len(held)):
        one = rectangles[held[h]]
        told[h, 0], told[h, 1], told[h, 2] = one[0], one[1], one[2]
        told[h, 3] = np.sqrt(one[9] ** 2 + one[10] ** 2) * (1 + SQUARE_ROUNDING) + one[11]
    return told


@jit
def is_beyond(x, y, z, rectangle, reach):
    """Is a point, given from the corner `low`, farther than `reach` from a rectangle (12,)?"""
    x, y, z = x - rectangle[0], y - rectangle[1], z - rectangle[2]
    u = abs(rectangle[3] * x + rectangle[4] * y + rectangle[5] * z)
    v = abs(rectangle[6] * x + rectangle[7] * y + rectangle[8] * z)
    square = x * x + y * y + z * z
    above = square - u * u - v * v
    u = max(u - rectangle[9], np.float32(0.0))
    v = max(v - rectangle[10], np.float32(0.0))
    far = reach + rectangle[11]
    return u * u + v * v + above > far * far + SQUARE_ROUNDING * square
