"""Which thresholds do values measured on scans and designs keep?

Figures from publications stand as published, in their unit. Those chosen here follow from what
a scanner resolves and from what a wrong value would cost in the mouth; the title says which.
"""

from casework.limits.kinds import MEMORY, NO_SOURCE, OURS, OWN, PRACTICE, READ

_FIT_TO_FORM = (
    "Michelinakis G et al. J Prosthet Dent 2024, doi 10.1016/j.prosdent.2024.05.016 (21 to 35"
    " seen over six scanners); the 50 and the 100 are chosen here"
)
_TRUENESS = "Anitua E et al. 2025, PMC12535590 (best scan body of those tested)"
_SIX = "three scanners, six implants in an edentulous mandible, 2024, PMC11636004"
_MISFIT = (
    f"{NO_SOURCE}; none proven: Kan JYK et al. 1999, Abdelrehim A et al. J Prosthet Dent"
    " 2024;131:528-535; 91 and 111 seen in service: Jemt T, Book K. 1996"
)
_ABUTMENTS = (
    "public summaries of digitally designed abutments under 21 CFR 872.3630 (2021, 2025)"
)
_POST = f"Choi KH et al. J Adv Prosthodont 2018;10(5):381-387; {_ABUTMENTS}"
_TAPER = (
    "textbook figure; 8 to 12 tested in Choi KH et al. J Adv Prosthodont 2018;10(5):381-387"
)
_CEMENT = (
    "Effect of cement space settings on the vertical marginal gap of cement-retained"
    " implant-supported crowns (adjc article 234183); the range is common practice"
)
_MARGIN = (
    "McLean JW, von Fraunhofer JA. Br Dent J 1971;131:107-111; 60 measured in Refaie A et al."
    " BMC Oral Health 2023;23:448"
)
_WALL = "J Oral Implantol 2017;43(5):328 (zirconia round implant components)"
_EMBRASURE = (
    "Hafezeqoran A et al. J Dent Res Dent Clin Dent Prospects 2020;14(4):218-222 for rounded"
    " against sharp; the figures are from memory"
)
_RELIEF = f"{NO_SOURCE}; reasons in Kim Y et al. Clin Oral Implants Res 2005;16:26-35"
_BITE = (
    "Kakali L, Halazonetis DJ. Korean J Orthod 2023;53(4):254-263;"
    " J Oral Sci 2024;66(2):111-115"
)
_OVERLAP = f"derived from {_BITE}; the 50 and the 100 are chosen here"

# name, title, value, low, high, unit, how sure, source and, where there is one, the hard limit
ROWS = (
    # scan bodies in the scan
    ("scan_body_fit_rms",
     "residual of a scan body against its form, at most; beyond the hard limit it is another",
     "50", "21", "35", "µm", READ, _FIT_TO_FORM, "100"),
    ("scan_body_visible_share", "share of a scan body's surface that the scan shows, at least",
     "0.3", "0.3", "1.0", "share", OURS, OWN),
    ("scan_noise", "noise of a scan along its normals, at most",
     "30", None, None, "µm", OURS, OWN),
    ("scan_edge_near_body", "edges of the triangles within 1 mm of a scan body, at most",
     "0.25", None, None, "mm", OURS, OWN),
    ("scan_edge_to_find",
     "edges of a scan in which scan bodies are surely found, at most (tried on invented scans)",
     "0.5", None, None, "mm", OURS, OWN),
    ("region_shown", "share of a margin line that the scan shows, at least",
     "0.95", None, None, "share", OURS, OWN),
    ("implant_pose_doubt", "radius of the doubt of a platform's centre, at most",
     "50", None, None, "µm", OURS, OWN),
    ("stated_pose_shift", "platform as the design program states it from the one measured",
     "0.05", None, None, "mm", OURS, OWN),
    ("stated_pose_tilt", "axis as the design program states it from the one measured, at most",
     "0.5", None, None, "°", OURS, f"{OWN}: 0.09 mm at a height of 10 mm"),
    # how far a scan can be from the mouth
    ("two_implant_trueness", "error of a scan over two implants",
     None, "10", None, "µm", READ, _TRUENESS),
    ("four_implant_trueness", "error of a scan over four implants",
     None, "104", None, "µm", READ, _TRUENESS),
    ("six_implant_trueness", "error of a scan of a whole arch over six implants",
     None, "55", "87", "µm", READ, f"{_TRUENESS}; {_SIX}"),
    ("passive_fit", "misfit named as acceptable under work on several implants, at most",
     "100", "10", "150", "µm", PRACTICE, _MISFIT),
    # scans against each other
    ("frame_shift", "shift of the teeth that two scans of one jaw share, at most",
     "0.05", None, None, "mm", OURS, OWN),
    ("frame_turn", "turn of the teeth that two scans of one jaw share, at most",
     "0.1", None, None, "°", OURS, f"{OWN}: 0.05 mm at 30 mm"),
    ("shared_teeth_residual", "what remains between teeth that two scans share, at most",
     "0.1", None, None, "mm", OURS, OWN),
    ("second_scan_distance", "difference of a distance between implants in two scans, at most",
     "0.05", None, None, "mm", OURS, f"{OWN}: scans repeated spread by 38 to 49 µm ({_SIX})"),
    ("second_scan_angle", "difference of an angle between implants in two scans, at most",
     "0.3", None, None, "°", OURS, f"{OWN}: 0.05 mm at a height of 10 mm"),
    ("change_near_scan_body", "change of a processed scan within 2 mm of a scan body, at most",
     "0.03", None, None, "mm", OURS, OWN),
    ("change_elsewhere", "change of a processed scan elsewhere, at most",
     "0.1", None, None, "mm", OURS, OWN),
    ("change_invented", "area of a processed scan that its raw scan does not have, at most",
     "1", None, None, "mm²", OURS, OWN),
    # bite
    ("bite_register_error", "error of a recorded bite; what is less is not judged",
     "50", "20", "50", "µm", READ, _BITE),
    ("virtual_interpenetration_ok",
     "overlap of the scans of both jaws, at most; beyond the hard limit a new bite scan",
     "50", "0", "50", "µm", OURS, _OVERLAP, "100"),
    ("implant_mip_relief", "relief of work on implants when the jaws meet lightly, at most",
     "30", "0", "30", "µm", PRACTICE, _RELIEF),
    ("contact_balance", "share of the contacts between the jaws on one side of the arch",
     None, "0.1", "0.9", "share", OURS, OWN),
    # room
    ("mouth_opening", "opening between the front teeth where none was measured",
     "40", "35", "50", "mm", PRACTICE, NO_SOURCE),
    ("room_height_screw", "height from platform to opposing teeth for a screw, at least",
     "5", "4", "6", "mm", PRACTICE, NO_SOURCE),
    ("room_height_cement", "height from platform to opposing teeth for cementing, at least",
     "7", "7", "8", "mm", PRACTICE, NO_SOURCE),
    ("room_width", "width of a unit between its neighbours, at least",
     "5", "5", "7", "mm", PRACTICE, NO_SOURCE),
    # abutments, screws and drivers
    ("abutment_correction_max", "angle of a milled titanium post to its implant, at most",
     "30", None, "30", "°", READ, _ABUTMENTS),
    ("abutment_height_min", "height of a cemented post above its margin, at least",
     "4.0", "4.0", None, "mm", READ, _POST),
    ("toc", "total taper of a cemented post",
     "8", "6", "20", "°", MEMORY, _TAPER),
    ("path_undercut", "undercut against the path of insertion, at most",
     "10", None, None, "µm", OURS, OWN),
    ("driver_radial_clearance", "clearance of head and driver to the wall of the channel",
     "0.2", "0.1", "0.3", "mm", PRACTICE, NO_SOURCE),
    ("driver_path_clearance", "clearance of the driver to teeth and opposing jaw, at least",
     "0.5", None, None, "mm", OURS, OWN),
    ("seat_reached", "height at which a screw head ends above its seat, at most",
     "0.05", None, None, "mm", OURS, OWN),
    # walls
    ("zirconia_wall_around_base", "zirconia round a titanium base or a screw channel, at least",
     "0.8", "0.5", "1.0", "mm", READ, _WALL),
    ("zirconia_occlusal_min", "occlusal or incisal thickness of zirconia, at least",
     "1.0", "0.5", "1.5", "mm", PRACTICE, NO_SOURCE),
    ("zirconia_axial_min", "axial or labial wall of zirconia, at least",
     "0.6", "0.5", "1.0", "mm", PRACTICE, NO_SOURCE),
    ("zirconia_margin_min", "zirconia at the margin, at least",
     "0.4", "0.3", "0.5", "mm", PRACTICE, NO_SOURCE),
    ("disilicate_occlusal_min", "occlusal thickness of lithium disilicate, at least",
     "1.5", "1.0", "1.5", "mm", PRACTICE, NO_SOURCE),
    ("titanium_abutment_wall_min", "wall of a milled titanium abutment, at least",
     "0.5", "0.41", "1.6", "mm", READ, _ABUTMENTS),
    ("embrasure_radius_min", "rounding of the gingival embrasure at a connector, at least",
     "0.45", "0.45", "0.9", "mm", MEMORY, _EMBRASURE),
    # fit
    ("cement_gap", "space for cement between restoration and abutment",
     "60", "20", "80", "µm", READ, _CEMENT),
    ("fit_interference", "depth to which a restoration reaches into its abutment, at most",
     "10", None, None, "µm", OURS, OWN),
    ("margin_gap_max", "gap along the margin, at most",
     "120", None, "120", "µm", MEMORY, _MARGIN),
    ("contact_gap", "gap to the neighbouring tooth, at most; none stands beyond the hard limit",
     "0.05", None, None, "mm", OURS, OWN, "1"),
    ("contact_overlap", "overlap with the neighbouring tooth, at most",
     "0.05", None, None, "mm", OURS, OWN),
    # look
    ("front_width_to_length", "width to length of a front unit",
     None, "0.7", "0.9", "share", PRACTICE, NO_SOURCE),
    ("front_symmetry", "difference of a front unit from its counterpart, at most",
     "0.5", None, None, "mm", PRACTICE, NO_SOURCE),
    ("midline_offset", "midline of the work from that of the arch, at most",
     "2", "1", "2", "mm", PRACTICE, NO_SOURCE),
    # made parts
    ("made_part_deviation", "made part from its approved design, at most",
     "0.05", None, None, "mm", OURS, OWN),
)  # fmt: skip
