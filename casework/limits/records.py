"""Which thresholds do readings, records, dates, shade, visits and files keep?"""

from casework.limits.kinds import MEMORY, NO_SOURCE, OURS, OWN, PRACTICE, READ

_SCALE = "web page on the stability scale; the bands are those of the scale's maker"
_LOADING = "Weber HP et al. 2009, endorsed at a consensus conference, Bern 2013"
_CONSENSUS = "consensus statements on loading of single implants, 2013"
_DELIVERY_TORQUE = "J Oral Implantol 2002;28(2):67; Int J Implant Dent 2023, s40729-023-00473-3"
_RETIGHTEN = "J Oral Implantol 2002;28(2):67 (10 min); 2020;46(1):13 (2 min found best)"
_SCAN_BODY_TORQUE = (
    "Kim JH et al. J Adv Prosthodont 2020;12:307-315; Diker E et al. Clin Implant Dent Relat "
    "Res 2023;25(2):419-425"
)
_MARGIN = (
    "Gehrke P et al. BMC Oral Health 2019, s12903-019-0809-2; J Oral Implantol 2020;46(6):548; "
    "the 1.5 is common practice, no source"
)
_ANGLED_CHANNEL = (
    "Eur J Dent 2022;16(3):488-499; J Funct Biomater 2023;14(3):124 (25 degrees tested); one "
    "system limited to 20 in a public summary of its clearance"
)
_SPLINT = (
    "BMC Oral Health 2023, s12903-023-02958-4 (one in-vitro study, one connection: removable "
    "to 16, not removable at 20 degrees)"
)
_SHADE_TEACHING = "teaching pages on shade selection"
_SHADE_STEPS = "Paravina RD et al. J Esthet Restor Dent 2015;27 Suppl 1:S1-9"
_ARCH = (
    "derived from intercanine and intermolar widths of 76 casts and of Mina M et al. "
    "Odontology 2017;105:229-236"
)
_DENSITY = "derived from a preprint of 2026 on mesh density (202604.0603, one device)"
_ALBREKTSSON = "Albrektsson T et al. Int J Oral Maxillofac Implants 1986;1:11-25"
_WORKSHOP = (
    "thesis pages quoting the 8th European Workshop on Periodontology, Klinge et al. and the "
    "2017 World Workshop"
)
_FOLLOW_UP = "Vanlioglu B et al. Int J Oral Maxillofac Implants 2013;28:1300-1304"
_DEFINITIONS = "J Oral Maxillofac Res 2016;7(3):e8 (Lindhe & Meyle 2008; Misch et al. 2008)"

# name, title, value, low, high, unit, how sure, source and, where there is one, the hard limit
ROWS = (
    # readings in the mouth
    ("isq_valid_range", "scale of the stability quotient",
     None, "1", "100", "ISQ", READ, _SCALE),
    ("isq_questionable", "stability quotient called questionable below",
     "55", None, "55", "ISQ", READ,
     "one author's own bands, quoted on a web page on the stability scale"),
    ("isq_low", "stability quotient low below",
     "60", None, "60", "ISQ", READ, _SCALE),
    ("isq_high", "stability quotient high from",
     "70", "70", None, "ISQ", READ, _SCALE),
    ("isq_load_min", "stability quotient wanted for loading early, at least",
     "65", "60", "65", "ISQ", READ, _CONSENSUS),
    ("insertion_torque_load", "insertion torque wanted for loading early, at least",
     "35", "20", "45", "N·cm", READ, _CONSENSUS),
    ("integration_torque_test", "torque test after healing, held without rotation",
     "35", "35", "35", "N·cm", READ, "J Oral Implantol 2015;41(4):e133 (495 implants)"),
    ("loading_immediate", "time after placement at which loading counts as immediate",
     None, "0", "7", "days", READ, _LOADING),
    ("loading_early", "time after placement at which loading counts as early",
     None, "7", "60", "days", READ, _LOADING),
    ("loading_conventional", "healing time before loading, at least",
     "60", "60", None, "days", READ, _LOADING),
    # implants as recorded: outside the range the entry is asked about
    ("implant_body_diameter", "body diameter of an implant",
     None, "2.5", "7", "mm", PRACTICE, NO_SOURCE),
    ("implant_platform_diameter", "platform diameter of an implant",
     None, "2.5", "7", "mm", PRACTICE, NO_SOURCE),
    ("implant_length", "length of an implant",
     None, "4", "20", "mm", PRACTICE, NO_SOURCE),
    ("healing_abutment_height", "height of a healing abutment",
     None, "1", "10", "mm", PRACTICE, NO_SOURCE),
    # scan bodies and screws
    ("scan_body_torque", "tightening torque of a scan body without a value of its own",
     "5", "5", "15", "N·cm", READ, _SCAN_BODY_TORQUE),
    ("scan_body_height", "height of a scan body",
     "8", "3", "12", "mm", PRACTICE, NO_SOURCE),
    ("scan_body_diameter", "diameter of a scan body",
     "4.5", "3.5", "5.5", "mm", PRACTICE, NO_SOURCE),
    ("abutment_screw_torque", "final torque of an abutment screw; its own value counts",
     None, "5", "50", "N·cm", PRACTICE, f"{NO_SOURCE}; 25, 30, 35 in {_DELIVERY_TORQUE}"),
    ("prosthetic_screw_torque", "final torque of a screw on an intermediate abutment",
     "15", "10", "20", "N·cm", PRACTICE, NO_SOURCE),
    ("retighten_wait", "wait before tightening again to the same torque, at least",
     "10", "2", "10", "min", READ, _RETIGHTEN),
    # what the prescription asks for
    ("screw_channel_angle_max", "angle of a turned screw channel, at most",
     "25", "0", "25", "°", READ, _ANGLED_CHANNEL),
    ("divergence_splint_engaging",
     "angle between two implants under a one-piece splint on engaging parts, at most",
     "16", "0", "16", "°", READ, _SPLINT),
    ("margin_depth_max", "cement margin below the mucosa, at most",
     "1.0", None, "1.5", "mm", READ, _MARGIN),
    # scans
    ("mesh_edge", "mean edge of the triangles, at most",
     "0.4", "0.23", "0.26", "mm", OURS, _DENSITY),
    ("arch_max_extent", "largest side of the scan of a whole arch",
     "65", "45", "90", "mm", OURS, _ARCH),
    ("segment_max_extent", "largest side of the scan of a segment",
     "30", "15", "60", "mm", OURS, _ARCH),
    ("part_extent", "largest side of a designed part that is milled",
     None, "4", "90", "mm", OURS,
     "no crown is less than 5 mm high or wide (textbook figures, from memory), no arch wider"
     f" than {_ARCH}"),
    # days
    ("working_days_to_make", "working days from the order to the day wanted, at least",
     "10", "5", "15", "days", PRACTICE, NO_SOURCE),
    # shade
    ("shade_light", "light in which the shade was taken",
     "5500", "5500", "6500", "K", READ, _SHADE_TEACHING),
    ("shade_look_time", "longest look before the eye tires",
     "5", "5", "7", "s", READ, _SHADE_TEACHING),
    ("whitening_wait", "wait after whitening before the shade is taken, at least",
     "14", "14", "14", "days", READ, _SHADE_TEACHING),
    ("dE00_pt", "colour difference that half the observers see",
     "0.8", "0.8", "0.8", "ΔE00", READ, _SHADE_STEPS),
    ("dE00_at", "colour difference that half the observers accept, at most",
     "1.8", "1.8", "2.25", "ΔE00", READ,
     f"{_SHADE_STEPS}; 2.25 in Ghinea R et al. J Dent 2010;38s:e57-64"),
    # follow-up
    ("follow_up_first", "first check of bite and screws after delivery",
     "2", "2", "7", "days", PRACTICE, NO_SOURCE),
    ("follow_up_second", "second check of bite and screws after delivery",
     "7", "2", "7", "days", READ, _FOLLOW_UP),
    ("recall_first", "first recall after delivery",
     "6", "6", "12", "months", READ, _FOLLOW_UP),
    ("recall_first_year", "first-year recall after delivery",
     "12", "6", "12", "months", READ, _FOLLOW_UP),
    ("recall_yearly", "interval of recalls after the first year",
     "12", "6", "12", "months", READ, f"{_FOLLOW_UP}; {_DEFINITIONS}"),
    ("bone_loss_year1", "bone loss in the first year, at most",
     "1.5", None, "1.5", "mm", MEMORY, f"{_ALBREKTSSON}; up to 2 in {_DEFINITIONS}"),
    ("bone_loss_annual", "bone loss a year after the first, at most",
     "0.2", None, "0.2", "mm/year", MEMORY, _ALBREKTSSON),
    ("bone_loss_redflag", "bone loss since delivery with bleeding, less than",
     "2.0", "2.0", None, "mm", READ, _WORKSHOP),
    ("periimplantitis_nobaseline_bl", "bone level without a baseline, less than",
     "3.0", "3.0", None, "mm", READ, _WORKSHOP),
    ("periimplantitis_nobaseline_pd", "probing depth without a baseline, less than",
     "6.0", "6.0", None, "mm", READ, _WORKSHOP),
    # records
    ("retention_eu", "years a statement for a custom-made device is kept, at least",
     "15", "10", "15", "years", READ,
     "Regulation (EU) 2017/745, Annex XIII (10 years, implantable 15)"),
    ("retention_us_state", "years a work authorization is kept, at least",
     "3", "2", "3", "years", READ,
     "West Virginia Code 30-4B-2; Oklahoma Statutes 59-328.36a; Montana Code 37-4-501"),
    # what is received
    ("upload_file_size", "size of one file, at most",
     "1", None, None, "GiB", OURS, OWN, "1"),
    ("body_form_file_size", "size of the mesh of a scan body's form, at most",
     "20", None, None, "MiB", OURS, OWN, "20"),
    ("body_form_triangles", "triangles of the mesh of a scan body's form, at most",
     "200000", None, None, "triangles", OURS, OWN, "200000"),
    ("archive_unpacked_size", "unpacked size of an archive, at most",
     "2", None, None, "GiB", OURS, OWN, "2"),
    ("archive_members", "files in one archive, at most",
     "200", None, None, "files", OURS, OWN, "200"),
    ("archive_ratio", "unpacked to packed size of an archive, at most",
     "200", None, None, "times", OURS, OWN, "200"),
    ("photo_size", "size of a photograph, at most",
     "100", None, None, "megapixels", OURS, OWN, "100"),
    ("question_pictures", "pictures with one question or one answer, at most",
     "3", None, None, "pictures", OURS, OWN, "3"),
    ("question_picture_file_size", "size of a picture of a question, at most",
     "10", None, None, "MiB", OURS, OWN, "10"),
    ("question_picture_size", "pixels of a picture of a question, at most",
     "36", None, None, "megapixels", OURS, OWN, "36"),
)  # fmt: skip
