"""Which parts of the operating system are needed, which are missing, and how are they had?

WeasyPrint draws its pages with Pango, which no Python package carries. Three ways, in this
order: found; installed with apt-get by root; downloaded and unpacked below .local/deb for
an ordinary user of Debian, who may not install. Stands on the standard library alone; a look
costs a few file look-ups, because every start of every command makes it.
"""

import hashlib
import os
import platform
import shutil
import subprocess
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

FONTS_CONF = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">
<fontconfig>
{includes}
  <dir>/usr/share/fonts</dir>
  <dir>{fonts}</dir>
  <cachedir>{cache}</cachedir>
</fontconfig>
"""


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
    first = {
        "LD_LIBRARY_PATH": [deb / f"usr/lib/{MULTIARCH}", deb / f"lib/{MULTIARCH}"],
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


def digest_of(parts):
    return hashlib.sha256("\n".join(sorted(p.package for p in parts)).encode()).hexdigest()


def not_tried_yet(parts, local, again=False):
    """The missing parts worth an attempt: none if exactly these were not to be had before."""
    note = local / "not-to-be-had"
    if again or not parts or not note.exists():
        return parts
    return [] if note.read_text().split()[:1] == [digest_of(parts)] else parts


# How the missing ones are had


def is_root_on_debian():
    return os.geteuid() == 0 and bool(shutil.which("apt-get"))


def may_unpack():
    return bool(shutil.which("apt-get") and shutil.which("dpkg-deb"))


def apt_install_command(packages):
    return [
        *("apt-get", "-y", "-q", "-o", "DPkg::Lock::Timeout=300"),
        *("install", "--no-install-recommends", *packages),
    ]


def apt_private(local):
    """apt-get for an ordinary user: lists and downloads below .local, no lock of the system."""
    return [
        *("apt-get", "-y", "-q", "-o", "Debug::NoLocking=1"),
        *("-o", f"Dir::State::Lists={local}/apt/lists", "-o", f"Dir::Cache={local}/apt/cache"),
    ]


def packages_in(simulation):
    """name=version of every package that `apt-get -s install` says it would install."""
    lines = (line.split() for line in simulation.splitlines() if line.startswith("Inst "))
    # "Inst NAME (VERSION SUITE [ARCH])", for an upgrade "Inst NAME [OLD] (VERSION ...)".
    return [
        f"{words[1]}={next(w for w in words if w.startswith('(')).strip('()')}"
        for words in lines
    ]


def run(command, cwd=None, environ=None):
    return subprocess.run(command, cwd=cwd, env=environ, capture_output=True, text=True)


def install_as_root(parts):
    environ = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
    packages = [part.package for part in parts]
    if run(apt_install_command(packages), environ=environ).returncode == 0:
        return
    run(["apt-get", "-q", "update"], environ=environ)
    if run(apt_install_command(packages), environ=environ).returncode:
        for package in packages:
            run(apt_install_command([package]), environ=environ)


def font_rules(deb, system="/etc/fonts/fonts.conf"):
    """The system's font rules, or the unpacked ones: without them emoji are not scaled.

    Debian's links point to where an installed package would have put them.
    """
    if os.path.exists(system):
        return [system]
    links = sorted((deb / "etc/fonts/conf.d").glob("*.conf"))
    targets = [(link, os.readlink(link)) for link in links if link.is_symlink()]
    rules = [
        str(deb / target.lstrip("/")) if target.startswith("/") else str(link.parent / target)
        for link, target in targets
    ]
    return [rule for rule in rules if os.path.exists(rule)]


def fonts_conf(deb, cache, rules):
    from xml.sax.saxutils import escape

    lines = [f'  <include ignore_missing="yes">{escape(rule)}</include>' for rule in rules]
    fonts = escape(str(deb / "usr/share/fonts"))
    return FONTS_CONF.format(includes="\n".join(lines), fonts=fonts, cache=escape(str(cache)))


def unpack_packages(names, local):
    """Downloads packages and what they need, unpacks them; False if they are not to be had."""
    apt, debs = apt_private(local), local / "apt" / "debs"
    wanted = run([*apt, "-s", "install", "--no-install-recommends", *names])
    packages = packages_in(wanted.stdout) if wanted.returncode == 0 else []
    if not packages or run([*apt, "download", *packages], cwd=debs).returncode:
        return False
    for deb in sorted(debs.glob("*.deb")):
        run(["dpkg-deb", "-x", str(deb), str(local / "deb")])
        deb.unlink()
    return True


def unpack(parts, local):
    """What an ordinary user does instead of installing; the result lies below .local/deb."""
    for folder in ("apt/lists/partial", "apt/cache/archives/partial", "apt/debs", "deb"):
        (local / folder).mkdir(parents=True, exist_ok=True)
    run([*apt_private(local), "update"])
    names = [part.package for part in parts]
    if not unpack_packages(names, local):
        for name in names:
            unpack_packages([name], local)
    rules = font_rules(local / "deb")
    text = fonts_conf(local / "deb", local / "font-cache", rules)
    (local / "fonts.conf").write_text(text)
    shutil.rmtree(local / "apt", ignore_errors=True)


def advice(parts):
    """What a person is told who lacks these parts and could not be helped."""
    names = "; ".join(part.title for part in parts)
    packages = " ".join(part.package for part in parts)
    sentences = [f"Not on this machine and not to be had from here: {names}."]
    if any(part.kind == "library" and not part.tests_only for part in parts):
        sentences.append("Papers are offered as pages to print instead of PDF files.")
    if any(part.kind == "font" for part in parts):
        sentences.append("Names in those scripts are printed as empty boxes.")
    if any(part.tests_only for part in parts):
        sentences.append("Tests that need them are skipped.")
    if platform.system() == "Darwin":
        sentences.append("On macOS: brew install pango harfbuzz qpdf poppler.")
    else:
        sentences.append(
            f"On Debian an administrator runs: apt-get install {packages}. On other systems "
            "install the packages that hold the same."
        )
    return " ".join(sentences)


def bring(parts, local, say):
    """Gets the missing parts if it can; says what stays missing, and does not fail for it."""
    if not parts:
        return
    names = " ".join(part.package for part in parts)
    if is_root_on_debian():
        say(f"Installing system packages with apt-get: {names} ...")
        install_as_root(parts)
    elif may_unpack():
        say(f"Unpacking system packages below {local}/deb: {names} ...")
        unpack(parts, local)
    note, still = local / "not-to-be-had", missing(parts, local)
    if not still:
        note.unlink(missing_ok=True)
        return
    say(advice(still))
    note.write_text(
        f"{digest_of(still)}\nDelete this file to have the missing parts tried again.\n"
    )
