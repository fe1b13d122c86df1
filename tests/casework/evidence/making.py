"""Which small files do the tests of evidence send? All made here from numbers."""

import io
import struct
import zlib

import numpy as np

from tests.shapes import box

RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def binary_stl(body=None, header=b"test body"):
    vertices, faces = body or box()
    records = np.zeros(len(faces), RECORD)
    records["corners"] = vertices[faces]
    return header.ljust(80, b"\0") + struct.pack("<I", len(faces)) + records.tobytes()


def arch_stl(**more):
    """A box of the size of an arch, so that its unit is credible."""
    return binary_stl(box(60, 45, 15), **more)


def text_ply(body=None, comments=()):
    vertices, faces = body or box()
    lines = ["ply", "format ascii 1.0", *(f"comment {text}" for text in comments)]
    lines += [f"element vertex {len(vertices)}"]
    lines += [f"property float {axis}" for axis in "xyz"]
    lines += [f"element face {len(faces)}", "property list uchar int vertex_indices"]
    lines += ["end_header", *(" ".join(f"{c:g}" for c in v) for v in vertices)]
    lines += [f"3 {a} {b} {c}" for a, b, c in faces]
    return "\n".join(lines).encode() + b"\n"


def picture(file_format, size=(24, 16), **more):
    from PIL import Image

    ramp = np.arange(size[0] * size[1] * 3, dtype=np.uint32).reshape(size[1], size[0], 3)
    made = io.BytesIO()
    Image.fromarray((ramp * 7 % 256).astype(np.uint8)).save(made, file_format, **more)
    return made.getvalue()


def exif(*, turn=6, taken="2026:03:04 10:11:12", name="Testperson Alpha"):
    """Exif with a turn, a person's name, a moment and a place (CIPA DC-008)."""
    from PIL import Image

    block = Image.Exif()
    block[274], block[315], block[306] = turn, name, taken
    block.get_ifd(34665)[36867] = taken
    block.get_ifd(34853)[1] = "N"
    block.get_ifd(34853)[2] = (51.0, 30.0, 0.0)
    return block.tobytes()


def dicom(**more):
    """A small radiograph with a name in every corner it may stand in."""
    import pydicom
    from pydicom.dataset import FileDataset, FileMetaDataset
    from pydicom.uid import ExplicitVRLittleEndian, generate_uid

    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID = "1.2.840.10008.5.1.4.1.1.1.3"
    meta.MediaStorageSOPInstanceUID = generate_uid()
    meta.TransferSyntaxUID = ExplicitVRLittleEndian
    made = FileDataset("", {}, file_meta=meta, preamble=bytes(128))
    made.SOPClassUID, made.SOPInstanceUID = (
        meta.MediaStorageSOPClassUID,
        meta.MediaStorageSOPInstanceUID,
    )
    made.StudyInstanceUID = made.SeriesInstanceUID = generate_uid()
    made.PatientName, made.PatientID = "Testperson^Alpha", "CHART-4711"
    made.PatientBirthDate, made.StudyDate, made.AcquisitionDate = (
        "19700101",
        "20260304",
        "20260305",
    )
    made.InstitutionName = made.StudyDescription = made.ImageComments = "Testperson at home"
    made.OperatorsName, made.Modality = "Testperson^Beta", "IO"
    made.PixelSpacing = [0.02, 0.02]
    made.Rows, made.Columns, made.SamplesPerPixel = 4, 6, 1
    made.PhotometricInterpretation = "MONOCHROME2"
    made.BitsAllocated, made.BitsStored, made.HighBit = 16, 12, 11
    made.PixelRepresentation = 0
    made.PixelData = np.arange(24, dtype="<u2").tobytes()
    block = made.private_block(0x0011, "testperson maker", create=True)
    block.add_new(1, "LO", "Testperson again")
    item = pydicom.Dataset()
    item.PatientName = "Testperson^Nested"
    made.RequestAttributesSequence = pydicom.Sequence([item])
    for keyword, value in more.items():
        setattr(made, keyword, value)
    out = io.BytesIO()
    made.save_as(out, enforce_file_format=True)
    return out.getvalue()


def pdf():
    return b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"


def zip_of(*members, flags=0, zip64=False):
    """A ZIP written byte by byte, with names as given: (raw name, data, flags) or (name, data).

    Layout: APPNOTE.TXT 4.3.7, 4.3.12, 4.3.14 to 4.3.16 and 4.5.3.
    """
    body, table = b"", b""
    for name, data, *own in members:
        flag = own[0] if own else flags
        packer = zlib.compressobj(9, zlib.DEFLATED, -15)
        packed = packer.compress(data) + packer.flush()
        sizes = struct.pack("<III", zlib.crc32(data), len(packed), len(data))
        extra = b""
        if zip64:
            extra = struct.pack("<HHQQ", 1, 16, len(data), len(packed))
            sizes = struct.pack("<III", zlib.crc32(data), 0xFFFFFFFF, 0xFFFFFFFF)
        common = struct.pack("<HHHHH", 45 if zip64 else 20, flag, 8, 0, 0x5A21) + sizes
        ends = struct.pack("<HH", len(name), len(extra))
        place = len(body)
        body += b"PK\3\4" + common + ends + name + extra + packed
        table += b"PK\1\2" + struct.pack("<H", 45) + common + ends
        table += struct.pack("<HHHII", 0, 0, 0, 0, place) + name + extra
    count, start = len(members), len(body)
    end = b""
    if zip64:
        end = b"PK\6\6" + struct.pack(
            "<QHHIIQQQQ", 44, 45, 45, 0, 0, count, count, len(table), start
        )
        end += b"PK\6\7" + struct.pack("<IQI", 0, start + len(table), 1)
    said = (
        (0xFFFF, 0xFFFF, 0xFFFFFFFF, 0xFFFFFFFF) if zip64 else (count, count, len(table), start)
    )
    return body + table + end + b"PK\5\6" + struct.pack("<HHHHIIH", 0, 0, *said, 0)
