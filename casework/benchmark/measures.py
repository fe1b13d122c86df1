"""How fast and how right are the measures, printed topic by topic?

A topic is a file of `accuracy/` (errors against the known truth of seeded cases) or of
`measuring/` (times beside the obvious general-purpose way, both in one run).
"""

import resource
import sys
from importlib import import_module
from pkgutil import iter_modules

from casework.benchmark import accuracy, measuring
from casework.benchmark.inspecting import LibraryMissing


def topics(package):
    """The names of the topics of a package, in alphabetical order."""
    return sorted(module.name for module in iter_modules(package.__path__))


def chosen(package, names):
    """The topics asked for, all where none is; raises ValueError for one that is none."""
    known = topics(package)
    if unknown := sorted(set(names) - set(known)):
        raise ValueError(f"No topic {', '.join(unknown)}; there are {', '.join(known)}.")
    return names or known


def print_accuracy(names, seeds, say):
    """Say a table of errors: quantity, condition, median, 95 %, worst, count."""
    for topic in chosen(accuracy, names):
        module = import_module(f"{accuracy.__name__}.{topic}")
        say(f"{topic}: {module.__doc__.splitlines()[0]}")
        say("| quantity | condition | median | 95 % | worst | n |\n|---|---|---|---|---|---|")
        for row in module.rows(seeds):
            figures = " | ".join(f"{x:.3g}" for x in (row.median, row.p95, row.worst))
            say(f"| {row.quantity}, {row.unit} | {row.condition} | {figures} | {row.count} |")
    return True


def print_ratios(names, scale, say):
    """Say for each computation its time, that of the other way, the ratio, peak memory."""
    try:
        import trimesh  # noqa: F401
    except ImportError:
        raise LibraryMissing(
            "trimesh, which this is compared with, comes with the packages of the tests:"
            " `python3 manage.py test --collect-only -q` installs them."
        ) from None
    say("| computation | ours s | other s | ratio | peak MiB | ours | other |")
    say("|---|---|---|---|---|---|---|")
    for topic in chosen(measuring, names):
        for row in import_module(f"{measuring.__name__}.{topic}").compare(scale):
            if row.theirs_s is None:
                theirs, ratio = "–", "–"
            else:
                theirs, ratio = f"{row.theirs_s:.3g}", f"{row.theirs_s / row.ours_s:.3g}"
            say(
                f"| {row.name} | {row.ours_s:.3g} | {theirs} | {ratio} | {peak_mib()}"
                f" | {row.ours_note} | {row.theirs_note} |"
            )
    return True


def peak_mib():
    """The most memory this process has had so far, in MiB."""
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return used // (1024 * 1024) if sys.platform == "darwin" else used // 1024
