"""How does the demo draw an intraoral radiograph of an implant with its scan body seated?"""

import hashlib
from datetime import date
from pathlib import Path

import numpy as np
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.uid import ExplicitVRLittleEndian
from scipy.ndimage import gaussian_filter

# PS3.6: Digital Intra-Oral X-Ray Image Storage - For Presentation
INTRAORAL = "1.2.840.10008.5.1.4.1.1.1.3"
ROWS, COLUMNS = 720, 540
PIXEL_MM = 0.05  # 36 x 27 mm, the size of a usual film


def _identifier(*facts):
    """A stable identifier under the root for UUIDs (PS3.5 annex B.2)."""
    digest = hashlib.sha256("|".join(map(str, facts)).encode()).digest()
    return f"2.25.{int.from_bytes(digest[:16], 'big')}"


def _tooth(grey, x, y, middle, width):
    """A two-rooted tooth: bright crown with a pulp chamber, roots with a darker canal."""
    for side in (-0.22, 0.22):
        centre = middle + side * width * (1 + (y - 9.5) / 50)
        half = width * 0.27 * np.sqrt(np.clip(1 - (y - 7.0) / 17, 0, 1))
        root = (np.abs(x - centre) < half) & (y >= 7.0)
        grey[root] = 0.64
        grey[root & (np.abs(x - centre) < 0.3)] = 0.5
    crown = (2 * (x - middle) / width) ** 4 + ((y - 6.0) / 4.0) ** 4 < 1
    grey[crown] = 0.78
    grey[crown & (y > 4.5) & (np.abs(x - middle) < width * 0.36)] = 0.68  # dentine
    grey[((x - middle) / 2.2) ** 2 + ((y - 7.2) / 1.1) ** 2 < 1] = 0.52


def _picture(random, upper):
    """Grey values 0 to 1: bone, two neighbours, implant with thread and a seated scan body."""
    y, x = np.mgrid[0:ROWS, 0:COLUMNS] * PIXEL_MM
    grey = np.full((ROWS, COLUMNS), 0.12)
    crest = 11.0 + 0.5 * np.sin(x / 3.0)
    bone = 0.34 + 0.10 * gaussian_filter(random.normal(size=grey.shape), 4) * 8
    grey = np.where(y > crest, bone, grey)
    for middle in (3.0, 24.0):
        _tooth(grey, x, y, middle, 10.0)
    middle = 13.5 + 0.04 * (y - 11.0)
    away = np.abs(x - middle)
    thread = 2.05 - 0.18 * (((y - 11.0) % 0.8) / 0.8) - np.clip(y - 19.5, 0, 2) * 0.5
    grey[(away < thread) & (y > 11.0) & (y < 21.0)] = 0.93
    grey[(away < 2.25) & (y > 3.0) & (y < 10.96)] = 0.70  # the scan body, no gap to the implant
    grey[(away < 0.9) & (y > 9.0) & (y < 16.0)] = 0.98  # its screw
    grey = gaussian_filter(grey, 1.2) + random.normal(0, 0.012, grey.shape)
    grey += 0.04 * x / x.max()  # the beam is a little uneven
    return grey[::-1] if upper else grey


def radiograph(folder, seed, site, taken_on, name=None):
    """Write a small DICOM radiograph of one implant site with the scan body seated."""
    if not isinstance(taken_on, date):
        raise ValueError(f"The radiograph's day must be a date, not {taken_on!r}.")
    random = np.random.default_rng([seed, int(site), 9])
    grey = _picture(random, upper=site[0] in "12")
    pixels = (np.clip(grey, 0, 1) * 4095).astype("<u2")
    day = taken_on.strftime("%Y%m%d")
    data = Dataset()
    data.SOPClassUID = INTRAORAL
    data.SOPInstanceUID = _identifier("image", seed, site, day)
    data.StudyInstanceUID = _identifier("study", seed, day)
    data.SeriesInstanceUID = _identifier("series", seed, day)
    data.PatientName, data.PatientID = "Invented^Patient", f"INVENTED-{seed:04d}"
    data.PatientBirthDate, data.PatientSex = "", "O"
    data.StudyDate = data.SeriesDate = data.ContentDate = data.AcquisitionDate = day
    data.StudyTime = data.ContentTime = data.AcquisitionTime = "093000"
    data.Modality, data.PresentationIntentType = "IO", "FOR PRESENTATION"
    data.Manufacturer, data.ReferringPhysicianName = "invented", ""
    data.StudyID, data.AccessionNumber = "1", ""
    data.SeriesNumber, data.InstanceNumber = 1, 1
    data.SeriesDescription = f"synthetic intraoral radiograph, site {site} (ISO 3950)"
    data.BodyPartExamined, data.PatientOrientation = "JAW", ["", ""]
    data.ImageLaterality = "R" if site[0] in "14" else "L"
    data.ImageType = ["ORIGINAL", "PRIMARY", ""]
    data.SamplesPerPixel, data.PhotometricInterpretation = 1, "MONOCHROME2"
    data.Rows, data.Columns = ROWS, COLUMNS
    data.BitsAllocated, data.BitsStored, data.HighBit = 16, 12, 11
    data.PixelRepresentation, data.PresentationLUTShape = 0, "IDENTITY"
    data.PixelIntensityRelationship, data.PixelIntensityRelationshipSign = "LOG", -1
    data.RescaleIntercept, data.RescaleSlope, data.RescaleType = 0, 1, "US"
    data.ImagerPixelSpacing = [PIXEL_MM, PIXEL_MM]
    data.BurnedInAnnotation, data.LossyImageCompression = "NO", "00"
    data.PixelData = pixels.tobytes()
    data.file_meta = FileMetaDataset()
    data.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
    data.file_meta.MediaStorageSOPClassUID = INTRAORAL
    data.file_meta.MediaStorageSOPInstanceUID = data.SOPInstanceUID
    path = Path(folder) / (name or f"radiograph-{site}.dcm")
    path.parent.mkdir(parents=True, exist_ok=True)
    data.save_as(path, enforce_file_format=True)
    return path
