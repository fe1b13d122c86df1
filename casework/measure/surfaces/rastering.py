"""Which triangle is nearest to the eye at each pixel, and what colour has it there?

A z-buffer for parallel projection: coordinates and lengths are linear over a triangle, so that
interpolation on the screen is exact. Loops are serial and go by the order of the faces; where
two faces are equally near the first one stays, so that the same input gives the same picture.
"""

import numpy as np

from casework.measure.jit import jit

CREASE = 0.75  # cosine: where a corner's normal leaves its face by more, the face's own counts
AMBIENT, FIELD_AMBIENT = 0.42, 0.80  # share of the light that comes from everywhere
HATCH_SHADE = 0.72
EDGE = 1e-9  # share by which a face reaches over its edge, so that none lets light through


@jit
def nearest_faces(screen, cut, faces, first, last, behind, before, depth, face_at):
    """Fill depth (h, w) and face_at (h, w) int32 with the nearest of faces first to last.

    screen (m, 3): pixel right, pixel down, depth in mm; cut (m,): > 0 is cut away. Only what
    lies deeper than behind (h, w) and less deep than before (h, w) counts.
    """
    height, width = depth.shape
    for f in range(first, last):
        i, j, k = faces[f, 0], faces[f, 1], faces[f, 2]
        ax, ay, az = screen[i, 0], screen[i, 1], screen[i, 2]
        bx, by, bz = screen[j, 0], screen[j, 1], screen[j, 2]
        cx, cy, cz = screen[k, 0], screen[k, 1], screen[k, 2]
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        if area == 0.0 or (cut[i] > 0.0 and cut[j] > 0.0 and cut[k] > 0.0):
            continue
        # Pixels whose middles lie within the bounds.
        x0 = max(0, int(np.ceil(max(min(ax, bx, cx), 0.0) - 0.5)))
        x1 = min(width - 1, int(np.floor(min(max(ax, bx, cx), width + 1.0) - 0.5)))
        y0 = max(0, int(np.ceil(max(min(ay, by, cy), 0.0) - 0.5)))
        y1 = min(height - 1, int(np.floor(min(max(ay, by, cy), height + 1.0) - 0.5)))
        # Shares of the corners, linear over the screen.
        each = 1.0 / area
        u_right, u_down = (by - cy) * each, (cx - bx) * each
        v_right, v_down = (cy - ay) * each, (ax - cx) * each
        u_here = ((bx - x0 - 0.5) * (cy - y0 - 0.5) - (by - y0 - 0.5) * (cx - x0 - 0.5)) * each
        v_here = ((cx - x0 - 0.5) * (ay - y0 - 0.5) - (cy - y0 - 0.5) * (ax - x0 - 0.5)) * each
        is_split = cut[i] > 0.0 or cut[j] > 0.0 or cut[k] > 0.0
        for y in range(y0, y1 + 1):
            u_row = u_here + (y - y0) * u_down
            v_row = v_here + (y - y0) * v_down
            for x in range(x0, x1 + 1):
                u = u_row + (x - x0) * u_right
                v = v_row + (x - x0) * v_right
                w = 1.0 - u - v
                if u < -EDGE or v < -EDGE or w < -EDGE:
                    continue
                z = u * az + v * bz + w * cz
                if z >= depth[y, x] or z <= behind[y, x] or z >= before[y, x]:
                    continue
                if is_split and u * cut[i] + v * cut[j] + w * cut[k] > 0.0:
                    continue
                depth[y, x] = z
                face_at[y, x] = f


@jit
def add_solid(screen, faces, plane, depth, face_at, all_depth, all_face_at, is_cap):
    """Take a closed body, drawn alone and cut by a plane, into the picture of all parts.

    Where its inner side is the first thing behind the plane, the eye looks into the body: there
    the plane cuts it, at depth plane[0] + plane[1] right + plane[2] down, in pixels.
    """
    height, width = depth.shape
    for y in range(height):
        for x in range(width):
            f = face_at[y, x]
            if f < 0:
                continue
            i, j, k = faces[f, 0], faces[f, 1], faces[f, 2]
            turn = (screen[j, 0] - screen[i, 0]) * (screen[k, 1] - screen[i, 1])
            turn -= (screen[j, 1] - screen[i, 1]) * (screen[k, 0] - screen[i, 0])
            # A face turned to the eye runs clockwise where down is positive.
            z, cuts = depth[y, x], turn > 0.0
            if cuts:
                z = min(z, plane[0] + plane[1] * (x + 0.5) + plane[2] * (y + 0.5))
            if z < all_depth[y, x]:
                all_depth[y, x], all_face_at[y, x], is_cap[y, x] = z, f, cuts


@jit
def shade(
    face_at, is_cap, screen, vertices, faces, normals, part_of, colours, smooth, field,
    on_ramp, ramp, unknown, light, toward, hatch_px, rgb, length_at,
):  # fmt: skip
    """Fill rgb (h, w, 3) and length_at (h, w) where face_at names a face.

    is_cap (h, w): cut through; vertices, normals (m, 3); part_of (n,); of each part: colours
    (p, 3), smooth (p,), and on_ramp (p, 3): whether `field` (m,) is shown, the length drawn
    lightest and the one drawn darkest. light, toward (3,): to the light, and from the eye into
    the picture. length_at is nan where no length is shown or known.
    """
    height, width = face_at.shape
    for y in range(height):
        for x in range(width):
            f = face_at[y, x]
            if f < 0:
                continue
            i, j, k, p = faces[f, 0], faces[f, 1], faces[f, 2], part_of[f]
            if is_cap[y, x]:
                stripe = (x + y if p % 2 else x - y) % hatch_px
                share = HATCH_SHADE if stripe * 4 < hatch_px else 0.93
                for c in range(3):
                    rgb[y, x, c] = share * colours[p, c]
                continue
            nx, ny, nz = _normal(vertices, i, j, k)
            away = nx * toward[0] + ny * toward[1] + nz * toward[2]
            u, v, w = _shares(screen, i, j, k, x + 0.5, y + 0.5)
            gx, gy, gz = nx, ny, nz
            if smooth[p]:
                sx = sy = sz = 0.0
                for corner, share in ((i, u), (j, v), (k, w)):
                    mx, my, mz = normals[corner, 0], normals[corner, 1], normals[corner, 2]
                    if not mx * nx + my * ny + mz * nz > CREASE:
                        mx, my, mz = nx, ny, nz
                    sx, sy, sz = sx + share * mx, sy + share * my, sz + share * mz
                length = np.sqrt(sx * sx + sy * sy + sz * sz)
                if length > 0.0:
                    gx, gy, gz = sx / length, sy / length, sz / length
            lit = gx * light[0] + gy * light[1] + gz * light[2]
            if away > 0.0:
                lit = -0.75 * lit  # the inner side of an open surface
            lit = max(lit, 0.0)
            if on_ramp[p, 0] > 0.0:
                lit = FIELD_AMBIENT + (1.0 - FIELD_AMBIENT) * lit
                mm = u * field[i] + v * field[j] + w * field[k]
                length_at[y, x] = mm
                if np.isnan(mm):
                    for c in range(3):
                        rgb[y, x, c] = lit * unknown[c]
                    continue
                share = (mm - on_ramp[p, 1]) / (on_ramp[p, 2] - on_ramp[p, 1])
                step = int(min(max(share, 0.0), 1.0) * (len(ramp) - 1) + 0.5)
                for c in range(3):
                    rgb[y, x, c] = lit * ramp[step, c]
            else:
                lit = AMBIENT + (1.0 - AMBIENT) * lit
                for c in range(3):
                    rgb[y, x, c] = lit * colours[p, c]


@jit
def _shares(screen, i, j, k, px, py):
    ax, ay, bx, by = screen[i, 0], screen[i, 1], screen[j, 0], screen[j, 1]
    cx, cy = screen[k, 0], screen[k, 1]
    area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    u = ((bx - px) * (cy - py) - (by - py) * (cx - px)) / area
    v = ((cx - px) * (ay - py) - (cy - py) * (ax - px)) / area
    return u, v, 1.0 - u - v


@jit
def _normal(vertices, i, j, k):
    ax = vertices[j, 0] - vertices[i, 0]
    ay = vertices[j, 1] - vertices[i, 1]
    az = vertices[j, 2] - vertices[i, 2]
    bx = vertices[k, 0] - vertices[i, 0]
    by = vertices[k, 1] - vertices[i, 1]
    bz = vertices[k, 2] - vertices[i, 2]
    x, y, z = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    length = np.sqrt(x * x + y * y + z * z)
    if length == 0.0:
        return 0.0, 0.0, 0.0
    return x / length, y / length, z / length


@jit
def draw_lines(rgb, depth, part_at, length_at, lines_of, jump_mm, shade_to):
    """Darken rgb (h, w, 3) where a part ends, steps back, or passes a length of it (p, k)."""
    height, width = depth.shape
    is_line = np.zeros((height, width), np.bool_)
    for y in range(height):
        for x in range(width):
            p = part_at[y, x]
            for dy, dx in ((0, 1), (1, 0)):
                if y + dy >= height or x + dx >= width:
                    continue
                q = part_at[y + dy, x + dx]
                if p < 0 and q < 0:
                    continue
                if p != q or _steps_back(depth, y, x, dy, dx, jump_mm):
                    # On the nearer side, so that a part does not grow by its line.
                    if q < 0 or (p >= 0 and depth[y, x] < depth[y + dy, x + dx]):
                        is_line[y, x] = True
                    else:
                        is_line[y + dy, x + dx] = True
                    continue
                for line in lines_of[p]:  # nan, where a part has fewer, is passed nowhere
                    one = length_at[y, x] - line
                    two = length_at[y + dy, x + dx] - line
                    if one * two < 0.0 or (one == 0.0) != (two == 0.0):
                        for back in range(-1, 2):
                            is_line[max(y + back * dy, 0), max(x + back * dx, 0)] = True
    for y in range(height):
        for x in range(width):
            if is_line[y, x]:
                for c in range(3):
                    rgb[y, x, c] = shade_to[c] + 0.25 * (rgb[y, x, c] - shade_to[c])


@jit
def _steps_back(depth, y, x, dy, dx, jump_mm):
    """Does the depth change by more than the slope on either side lets expect?"""
    height, width = depth.shape
    step = depth[y + dy, x + dx] - depth[y, x]
    if not abs(step) > jump_mm:
        return False
    for t, u, v, w in ((y - dy, x - dx, y, x), (y + dy, x + dx, y + 2 * dy, x + 2 * dx)):
        if t < 0 or u < 0 or v >= height or w >= width:
            continue
        if not abs(step - (depth[v, w] - depth[t, u])) > jump_mm:
            return False
    return True
