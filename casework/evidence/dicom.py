"""Which bytes of a DICOM radiograph may leave the house, without the patient and the place?

A list of what stays instead of one of what goes: an element that nobody thought of is left
out. Kept are the picture, what is needed to decode, place and scale it, technical numbers, and
the days (a radiograph is judged by its day). Text, names, moments, devices, private elements
and overlays go, identifiers are replaced by ones of the case. What is left out covers the
attributes of the Basic Application Level Confidentiality Profile (DICOM PS3.15, table E.1-1;
the profile's option to keep full dates is used for days, from memory).
"""

import hashlib
import io
import warnings

from casework.evidence.pictures import PictureDamaged

# Value representations that hold numbers: PS3.5, table 6.2-1.
NUMBERS = frozenset(
    {
        "DS",
        "FD",
        "FL",
        "IS",
        "OD",
        "OF",
        "OL",
        "OV",
        "SL",
        "SS",
        "SV",
        "UL",
        "US",
        "UV",
        "US or SS",
    }
)
# Group: which representations stay. Geometry and exposure, order and place, the image, frames.
GROUPS = {
    0x0018: NUMBERS,
    0x0020: NUMBERS | {"UI", "CS"},
    0x0028: NUMBERS | {"CS", "OW", "OB", "OB or OW", "AT"},
    0x0054: NUMBERS,
    0x5200: frozenset(),
}
SINGLE = frozenset(
    {
        "SpecificCharacterSet",
        "ImageType",
        "SOPClassUID",
        "SOPInstanceUID",
        "Modality",
        "StudyDate",
        "SeriesDate",
        "AcquisitionDate",
        "ContentDate",
        "ConversionType",
        "PresentationIntentType",
        "ImageLaterality",
        "BodyPartExamined",
        "PixelData",
        "FloatPixelData",
        "DoubleFloatPixelData",
    }
)
# Numbers all the same, but they count or date the patient.
NEVER = frozenset({"BodyPartThickness", "PatientWeight", "PatientSize"})
DAYS = ("AcquisitionDate", "ContentDate", "SeriesDate", "StudyDate")
PERSONAL_WORDS = {
    "PatientName": "patient's name",
    "PatientID": "patient's number",
    "PatientBirthDate": "birth date",
    "InstitutionName": "practice",
    "OperatorsName": "operator",
    "DeviceSerialNumber": "device",
    "StudyTime": "times",
}


class BurnedIn(PictureDamaged):
    """The header says that text stands in the picture itself."""


def read(path_or_bytes, *, pixels=True):
    import pydicom

    source = io.BytesIO(path_or_bytes) if isinstance(path_or_bytes, bytes) else path_or_bytes
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return pydicom.dcmread(source, stop_before_pixels=not pixels)
        except Exception as problem:
            raise PictureDamaged(
                f"the DICOM file cannot be read: {type(problem).__name__}"
            ) from problem


def day_taken(path):
    """The day of acquisition as "YYYY-MM-DD", or None."""
    dataset = read(path, pixels=False)
    for name in DAYS:
        text = str(dataset.get(name, "") or "")
        if len(text) == 8 and text.isdigit():
            return f"{text[:4]}-{text[4:6]}-{text[6:]}"
    return None


def without_names(data, *, code, key):
    """(bytes, what was removed in words, digest of the pixel data), the patient being `code`.

    `key` makes the new identifiers unguessable; the same one gives the same identifiers, so
    that the files of a series stay together. Raises BurnedIn and PictureDamaged.
    """
    import pydicom

    dataset = read(data)
    if str(dataset.get("BurnedInAnnotation", "")).upper() == "YES":
        raise BurnedIn
    renamed = {}
    kept = _kept(dataset, lambda uid: renamed.setdefault(uid, _new_uid(uid, code, key)))
    removed = tuple(
        sorted(
            {word for name, word in PERSONAL_WORDS.items() if str(dataset.get(name, "") or "")}
            | ({"private elements"} if any(e.tag.is_private for e in dataset) else set())
            | {"identifiers (replaced)"}
        )
    )
    kept.PatientName = kept.PatientID = code
    kept.PatientBirthDate = kept.PatientSex = ""
    kept.StudyID = kept.AccessionNumber = kept.ReferringPhysicianName = kept.StudyTime = ""
    kept.PatientIdentityRemoved = "YES"
    kept.DeidentificationMethod = "kept by list: picture, geometry, numbers, days"
    meta = pydicom.dataset.FileMetaDataset()
    meta.MediaStorageSOPClassUID = kept.get("SOPClassUID", "")
    meta.MediaStorageSOPInstanceUID = kept.get("SOPInstanceUID", "")
    meta.TransferSyntaxUID = dataset.file_meta.TransferSyntaxUID
    kept.file_meta = meta
    made = _written(kept)
    before = pixel_digest(dataset)
    if pixel_digest(read(made)) != before:
        raise PictureDamaged("the picture differs after the names were taken out")
    return made, removed, before


def _kept(dataset, rename):
    import pydicom

    kept = pydicom.Dataset()
    for element in dataset:
        if element.tag.is_private or element.keyword in NEVER:
            continue
        group = GROUPS.get(element.tag.group)
        if element.VR == "SQ":
            if group is not None and _is_frame_sequence(element):
                items = pydicom.Sequence([_kept(item, rename) for item in element.value])
                kept.add_new(element.tag, "SQ", items)
        elif element.keyword in SINGLE or group is not None and element.VR in group:
            kept.add(_element(element, rename))
    return kept


def _is_frame_sequence(element):
    return "FunctionalGroups" in element.keyword or element.tag.group in {
        0x0018,
        0x0020,
        0x0028,
    }


def _element(element, rename):
    import copy

    if element.VR != "UI" or element.keyword == "SOPClassUID":
        return element
    made = copy.copy(element)
    made.value = rename(str(element.value))
    return made


def _new_uid(uid, code, key):
    """A UID derived from a UUID (PS3.5, annex B.2: root 2.25 and a number of 128 bits)."""
    text = f"{key}\n{code}\n{uid}".encode()
    return f"2.25.{int.from_bytes(hashlib.sha256(text).digest()[:16], 'big')}"


def _written(dataset):
    made = io.BytesIO()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        dataset.save_as(made, enforce_file_format=True)
    return made.getvalue()


def pixel_digest(dataset):
    """SHA-256 over what the picture is made of: its layout and the stored pixel data."""
    digest = hashlib.sha256()
    for name in (
        "Rows",
        "Columns",
        "SamplesPerPixel",
        "BitsAllocated",
        "BitsStored",
        "PixelRepresentation",
        "PhotometricInterpretation",
        "NumberOfFrames",
    ):
        digest.update(f"{name}={dataset.get(name, '')};".encode())
    digest.update(dataset.file_meta.TransferSyntaxUID.encode())
    for name in ("PixelData", "FloatPixelData", "DoubleFloatPixelData"):
        digest.update(bytes(dataset.get(name, b"") or b""))
    return digest.hexdigest()
