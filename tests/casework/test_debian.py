"""Are missing parts asked for in the right words, and does a person hear what stays missing?"""

import os
import xml.etree.ElementTree as ElementTree

from casework import debian, machine
from casework.machine import PARTS


def part(package):
    return next(part for part in PARTS if part.package == package)


# What a person hears


def test_without_root_and_apt_a_sentence_says_what_is_off(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", "")
    said = []
    unknown = machine.Part("Pango", "libpango-1.0-0", ("no-such-library.so",), "library")

    debian.bring([unknown], tmp_path, said.append)

    assert len(said) == 1
    assert "Papers are offered as pages to print instead of PDF files." in said[0]
    assert "apt-get install libpango-1.0-0" in said[0]
    assert machine.not_tried_yet([unknown], tmp_path) == []


def test_nothing_missing_says_nothing(tmp_path):
    said = []

    debian.bring([], tmp_path, said.append)

    assert said == []
    assert list(tmp_path.iterdir()) == []


def test_missing_fonts_and_programs_are_told_apart():
    assert "empty boxes" in debian.advice([part("fonts-wqy-microhei")])
    assert "PDF" not in debian.advice([part("fonts-wqy-microhei")])
    assert "Tests that need them are skipped" in debian.advice([part("qpdf")])
    assert "PDF" not in debian.advice([part("libatomic1")])


# How it is asked for


def test_apt_installs_without_recommendations_and_questions():
    command = debian.apt_install_command(["a", "b"])

    assert command[0] == "apt-get"
    assert "-y" in command
    assert command[-4:] == ["install", "--no-install-recommends", "a", "b"]


def test_an_ordinary_user_writes_below_the_project_only(tmp_path):
    command = debian.apt_private(tmp_path)

    assert f"Dir::State::Lists={tmp_path}/apt/lists" in command
    assert f"Dir::Cache={tmp_path}/apt/cache" in command


def test_the_packages_are_read_off_a_simulated_installation():
    simulated = """\
NOTE: This is only a simulation!
Reading package lists...
Inst libgraphite2-3 (1.3.14-1 Debian:12.11/stable [amd64])
Inst libssl3 [3.0.16-1] (3.0.17-1 Debian-Security:12/stable-security [amd64])
Inst fonts-droid-fallback (1:6.0.1r16-1.1 Debian:12.11/stable [all])
Conf libgraphite2-3 (1.3.14-1 Debian:12.11/stable [amd64])
"""

    assert debian.packages_in(simulated) == [
        "libgraphite2-3=1.3.14-1",
        "libssl3=3.0.17-1",
        "fonts-droid-fallback=1:6.0.1r16-1.1",
    ]


# Font rules


def test_links_of_unpacked_font_rules_are_followed_below_the_project(tmp_path):
    rules = tmp_path / "etc/fonts/conf.d"
    rules.mkdir(parents=True)
    available = tmp_path / "usr/share/fontconfig/conf.avail/10-scale-bitmap-fonts.conf"
    for file in (available, tmp_path / "etc/fonts/conf.avail/57-dejavu-sans.conf"):
        file.parent.mkdir(parents=True, exist_ok=True)
        file.touch()
    (rules / "10-scale.conf").symlink_to("/usr/share/fontconfig/conf.avail/" + available.name)
    (rules / "57-dejavu.conf").symlink_to("../conf.avail/57-dejavu-sans.conf")
    (rules / "60-gone.conf").symlink_to("/usr/share/fontconfig/conf.avail/60-gone.conf")

    found = debian.font_rules(tmp_path, system=tmp_path / "none")

    assert [os.path.realpath(rule) for rule in found] == [
        str(available),
        str(tmp_path / "etc/fonts/conf.avail/57-dejavu-sans.conf"),
    ]


def test_font_rules_are_well_formed_in_a_folder_of_any_name(tmp_path):
    deb = tmp_path / "a & b" / "deb"

    text = debian.fonts_conf(deb, tmp_path / "<cache>", [str(deb / "rule.conf")])

    root = ElementTree.fromstring(text)
    assert root.findtext("include") == str(deb / "rule.conf")
    assert [d.text for d in root.iter("dir")] == [
        "/usr/share/fonts",
        str(deb / "usr/share/fonts"),
    ]
    assert root.findtext("cachedir") == str(tmp_path / "<cache>")


def test_a_moved_project_writes_its_font_rules_again(tmp_path):
    local = tmp_path / "before" / ".local"
    (local / "deb").mkdir(parents=True)
    debian.write_fonts_conf(local)
    moved = local.parent.rename(tmp_path / "after") / ".local"

    debian.write_fonts_conf(moved)

    assert "/after/.local/deb/usr/share/fonts" in (moved / "fonts.conf").read_text()
    assert "/before/" not in (moved / "fonts.conf").read_text()


def test_nothing_unpacked_needs_no_font_rules(tmp_path):
    debian.write_fonts_conf(tmp_path)

    assert not (tmp_path / "fonts.conf").exists()
