"""How is the script of the page that shows surfaces built, with or without Node.js here?

Its libraries come from the npm registry by the lock file, one program joins them to one file.
Where that cannot be had the pages work without it and say so. Stands on the standard library
alone; a look costs a few small files, because every start of every command makes it.
"""

import hashlib
import os
import shutil
from pathlib import Path

from casework.debian import run, tried

WEB = Path(__file__).resolve().parent.parent / "web"
BUILT = WEB / "built"
SCRIPT, STAMP, FAILED = BUILT / "viewer.js", BUILT / "stamp", BUILT / "failed"
OLDEST_NODE = 18
AUTHORITIES = "/etc/ssl/certs/ca-certificates.crt"
INSTALL = ("ci", "--ignore-scripts", "--no-audit", "--no-fund")
JOIN = (
    *("viewer/main.js", "--bundle", "--minify", "--format=iife", "--target=es2022"),
    *("--log-level=error", "--outfile=built/viewer.js.new"),
)


def digest_of_sources():
    """One digest over everything that the script is made of."""
    files = [WEB / "package.json", WEB / "package-lock.json", *(WEB / "viewer").glob("*.js")]
    total = hashlib.sha256()
    for path in sorted(files):
        total.update(path.name.encode() + b"\0" + path.read_bytes() + b"\0")
    return total.hexdigest()


def text_of(path):
    """What a small file says, "" where it is not there."""
    try:
        return path.read_text()
    except OSError:
        return ""


def is_built():
    """Is the script there, made of the sources as they are now?"""
    return SCRIPT.is_file() and text_of(STAMP) == digest_of_sources()


def is_wanted(*, again):
    """Is there something to build that was not tried in vain before?"""
    return not is_built() and (again or text_of(FAILED) != digest_of_sources())


def environment(environ, folder=""):
    """The environment of npm: the system's authorities, and Node.js where it lies apart."""
    added = {}
    if os.path.exists(AUTHORITIES) and not environ.get("NODE_EXTRA_CA_CERTS"):
        added["NODE_EXTRA_CA_CERTS"] = AUTHORITIES
    if folder:
        added["PATH"] = os.pathsep.join([str(folder), environ.get("PATH", "")])
    return {**environ, **added}


def has_node():
    """Is there a Node.js on this machine that is new enough, and its npm?"""
    node = shutil.which("node")
    if not node or not shutil.which("npm"):
        return False
    said = run([node, "--version"]).stdout
    major = said.strip().removeprefix("v").partition(".")[0]
    return major.isdigit() and int(major) >= OLDEST_NODE


def build(say, bring_node):
    """Build the script. `bring_node()` installs Node.js and returns its folder, or None."""
    digest = digest_of_sources()
    BUILT.mkdir(exist_ok=True)
    folder = ""
    if not has_node():
        say("Fetching Node.js, which builds the picture of the surfaces ...")
        folder = bring_node()
    if folder is None:
        return give_up(say, digest, "Node.js could not be had.")
    environ = environment(os.environ, folder)
    npm = shutil.which("npm", path=environ["PATH"])
    node = shutil.which("node", path=environ["PATH"])
    say("Building the picture of the surfaces ...")
    error = tried([npm, *INSTALL], WEB, environ)
    if error is None:
        error = tried([node, "node_modules/esbuild/bin/esbuild", *JOIN], WEB, environ)
    if error is not None:
        return give_up(say, digest, error)
    os.replace(BUILT / "viewer.js.new", SCRIPT)
    STAMP.write_text(digest)
    FAILED.unlink(missing_ok=True)
    return True


def give_up(say, digest, error):
    """Say it once; the next start of the tests, or other sources, tries again."""
    FAILED.write_text(digest)
    say(
        f"{error[-600:]}\n\nThe picture of the surfaces could not be built, so the pages show"
        " drawn pictures and tables instead; everything else works. To try again, check the"
        f" connection to the package registries, delete {FAILED} and start again."
    )
    return False
