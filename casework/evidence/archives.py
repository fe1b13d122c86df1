"""Which files does a ZIP archive hold, and is it safe to take them out?

An archive is judged by its table of contents before anything is taken out, and measured again
while it is unpacked. An archive inside it is unpacked too, once, under the same totals. A
member whose name would put it outside the folder is refused by its name, the others stand.
"""

import re
import struct
import unicodedata
import zipfile
import zlib
from contextlib import ExitStack
from dataclasses import dataclass, field

from django.utils.translation import gettext as _

from casework.evidence.incoming import CHUNK_BYTES, Incoming, TooLarge
from casework.evidence.refusals import ArchiveRefused, FileRefused
from casework.evidence.rules import clean_name, size_in_words
from casework.limits import bytes_of, limit

# Text meshes of flat surfaces shrink to a fiftieth, deflate can reach 1032 : 1 (zlib manual).
RATIO_MAX = int(limit("archive_ratio").value)
# Below this size no ratio is dangerous.
SMALL_BYTES = 2**20
MEMBERS_MAX = int(limit("archive_members").value)
TOTAL_MAX_BYTES = bytes_of("archive_unpacked_size")
DEPTH_MAX = 2
# What computers put beside the files a person meant.
_LITTER = re.compile(r"(^|/)(__MACOSX/|\._|\.DS_Store$|Thumbs\.db$|desktop\.ini$)", re.I)


@dataclass
class Unpacked:
    """Files taken out, and the members that were refused with their reason."""

    files: list = field(default_factory=list)
    refused: list = field(default_factory=list)
    left_out: list = field(default_factory=list)
    total: int = 0
    count: int = 0


def unpack(path, name, *, member_max, keep):
    """Take the members of the archive at `path` out as Incoming files.

    `keep` is an ExitStack that deletes them. Raises ArchiveRefused where nothing was taken.
    """
    unpacked = Unpacked()
    with ExitStack() as taken:
        _unpack(path, name, member_max, taken, unpacked, depth=1)
        if not (unpacked.files or unpacked.refused):
            raise ArchiveRefused(
                _("{name} is an archive without a file in it.").format(name=name),
                because="is an empty archive",
            )
        keep.push(taken.pop_all())
    return unpacked


def _unpack(path, name, member_max, taken, unpacked, depth):
    with _opened(path, name) as archive:
        members = [member for member in archive.infolist() if not member.is_dir()]
        _judge(members, name, member_max, unpacked)
        for member in members:
            shown = shown_name(member)
            if _LITTER.search(shown):
                unpacked.left_out.append(shown)
            elif climbs(shown):
                unpacked.refused.append((shown, _climbing(shown)))
            else:
                incoming = _take_out(archive, member, shown, member_max)
                taken.callback(incoming.close)
                _sort_in(incoming, name, member_max, taken, unpacked, depth)


def _sort_in(incoming, name, member_max, taken, unpacked, depth):
    """Put a member with the files, or unpack it where it is an archive itself."""
    with open(incoming.path, "rb") as file:
        is_archive = file.read(4) in (b"PK\3\4", b"PK\5\6")
    if not is_archive or not zipfile.is_zipfile(incoming.path):
        unpacked.files.append(incoming)
    elif depth >= DEPTH_MAX:
        unpacked.refused.append((incoming.name, _too_deep(incoming.name)))
    else:
        _unpack(
            incoming.path, f"{name}: {incoming.name}", member_max, taken, unpacked, depth + 1
        )
        incoming.close()


def _opened(path, name):
    with open(path, "rb") as file:
        if count_members(file) > MEMBERS_MAX:
            raise _too_many(name)
    try:
        return zipfile.ZipFile(path)
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, struct.error):
        raise ArchiveRefused(
            _(
                "{name} is a damaged ZIP archive: its table of contents cannot be read. Make it"
                " again, or send the files without an archive."
            ).format(name=name),
            because="is a damaged archive",
        ) from None


def count_members(file):
    """How many members the end of the archive declares, by its size where that is more.

    Read before the table of contents is, so that a table of millions is never held in memory.
    APPNOTE.TXT 4.3.14 to 4.3.16: end record and its zip64 form.
    """
    size = file.seek(0, 2)
    start = max(0, size - 65557)
    file.seek(start)
    tail = file.read()
    at = tail.rfind(b"PK\5\6")
    if at < 0 or len(tail) - at < 22:
        return 0
    count, table_bytes = struct.unpack_from("<HI", tail, at + 10)
    if count == 0xFFFF or table_bytes == 0xFFFFFFFF:
        file.seek(max(0, start + at - 20 - 56))
        before = file.read(76)
        wide = before.rfind(b"PK\6\6")
        if wide < 0 or len(before) - wide < 48:
            return MEMBERS_MAX + 1
        count, table_bytes = struct.unpack_from("<QQ", before, wide + 32)
    # A record of the table has 46 bytes and a name; a kilobyte for each is ample.
    return max(count, table_bytes // 1024)


def _judge(members, name, member_max, unpacked):
    """Refuse the whole archive by what its table of contents says."""
    if any(member.flag_bits & 0x41 for member in members):
        raise ArchiveRefused(
            _(
                "{name} is protected with a password (encrypted). Make the archive without a"
                " password, or send the files one by one."
            ).format(name=name),
            because="is a password-protected archive",
        )
    unpacked.count += len(members)
    if unpacked.count > MEMBERS_MAX:
        raise _too_many(name)
    for member in members:
        ratio = member.file_size // max(member.compress_size, 1)
        if member.file_size > SMALL_BYTES and ratio > RATIO_MAX:
            raise _bomb(name, shown_name(member), member.file_size, ratio)
        if member.file_size > member_max:
            raise _too_large(name, shown_name(member), member.file_size, member_max)
    unpacked.total += sum(member.file_size for member in members)
    if unpacked.total > TOTAL_MAX_BYTES:
        raise _too_large(name, _("all of it"), unpacked.total, TOTAL_MAX_BYTES)


def _take_out(archive, member, shown, member_max):
    """One member as an Incoming file; zipfile ends at the declared size and checks the sum."""
    incoming = Incoming(clean_name(shown), most=min(member.file_size, member_max))
    try:
        with archive.open(member) as stream:
            while chunk := stream.read(CHUNK_BYTES):
                incoming.write(chunk)
        if incoming.size != member.file_size:
            raise EOFError
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, TooLarge, ValueError):
        incoming.close()
        raise ArchiveRefused(
            _(
                "{member} in the archive is damaged: what is stored is not what the archive"
                " declares. Make the archive again."
            ).format(member=shown),
            because="holds a damaged member",
        ) from None
    except (NotImplementedError, RuntimeError):
        incoming.close()
        raise ArchiveRefused(
            _(
                "{member} is packed in a way that cannot be unpacked here. Make the archive"
                " with the usual method (deflate)."
            ).format(member=shown),
            because="uses an unknown packing method",
        ) from None
    except BaseException:
        incoming.close()
        raise
    incoming.end()
    return incoming


def shown_name(member):
    """The member's name in whatever encoding it was written.

    With the flag it is UTF-8; without, programs write UTF-8 all the same or code page 437,
    which is what zipfile takes it for.
    """
    name = member.orig_filename
    if not member.flag_bits & 0x800:
        try:
            name = name.encode("cp437").decode("utf-8")
        except UnicodeError:
            pass
    return unicodedata.normalize("NFC", name)


def climbs(name):
    """Would this name put the file outside the folder it is unpacked in?"""
    path = name.replace("\\", "/")
    return (
        path.startswith("/")
        or "\0" in path
        or bool(re.match(r"[A-Za-z]:", path))
        or ".." in path.split("/")
    )


def _climbing(shown):
    return FileRefused(
        _(
            "{name} was refused: its name leads out of the archive's own folder. Name the file"
            " without “..”, drive or leading slash and send it again."
        ).format(name=shown),
        because="has a name that leads out of its folder",
    )


def _too_deep(shown):
    return FileRefused(
        _(
            "{name} was refused: it is an archive inside an archive inside an archive. Send its"
            " files by themselves."
        ).format(name=shown),
        because="is an archive nested too deep",
    )


def _too_many(name):
    return ArchiveRefused(
        _("{name} holds more than {most} files. Send only the files of this case.").format(
            name=name, most=MEMBERS_MAX
        ),
        because="holds too many files",
    )


def _bomb(name, shown, size, ratio):
    return ArchiveRefused(
        _(
            "{name} was not unpacked: {member} would expand to {size}, {ratio} times its packed"
            " size (at most {most} are allowed). Nothing was taken from the archive. Send the"
            " files without an archive."
        ).format(
            name=name, member=shown, size=size_in_words(size), ratio=ratio, most=RATIO_MAX
        ),
        because="expands beyond the allowed ratio",
    )


def _too_large(name, shown, size, most):
    return ArchiveRefused(
        _(
            "{name} was not unpacked: {member} is too large, {size} where {most} are allowed."
            " Nothing was taken from the archive."
        ).format(name=name, member=shown, size=size_in_words(size), most=size_in_words(most)),
        because="is too large when unpacked",
    )
