"""Which synthetic scans, designs and pictures, all invented, does the demo upload?"""

from casework.demo.meshes.arches import PARTS, ScanMesh, bite_scan, lower_arch, upper_arch
from casework.demo.meshes.demo_set import DemoFile, write_demo_set
from casework.demo.meshes.designs import DesignMesh, bridge, crown, custom_abutment
from casework.demo.meshes.photo import ShadePhoto, shade_photo
from casework.demo.meshes.radiograph import radiograph
from casework.demo.meshes.scan_bodies import Implant, ScanBodyForm, scan_body_mesh
from casework.demo.meshes.writing import write_ply, write_stl

__all__ = [
    "PARTS",
    "DemoFile",
    "DesignMesh",
    "Implant",
    "ScanBodyForm",
    "ScanMesh",
    "ShadePhoto",
    "bite_scan",
    "bridge",
    "crown",
    "custom_abutment",
    "lower_arch",
    "radiograph",
    "scan_body_mesh",
    "shade_photo",
    "upper_arch",
    "write_demo_set",
    "write_ply",
    "write_stl",
]
