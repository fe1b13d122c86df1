"""Which parts of the operating system are needed, which are missing, how are they reached?

WeasyPrint draws its pages with Pango, which no Python package carries. A part is installed, or
unpacked below .local/deb (debian.py does both). Stands on the standard library alone; a look
costs a few file look-ups, because every start of every command makes it.
"""

import hashlib
import os
import platform
import shutil
from pathlib import Path
from typing import NamedTuple

MULTIARCH = f"{platform.machine()}-linux-gnu"
LIBRARY_FOLDERS = (
    *(f"usr/lib/{MULTIARCH}", f"lib/{MULTIARCH}", "usr/lib64", "usr/lib", "usr/local/lib"),
    *("opt/homebrew/lib", "opt/homebrew/share/fonts"),
)
FONT_FOLDERS = ("usr/share/fonts", "usr/local/share/fonts")
PROGRAM_FOLDERS = ("usr/bin", "usr/lib/chromium")
BROWSERS = ("chromium", "chromium-headless-shell", "chromium-browser", "google-chrome")
# Chromium's own programs: Debian's names in usr/bin are scripts that know only the system's
# folders, so an unpacked one is started directly.
UNPACKED_BROWSERS = ("chromium-headless-shell", "chromium")


class Part(NamedTuple):
    title: str
    package: str  # Debian's
    files: tuple[str, ...]  # one of them means that it is there
    kind: str  # "library", "font", "program"
    tests_only: bool = False


# Fonts: names are printed in any script. The smallest packages of Debian 12 that cover them;
# `fc-list :lang=ja` (ko, zh-cn, zh-tw, th, hi, he, ar, und-zsye) says what a font covers.
PARTS = (
    Part("Pango", "libpango-1.0-0", ("libpango-1.0.so.0", "libpango-1.0.dylib"), "library"),
    Part(
        "Pango for FreeType",
        "libpangoft2-1.0-0",
        ("libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib"),
        "library",
    ),
    Part(
        "HarfBuzz font subsets",
        "libharfbuzz-subset0",
        ("libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib"),
        "library",
    ),
    Part(
        "a font for Latin, Greek, Cyrillic, Arabic, Hebrew",
        "fonts-dejavu-core",
        ("truetype/dejavu/DejaVuSans.ttf", "dejavu-sans-fonts/DejaVuSans.ttf"),
        "font",
    ),
    Part(
        "a font for Chinese, Japanese, Korean",
        "fonts-wqy-microhei",
        ("truetype/wqy/wqy-microhei.ttc", "opentype/noto/NotoSansCJK-Regular.ttc"),
        "font",
    ),
    Part(
        "a font for Thai",
        "fonts-tlwg-loma-ttf",
        ("truetype/tlwg/Loma.ttf", "truetype/noto/NotoSansThai-Regular.ttf"),
        "font",
    ),
    Part(
        "a font for Devanagari",
        "fonts-lohit-deva",
        ("truetype/lohit-devanagari/Lohit-Devanagari.ttf",),
        "font",
    ),
    Part(
        "a font for emoji",
        "fonts-noto-color-emoji",
        ("truetype/noto/NotoColorEmoji.ttf",),
        "font",
    ),
    Part("qpdf", "qpdf", ("qpdf",), "program", tests_only=True),
    Part("pdftotext", "poppler-utils", ("pdftotext",), "program", tests_only=True),
    Part(
        "a library of the program that drives the browser",
        "libatomic1",
        ("libatomic.so.1",),
        "library",
        tests_only=True,
    ),
    Part("a browser", "chromium-headless-shell", BROWSERS, "program", tests_only=True),
)

# What is needed and what is there


def parts_for(want):
    return [part for part in PARTS if want == "test" or not part.tests_only]


def places(part, roots, path=""):
    """Every file that would show that the part is there, in the order they are looked up."""
    folders = {"library": LIBRARY_FOLDERS, "font": FONT_FOLDERS, "program": PROGRAM_FOLDERS}
    for root in roots:
        for folder in folders[part.kind]:
            yield from (Path(root, folder, name) for name in part.files)
    if part.kind == "program":
        for folder in filter(None, path.split(os.pathsep)):
            yield from (Path(folder, name) for name in part.files)


def missing(parts, local, root="/"):
    roots, path = (root, local / "deb"), os.environ.get("PATH", "")
    return [p for p in parts if not any(f.exists() for f in places(p, roots, path))]


def browser(local, environ):
    """The program that browser tests start, or None. CASEWORK_BROWSER names another one."""
    if chosen := environ.get("CASEWORK_BROWSER"):
        return chosen
    unpacked = str(local / "deb" / "usr/bin")
    folders = [f for f in environ.get("PATH", "").split(os.pathsep) if f != unpacked]
    for name in BROWSERS:
        if found := shutil.which(name, path=os.pathsep.join(folders)):
            return found
    for name in UNPACKED_BROWSERS:
        program = local / "deb" / "usr/lib/chromium" / name
        if program.exists():
            return str(program)
    return None


def environment(local, environ):
    """The entries under which programs find what was unpacked below .local/deb, if anything."""
    deb = local / "deb"
    if not deb.exists():
        return {}
    libraries = deb / f"usr/lib/{MULTIARCH}"
    first = {
        # The browser's sound library looks for its own parts in the system's folder alone.
        "LD_LIBRARY_PATH": [libraries, deb / f"lib/{MULTIARCH}", libraries / "pulseaudio"],
        "PATH": [deb / "usr/bin"],
    }
    entries = {"FONTCONFIG_FILE": str(local / "fonts.conf")}
    for name, folders in first.items():
        added = [str(folder) for folder in folders]
        before = [f for f in environ.get(name, "").split(os.pathsep) if f and f not in added]
        # The machine's own programs win over unpacked ones of the same name; libraries are
        # looked up in the system's folders only after LD_LIBRARY_PATH.
        entries[name] = os.pathsep.join(before + added if name == "PATH" else added + before)
    return entries


# What was tried in vain is not tried again at every start


def note_of(local):
    return local / "not-to-be-had"


def digest_of(parts):
    return hashlib.sha256("\n".join(sorted(p.package for p in parts)).encode()).hexdigest()


def not_tried_yet(parts, local, again=False):
    """The missing parts worth an attempt: none if exactly these were not to be had before."""
    note = note_of(local)
    if again or not parts or not note.exists():
        return parts
    return [] if note.read_text().split()[:1] == [digest_of(parts)] else parts
