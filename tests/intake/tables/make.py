"""Several tables, and tables that are not one row a thing. Run in this folder.

All data are invented; what is expected stands in expected.json, written by
hand.
"""

import sys

sys.path.insert(0, "..")
from making import N, book, text

TAGS = [
    ["HP-1", "outdoor", 31.4, 50, "208/230-1-60", "Roof"],
    ["FC-1", "wall", 0.5, 15, "208/230-1-60", "Bedroom"],
    ["FC-2", "wall", 0.5, 15, "208/230-1-60", "Den"],
]
HEAD = ["Tag", "Kind", "MCA", "MOP", "V-Ph-Hz", "Room"]

text("plain.csv", [HEAD, *TAGS])


def hide(work):
    work["Thermostats"].sheet_state = "hidden"
    work["Equipment"].row_dimensions[5].hidden = True
    work["Equipment"].auto_filter.ref = "A3:F6"


book(
    "job_with_list_below.xlsx",
    {
        "Cover": [
            ["Job", "Birch Row"],
            ["Job No.", "2231"],
            ["Supply", "120/240V"],
            ["Code", "2023 NEC"],
        ],
        "Equipment": [
            ["EQUIPMENT SCHEDULE"],
            [],
            HEAD,
            *TAGS,
            [],
            [],
            ["Sheet", "Title", "Date"],
            ["M-101", "First floor plan", "1/2/2026"],
            ["M-102", "Second floor plan", "1/2/2026"],
            [],
            ["LEGEND"],
            ["AFF", "above finished floor"],
            ["NIC", "not in contract"],
        ],
        "Thermostats": [
            ["Tag", "Room", "Controls", "Wire", "Length"],
            ["T-1", "Bedroom", "FC-1", "18/2", 40],
            ["T-2", "Den", "FC-2", "18/2", 45],
        ],
        "Register": [["Drawing", "Title", "Rev"], ["E-1", "Power", "A"]],
        "Compatibility": [
            ["Outdoor", "FC-09", "FC-12"],
            ["HP-24", "yes", "no"],
            ["HP-36", "yes", "yes"],
        ],
    },
    hide,
)

book(
    "column_a_unit.xlsx",
    {
        "Heat pumps": [
            ["HEAT PUMP SCHEDULE"],
            ["Tag", "HP-1", "FC-1", "FC-2"],
            ["Kind", "outdoor", "wall", "wall"],
            ["MCA", 31.4, 0.5, 0.5],
            ["MOP", 50, 15, 15],
            ["V-Ph-Hz", "208-1-60", "208-1-60", "208-1-60"],
            ["Room", N, "Bed", "Den"],
            ["Weight lb", 200, 30, 30],
        ]
    },
)

text(
    "long_form.csv",
    [
        ["Unit", "Attribute", "Value", "Unit of Measure"],
        ["HP-1", "MCA", "31.4", "A"],
        ["HP-1", "MOP", "50", "A"],
        ["HP-1", "Voltage", "208-1-60", ""],
        ["FC-1", "MCA", "0.5", "A"],
        ["", "MOP", "15", "A"],
        ["", "Voltage", "208-1-60", ""],
    ],
)

book(
    "handover.xlsx",
    {
        "Facility": [["Name", "ProjectName"], ["Birch", "Birch Row"]],
        "Type": [
            ["Name", "CreatedBy", "Category", "Description", "Manufacturer", "ModelNumber"],
            ["Outdoor 4 t", "a@b.example", "heat pump", "Outdoor unit", "n/a", "X48"],
            ["Wall 9", "a@b.example", "fan coil", "Wall unit", "n/a", "X09"],
        ],
        "Component": [
            ["Name", "CreatedBy", "TypeName", "Space", "Description", "SerialNumber"],
            ["HP-1", "a@b.example", "Outdoor 4 t", "Roof", "Description", "n/a"],
            ["FC-1", "a@b.example", "Wall 9", "Bedroom", "n/a", "n/a"],
            ["FC-2", "a@b.example", "Wall 9", "Den", "n/a", "n/a"],
        ],
        "Attribute": [
            ["Name", "CreatedBy", "Category", "SheetName", "RowName", "Value", "Unit"],
            ["MCA", "a", "x", "Type", "Outdoor 4 t", "31.4", "A"],
            ["MOP", "a", "x", "Type", "Outdoor 4 t", "50", "A"],
            ["MCA", "a", "x", "Type", "Wall 9", "0.5", "A"],
            ["MOP", "a", "x", "Component", "FC-1", "15", "A"],
            ["Voltage", "a", "x", "Type", "Wall 9", "208-1-60", "n/a"],
        ],
        "Connection": [
            ["Name", "CreatedBy", "ConnectionType", "SheetName", "RowName1", "RowName2"],
            ["B1", "a", "Control", "Component", "HP-1", "FC-1"],
            ["B2", "a", "Control", "Component", "FC-1", "FC-2"],
            ["P1", "a", "Piping", "Component", "HP-1", "FC-1"],
        ],
    },
)

book(
    "beside.xlsx",
    {
        "Same row": [
            ["Tag", "MCA", "MOP", N, N, "From", "To", "Wire", "Length"],
            ["HP-1", 31.4, 50, N, N, "HP-1", "FC-1", "18/2 STP", 40],
            ["FC-1", 0.5, 15, N, N, "FC-1", "FC-2", "18/2 STP", 40],
        ],
        "Other row": [
            ["Tag", "MCA", "MOP"],
            ["HP-1", 31.4, 50, N, N, "RUNS"],
            ["FC-1", 0.5, 15, N, N, "From", "To", "Wire", "Length"],
            ["FC-2", 0.5, 15, N, N, "HP-1", "FC-1", "18/2 STP", 40],
            [N, N, N, N, N, "FC-1", "FC-2", "18/2 STP", 40],
        ],
    },
)


# Below each other: another table, and the first one's heading typed again.
book(
    "stacked.xlsx",
    {
        "All": [
            ["OUTDOOR UNITS"],
            ["Tag", "MCA", "MOP", "V-Ph-Hz"],
            ["OU-1", 28.4, 45, "208-1-60"],
            ["OU-2", 22.1, 35, "208-1-60"],
            [],
            ["INDOOR UNITS"],
            ["Tag", "Room", "MCA", "MOP"],
            ["FC-1", "Office", 0.6, 15],
            ["FC-2", "Store", 0.6, 15],
            ["Tag", "Room", "MCA", "MOP"],
            ["FC-3", "Shop", 0.8, 15],
            [],
            ["BUS WIRING"],
            ["From", "To", "Cable", "Length, ft"],
            ["OU-1", "FC-1", "18/2 stranded", 60],
            ["FC-1", "FC-2", "18/2 stranded", 35],
            ["T-1", "wall stat", "not a run"],
        ]
    },
)

# Directly below, without a blank row: no row of the table.
book(
    "list_close_below.xlsx",
    {
        "Fan coils": [
            ["Tag", "Kind", "MCA", "MOP", "V-Ph-Hz"],
            ["FC-1", "wall", 0.6, 15, "208-1-60"],
            ["FC-2", "wall", 0.6, 15, "208-1-60"],
            ["FC-3", "ducted", 1.1, 15, "208-1-60"],
            ["Sheet", "Title", "Issued", "Scale", "By"],
            ["M-101", "First floor plan", "bid", "none", "RK"],
            ["M-102", "Second floor plan", "bid", "none", "RK"],
            ["M-501", "Details", "bid", "none", "RK"],
        ]
    },
)
