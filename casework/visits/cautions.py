"""Which hazards are told where, and who decides about them?"""

# Shown where the hazard is; the licensed clinician, the parts' own instructions and local
# rules decide. Sources: reports of swallowed or inhaled drivers and parts (Hou et al. 2016,
# 617 cases; El Wazani et al. 2018); cement left at the margin (Gehrke et al. 2019; J Oral
# Implantol 2020;46(6):548); screws (Int J Implant Dent 2023, s40729-023-00473-3).
CAUTIONS = {
    "small_parts": (
        "Small parts and drivers can be swallowed or inhaled: tie the driver with floss, lay a"
        " throat screen, seat the patient more upright. A part that is lost means a radiograph"
        " and medical referral, as local rules say; write down what happened."
    ),
    "torque": (
        "Tighten to the value of this very screw, with its own driver, and tighten again after"
        " about ten minutes. There is no value that fits all systems. Use a new screw at"
        " delivery; the try-in screw does not stay."
    ),
    "cement": (
        "Excess cement under the gum can cost the implant its bone: as little cement as"
        " possible, margins where they can be reached, and a check for remnants."
    ),
    "integration": (
        "Pain, mobility or an implant that turns at low torque: stop and do not load it."
    ),
    "hygiene": (
        "Clean and disinfect what was sent before it goes into the mouth, and what goes back"
        " before it is packed; say so on the label."
    ),
    "radiation": (
        "Each exposure needs its own reason and is kept as low as the diagnosis allows."
    ),
    "decides": (
        "The licensed clinician, the instructions of each part and local rules decide."
    ),
}
