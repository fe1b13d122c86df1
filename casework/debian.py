"""How are missing parts of the operating system had, by root and by an ordinary user?

Root installs with apt-get; an ordinary user of Debian downloads the packages and unpacks them
below .local/deb; everywhere else a sentence says what to install. Stands on the standard
library alone.
"""

import os
import platform
import shutil
import subprocess

from casework.machine import digest_of, missing, note_of

FONTS_CONF = """<?xml version="1.0"?>
<!DOCTYPE fontconfig SYSTEM "urn:fontconfig:fonts.dtd">
<fontconfig>
{includes}
  <dir>/usr/share/fonts</dir>
  <dir>{fonts}</dir>
  <cachedir>{cache}</cachedir>
</fontconfig>
"""


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


def tried(command, cwd=None, environ=None):
    """The error output of a command, or None if it went well."""
    try:
        done = run(command, cwd, environ)
    except OSError as error:
        return str(error)
    return None if done.returncode == 0 else (done.stderr + done.stdout).strip()


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


def write_fonts_conf(local):
    """Holds full paths, so it is written again when the project has moved."""
    deb = local / "deb"
    if deb.exists():
        text = fonts_conf(deb, local / "font-cache", font_rules(deb))
        (local / "fonts.conf").write_text(text)


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
    write_fonts_conf(local)
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
    note, still = note_of(local), missing(parts, local)
    if not still:
        note.unlink(missing_ok=True)
        return
    say(advice(still))
    note.write_text(
        f"{digest_of(still)}\nDelete this file to have the missing parts tried again.\n"
    )
