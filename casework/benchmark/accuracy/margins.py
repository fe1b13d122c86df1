"""How exactly are margin, post and axis of an abutment found from its mesh alone?"""

import numpy as np

from casework.benchmark.accuracy import Row, summary
from casework.benchmark.turned_parts import divided, drawn_parts, stored, turned
from casework.measure.margins import measure_post
from casework.measure.posts import find_post
from casework.measure.surfaces.poses import Pose

UP = Pose.of([0, 0, 0], [0, 0, 1])
ARC = np.radians(np.arange(0, 91, 9))


def rows(seeds: int = 30) -> list[Row]:
    """Return the errors over so many seeded abutments of each kind."""
    return [
        *_sharp(seeds, "sharp edge, pose told", chamfer=0.0, told=True),
        *_sharp(seeds, "sharp edge, nothing told", chamfer=0.0, told=False),
        *_sharp(seeds, "chamfer, nothing told", chamfer=0.5, told=False),
        *_sharp(seeds, "knife edge, pose told", shoulder=0.0, chamfer=0.0, told=True),
        *_rounded(seeds),
    ]


def _sharp(seeds, condition, told, **fixed):
    margins, heights, axes = [], [], []
    for seed in range(seeds):
        parts, rigid = drawn_parts([seed, 1], **fixed)
        vertices, faces = parts.abutment()
        implant = UP.moved(rigid)
        post = find_post(stored(rigid.apply(vertices)), faces, implant if told else None)
        margins.append(_off_line(parts.margin_radius, parts.margin_height, post, implant))
        height = measure_post(post, "11")[1]
        heights.append(1000 * (height.value - (parts.top[1] - parts.margin_height)))
        axes.append(np.degrees(np.arccos(np.clip(post.pose.axis @ implant.axis, -1, 1))))
    return (
        summary("margin line", "µm", condition, margins),
        summary("post height", "µm", condition, heights),
        summary("post axis", "deg", condition, axes),
    )


def _off_line(radius, height, post, implant):
    """The farthest that the line found is from a circle, in µm."""
    local = implant.to_local(post.margin_mm)
    off = np.hypot(np.hypot(local[:, 0], local[:, 1]) - radius, local[:, 2] - height)
    return 1000 * off.max()


def _rounded(seeds):
    """Edges rounded by an arc of 0.1 to 0.35 mm: the truth is the middle of the arc."""
    margins = []
    for seed in range(seeds):
        parts, rigid = drawn_parts([seed, 2], chamfer=0.0, platform_radius=2.0)
        size = np.random.default_rng([seed, 3]).uniform(0.1, 0.35)
        size = min(size, 0.7 * parts.shoulder)
        radius, height = parts.margin_radius, parts.margin_height
        arc = [(radius - size * (1 - np.cos(a)), height + size * np.sin(a)) for a in ARC]
        foot, top = parts.foot, parts.top
        profile = [(radius, 0.0), *arc, (foot[0], height + size), (top[0], top[1] + size)]
        profile = [(0.0, 0.0), *profile, (0.0, top[1] + size)]
        vertices, faces = turned(*divided(profile, parts.ring_mm), parts.sides)
        implant = UP.moved(rigid)
        post = find_post(stored(rigid.apply(vertices)), faces, implant)
        middle = size * np.sqrt(0.5)
        margins.append(_off_line(radius - size + middle, height + middle, post, implant))
    return (summary("margin line", "µm", "edge rounded by 0.1 to 0.35 mm", margins),)
