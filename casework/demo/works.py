"""Which pieces of work does the demo show? Three, all invented."""

from dataclasses import dataclass
from decimal import Decimal

LOWER = tuple(f"4{n}" for n in range(7, 0, -1)) + tuple(f"3{n}" for n in range(1, 8))
UPPER = tuple(f"1{n}" for n in range(7, 0, -1)) + tuple(f"2{n}" for n in range(1, 8))


@dataclass(frozen=True)
class Work:
    """One kind of work: what is ordered, on which implants, made of what."""

    key: str  # as DemoFile.case
    title: str
    units: tuple  # (tooth, kind)
    sites: tuple
    implants: dict  # site to part number
    scan_body: str
    base: str  # part number of a stock base, or "" where abutments are made
    material: str
    fields: dict  # what else the prescription says

    @property
    def teeth(self):
        return tuple(tooth for tooth, _kind in self.units)

    @property
    def is_splinted(self):
        return len(self.sites) > 1

    def prescribed_units(self):
        return [
            {"tooth": t, "kind": kind, "on": "implant" if t in self.sites else ""}
            for t, kind in self.units
        ]

    def prescribed_sites(self):
        made = not self.base
        return {
            site: {
                "level": "implant",
                "engaging": True,
                "build": "abutment and restoration" if made else "one piece",
                "abutment_material": "titanium" if made else "",
                "base_material": "titanium",
            }
            for site in self.sites
        }


_USUAL = {
    "contacts": "usual",
    "occlusal_scheme": "guided by the canine",
    "grinding": "none",
    "emergence": "as the mucosa was formed",
    "surface": "glazed",
    "allergies": "none known",
    "try_in_wanted": True,
    "fee": "as estimated",
}

BRIDGE = Work(
    key="bridge 45-47",
    title="three-unit bridge 45-47 on two implants",
    units=(("45", "retainer"), ("46", "pontic"), ("47", "retainer")),
    sites=("45", "47"),
    implants={"45": "N-IM-41-10", "47": "N-IM-48-10"},
    scan_body="N-SB-R",
    base="",
    material="Invented zirconia, strong",
    fields=_USUAL
    | {
        "retention": "cement",
        "margin_depth_mm": Decimal("0.8"),
        "pontic_form": "modified ridge lap",
    },
)
CROWN = Work(
    key="crown 36",
    title="screw-retained crown 36",
    units=(("36", "crown"),),
    sites=("36",),
    implants={"36": "N-IM-48-10"},
    scan_body="N-SB-R",
    base="N-TB-R",
    material="Invented zirconia, strong",
    fields=_USUAL | {"retention": "screw"},
)
FRONT = Work(
    key="front 11",
    title="upper front tooth 11",
    units=(("11", "crown"),),
    sites=("11",),
    implants={"11": "N-IM-35-12"},
    scan_body="N-SB-N",
    base="N-TB-N",
    material="Invented zirconia, translucent",
    fields=_USUAL | {"retention": "screw", "surface": "stained and glazed"},
)
WORKS = {"bridge": BRIDGE, "crown": CROWN, "front": FRONT}
