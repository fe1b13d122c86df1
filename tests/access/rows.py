"""Who may open or press what? One row an address, written by hand from the trade's table.

Roles are named by the members of `world.py`. Whoever is not named is refused: a member of the
case by 403, or by 404 where the thing was never shown to that member's side (`hidden_from`);
anybody outside by 404. The rows follow the description of who does what in the trade: the
dentist decides and signs, an assistant writes down what is said at the chair, the front desk
books and receives, the laboratory's technician makes, coordinators assign and watch,
administrators keep the party. Nothing here is read from the program's own tables.
"""

from dataclasses import dataclass, field

CHAIR = "dentist surgeon assistant hygienist"
BENCH = "technician lab_lead"
SCANS = "processor scan_lead"
MILL = "miller mill_lead"
PLACING = "placing_surgeon placing_lead"
CLINIC = f"{CHAIR} lead"  # sees everything of the case at the practice
ON_THE_CASE = f"{CLINIC} desk admin {PLACING} {BENCH} lab_admin {SCANS} {MILL}"
OUTSIDE = "other_dentist other_admin other_technician other_lab_lead other_lab_admin"
EVERYBODY = f"{ON_THE_CASE} {OUTSIDE}"
ADMINS = "admin lab_admin other_admin other_lab_admin"
LEADS = "lead placing_lead lab_lead scan_lead mill_lead other_lab_lead"
CENTRES = f"{PLACING} {SCANS} {MILL}"
# Whose party is not the owner of a row of the practice's catalogue.
WRITES_ELSEWHERE = (
    "technician lab_admin other_dentist other_admin other_technician other_lab_admin"
)


@dataclass(frozen=True)
class Row:
    """`get` and `post`: who may; None where the address knows no such method."""

    get: str | None = None
    post: str | None = None
    args: str = ""  # names of world.args()
    hidden_from: str = ""
    data: dict = field(default_factory=dict)
    stage: str = ""  # the case is put there first
    is_public: bool = False


def page(who, args="", **more):
    return Row(get=who, args=args, **more)


def press(who, args="", **more):
    return Row(post=who, args=args, **more)


def form(who, args="", **more):
    return Row(get=who, post=who, args=args, **more)


ROWS = {
    # signing in and oneself
    "sign_in": form(EVERYBODY, is_public=True),
    "sign_out": press(EVERYBODY, is_public=True),
    "forgotten": form(EVERYBODY, is_public=True),
    "reset_asked": page(EVERYBODY, is_public=True),
    "reset_confirm": page(EVERYBODY, "uid token", is_public=True),
    "choose_party": press(EVERYBODY, data={"membership": "own"}),
    "profile": form(EVERYBODY),
    "password": form(EVERYBODY),
    "pin": form(EVERYBODY),
    "pin_remove": press(EVERYBODY),
    "device_lock": form(EVERYBODY),
    "device_enter": press(EVERYBODY),
    "device_back": form(EVERYBODY),
    "device_here": press(EVERYBODY),
    "start": page(EVERYBODY),
    "notices": page(EVERYBODY),
    "notices_read": press(EVERYBODY),
    # the party
    "members": form(ADMINS),
    "member": form("admin", "member", hidden_from="lab_admin other_admin other_lab_admin"),
    "member_off": press("admin", "member", hidden_from="lab_admin other_admin other_lab_admin"),
    "member_on": press("admin", "member", hidden_from="lab_admin other_admin other_lab_admin"),
    "party": form(ADMINS),
    "party_join_code": press(ADMINS),
    "party_join": press(ADMINS),
    "devices": form(ADMINS),
    "device_lock_time": press(ADMINS),
    "device_withdraw": press(
        "admin", "device", hidden_from="lab_admin other_admin other_lab_admin"
    ),
    "party_limits": form("admin other_admin"),
    "closing_days": form(ADMINS),
    "closing_day_open": press(ADMINS, data={"day": "2031-05-05"}),
    "follow_up_template": form("admin dentist other_admin other_dentist"),
    "material_lots": form(f"{BENCH} {MILL} other_technician other_lab_lead"),
    # boards
    "board_decide": page(f"{CHAIR} other_dentist"),
    "board_make": page(f"{BENCH} other_technician other_lab_lead"),
    "board_waiting": page(f"{SCANS} {MILL}"),
    "board_mine": page(
        f"{CHAIR} {BENCH} {SCANS} {MILL} other_dentist other_technician other_lab_lead"
    ),
    "board_front_desk": page("desk dentist assistant hygienist lead other_dentist"),
    "board_visits": page("desk dentist assistant hygienist lead other_dentist", "kind booked"),
    "board_load": page(LEADS),
    "board_load_list": page(LEADS, "load_list"),
    "board_section": page(f"{CHAIR} other_dentist", "board section"),
    "cases": page(EVERYBODY),
    "api_cases": page(EVERYBODY),
    # patients and the catalogue
    "patients": page(f"{CHAIR} desk other_dentist"),
    "patient_add": form("dentist desk other_dentist"),
    "patient": page(f"{CHAIR} desk", "patient", hidden_from="other_dentist"),
    "patient_edit": form("dentist desk", "patient", hidden_from="other_dentist"),
    "patient_open_case": form("dentist", "patient", hidden_from="other_dentist"),
    "patients_to_erase": page("admin other_admin"),
    "patient_erase": form("admin", "patient", hidden_from="other_admin"),
    "catalogue": page(f"{CLINIC} admin {BENCH} lab_admin {OUTSIDE}"),
    "component_add": form(f"dentist admin {WRITES_ELSEWHERE}"),
    "component": form("dentist admin", "component", hidden_from=WRITES_ELSEWHERE),
    "body_form": form("dentist admin", "own_scan_body", hidden_from=WRITES_ELSEWHERE),
    "body_form_remove": press("dentist admin", "own_scan_body", hidden_from=WRITES_ELSEWHERE),
    "body_form_file": page(
        "dentist admin", "own_scan_body body_form", hidden_from=WRITES_ELSEWHERE
    ),
    "material_add": form(f"dentist admin {WRITES_ELSEWHERE}"),
    "material": form("dentist admin", "material", hidden_from=WRITES_ELSEWHERE),
    "system_add": form(f"dentist admin {WRITES_ELSEWHERE}"),
    "guide_add": form(f"{CHAIR} admin {WRITES_ELSEWHERE}"),
    "guide": form(f"{CHAIR} admin", "guide", hidden_from=WRITES_ELSEWHERE),
    # the case as a whole
    "case": page(ON_THE_CASE, "code"),
    "api_case": page(ON_THE_CASE, "code"),
    "case_hold": form(f"dentist lead {BENCH}", "code"),
    "case_release": press(f"dentist lead {BENCH}", "code"),
    "case_assign": form("dentist lead placing_lead lab_lead scan_lead mill_lead", "code"),
    "case_prescriber": form("dentist", "code"),
    "case_trail": page(f"{CLINIC} {BENCH}", "code"),
    "case_parties": page(f"{CLINIC} {BENCH} {SCANS} {MILL}", "code"),
    "case_party_choose": form(f"dentist lead {BENCH}", "code"),
    "case_wrong_patient": form("dentist", "code"),
    "case_cancellation": form(BENCH, "code"),
    "case_linked": form("dentist", "code"),
    # records
    "case_implants": page(f"{CLINIC} {PLACING} {BENCH}", "code"),
    "case_implant_add": form("dentist surgeon assistant placing_surgeon", "code"),
    "case_implant": form("dentist surgeon assistant placing_surgeon", "code implant"),
    "case_implant_remove": form("dentist surgeon assistant placing_surgeon", "code implant"),
    "case_teeth": page(f"{CLINIC} {PLACING} {BENCH}", "code"),
    "case_teeth_edit": form(CHAIR, "code"),
    "case_shade": page(f"{CLINIC} {PLACING} {BENCH}", "code"),
    "case_shade_edit": form(CHAIR, "code"),
    "case_readings": page(f"{CLINIC} {PLACING} {BENCH}", "code"),
    "case_readings_add": form(f"{CHAIR} placing_surgeon", "code"),
    "case_reading": form(f"{CHAIR} placing_surgeon", "code reading"),
    "case_reading_remove": form(f"{CHAIR} placing_surgeon", "code reading"),
    "case_scan_bodies": page(f"{CLINIC} {PLACING} {BENCH}", "code"),
    "case_scan_body_add": form(CHAIR, "code"),
    "scan_body_point": press(
        f"{CHAIR} technician processor", "code", data={"site": "36", "do": "take back"}
    ),
    "case_scan_body": form(CHAIR, "code scan_body"),
    "case_scan_body_remove": form(CHAIR, "code scan_body"),
    "case_bite": page(f"{CLINIC} {PLACING} {BENCH}", "code"),
    "case_bite_edit": form(CHAIR, "code"),
    "case_prescription": page(f"{CLINIC} {BENCH}", "code"),
    "case_prescription_edit": form("dentist assistant", "code"),
    "case_prescription_look": press("dentist assistant", "code"),
    "case_prescription_amend": press("dentist assistant", "code"),
    "case_prescription_withdraw": press("dentist assistant", "code"),
    # files: one the practice brought, handed to laboratory and scan centre
    "case_files": page(f"{CLINIC} {BENCH} {SCANS} {MILL} placing_surgeon", "code"),
    "case_files_add": form(f"{CHAIR} technician processor placing_surgeon", "code"),
    "case_files_confirm": press(f"{CHAIR} technician processor placing_surgeon", "code"),
    "case_files_download": press(f"{CLINIC} {BENCH} {SCANS} {MILL} placing_surgeon", "code"),
    "case_file": page(
        f"{CLINIC} {BENCH} {SCANS}", "code file", hidden_from=f"{MILL} placing_surgeon"
    ),
    "case_preview": page(
        f"{CLINIC} {BENCH} {SCANS}", "code file", hidden_from=f"{MILL} placing_surgeon"
    ),
    "case_file_confirm": press(CHAIR, "code file", hidden_from="placing_surgeon"),
    "case_file_unit": press(CHAIR, "code file"),
    "case_file_again": press(CHAIR, "code file", hidden_from="placing_surgeon"),
    "case_file_download": page(
        f"{CLINIC} {BENCH} {SCANS}", "code file", hidden_from=f"{MILL} placing_surgeon"
    ),
    "api_case_files": Row(
        get=f"{CLINIC} {BENCH} {SCANS} {MILL} placing_surgeon",
        post=f"{CHAIR} technician processor placing_surgeon",
        args="code",
    ),
    # design
    "case_designs": page(f"{CLINIC} {BENCH}", "code"),
    "design_start": press("technician", "code"),
    "case_design": page(f"{CLINIC} {BENCH}", "code design"),
    "case_look": page(f"{CLINIC} {BENCH} {SCANS}", "code"),
    "design_look": page(f"{CLINIC} {BENCH}", "code design"),
    "design_field": page(f"{CLINIC} {BENCH}", "code design coloured field"),
    "design_picture": page(f"{CLINIC} {BENCH}", "code design picture"),
    "design_add_made": form("technician", "code design"),
    "design_add_stock": form("technician", "code design"),
    "design_notes": form("technician", "code design"),
    "design_discard": form("technician", "code design"),
    "design_remove_part": press("technician", "code design design_part"),
    "design_mark": form("dentist", "code design"),
    # parts, and a parcel from the laboratory to the practice
    "case_parts": page(f"{CLINIC} desk {BENCH} {MILL}", "code"),
    "part_record": form(f"{BENCH} miller", "code part"),
    "part_inspect": form(BENCH, "code part"),
    "part_remake": form(f"{BENCH} miller", "code part"),
    "part_enclose": form(f"{BENCH} miller", "code"),
    "parts_disinfect": form(f"{BENCH} miller dentist desk assistant", "code"),
    "parts_stay": form("dentist assistant", "code"),
    "parcel_pack": form(BENCH, "code pack", stage="fabrication"),
    "parcel": page(f"{CLINIC} desk {BENCH}", "code parcel", hidden_from=MILL),
    "parcel_count": form("desk assistant dentist lead", "code parcel"),
    "parcel_lost": form(
        f"desk assistant dentist lead {BENCH}", "code parcel", hidden_from=MILL
    ),
    "parcel_expect": form(
        f"desk assistant dentist lead {BENCH}", "code parcel", hidden_from=MILL
    ),
    "parcel_take_back": form(BENCH, "code parcel", hidden_from="miller"),
    # visits
    "case_visits": page(f"{CLINIC} desk", "code"),
    "visit_book": form("desk dentist assistant lead", "code"),
    "visit_move": form("desk dentist assistant lead", "code visit"),
    "visit_end": press("desk dentist assistant lead", "code visit"),
    "visit_tools": press("desk dentist assistant lead", "code visit"),
    "try_in_record": form("dentist assistant", "code first"),
    "screw_record": form("dentist assistant", "code site"),
    "delivery_record": form("dentist assistant", "code"),
    "follow_up_record": form(CHAIR, "code follow_up"),
    # questions: the laboratory asked the practice
    "case_questions": Row(
        get=f"{CLINIC} desk {PLACING} {BENCH} {SCANS} {MILL}",
        post=f"{CLINIC} {PLACING} {BENCH} {SCANS} {MILL}",
        args="code",
    ),
    "question_answer": form(f"{CLINIC} {BENCH}", "code question", hidden_from=CENTRES),
    "question_picture": page(
        f"{CLINIC} desk {BENCH}", "code question question_picture", hidden_from=CENTRES
    ),
    # handoffs: the order from practice to laboratory
    "case_gate": page(ON_THE_CASE, "code run"),
    "case_measures": Row(
        get=f"{CLINIC} {BENCH} {SCANS}", post=f"{CLINIC} {BENCH} {SCANS}", args="code"
    ),
    "case_move": form("dentist", "code move"),
    "api_moves": page(ON_THE_CASE, "code"),
    "api_move": press("dentist", "code move"),
    "case_handoffs": page(f"{CLINIC} {BENCH} {SCANS} {MILL}", "code"),
    "case_handoff": page(f"{CLINIC} {BENCH}", "code handoff", hidden_from=CENTRES),
    "offer_check": press(BENCH, "code handoff", hidden_from=CENTRES),
    "offer_accept": press(BENCH, "code handoff", hidden_from=CENTRES),
    "offer_return": press(BENCH, "code handoff", hidden_from=CENTRES),
    "offer_withdraw": press("dentist", "code handoff", hidden_from=CENTRES),
    "offer_amend": press("dentist", "code handoff", hidden_from=CENTRES),
    "handoff_take_up": press(BENCH, "code handoff", hidden_from=CENTRES),
    "case_condition": form(f"{CLINIC} {BENCH}", "code condition", hidden_from=CENTRES),
    # papers: the order sheet
    "case_papers": page(f"{CLINIC} {BENCH} {SCANS} {MILL}", "code"),
    "case_paper": form(f"{CLINIC} {BENCH}", "code paper", hidden_from=f"{SCANS} {MILL}"),
    "case_paper_print": page(f"{CLINIC} {BENCH}", "code paper", hidden_from=f"{SCANS} {MILL}"),
}
