"""Makes the files beside it: schedules of invented jobs, one layout each.

Nothing in them is of a real job or product. Run in this folder; needs openpyxl.
The expectations in expected.json were checked by hand against these rows; this
script does not write them.
"""

import csv
from datetime import datetime

import openpyxl


def book(name, sheets, after=None):
    work = openpyxl.Workbook()
    work.remove(work.active)
    for title, rows in sheets.items():
        sheet = work.create_sheet(title)
        for row in rows:
            sheet.append(row)
    if after:
        after(work)
    stamp = datetime(2026, 3, 2)
    work.properties.created = work.properties.modified = stamp
    work.save(name)


def text(name, rows):
    with open(name, "w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows(rows)


N = None
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
    "sections.xlsx",
    {
        "Units": [
            ["Tag", "Type", "MCA", "MOP", "V-Ph-Hz"],
            ["APARTMENT 12C"],
            ["FC-1", "wall", 0.5, 15, "208-1-60"],
            ["FC-2", "wall", 0.5, 15, "208-1-60"],
            ["APARTMENT 14D"],
            ["FC-1", "wall", 0.5, 15, "208-1-60"],
            ["COMMON AREAS"],
            ["FC-9", "wall", 0.5, 15, "208-1-60"],
        ],
        "Power": [
            ["Ckt", "Load", "Breaker", "Wire"],
            ["PANEL LP"],
            ["1,3", "FC-1", "15/2", "12/2 MC"],
            ["PANEL LP2"],
            ["1,3", "FC-2", "15/2", "12/2 MC"],
        ],
        "Bus": [
            ["From", "To", "Wire", "Length"],
            ["SYSTEM 1"],
            ["HP-1", "FC-1", "18/2 STP", 30],
            ["FC-1", "FC-2", "18/2 STP", 30],
            ["SYSTEM 2"],
            ["HP-2", "FC-3", "18/2 STP", 30],
        ],
    },
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

TYPICAL = [
    ["Apt Type", "Tag", "Kind", "MCA", "MOP", "Volts"],
    ["A", "FC-1", "wall", 0.5, 15, "208/1"],
    ["A", "FC-2", "wall", 0.5, 15, "208/1"],
    ["B", "FC-1", "ducted", 1.2, 15, "208/1"],
]
book(
    "typical_tall.xlsx",
    {
        "Units": TYPICAL,
        "Apartments": [["Apartment", "Type"], ["101", "A"], ["102", "B"], ["103", "A"]],
    },
)
book(
    "typical_matrix.xlsx",
    {
        "Units": TYPICAL,
        "Apartments": [["Apartment", "A", "B"], ["101", "x", N], ["102", N, "x"], ["103", "x", N]],
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

book(
    "two_sided_panel.xlsx",
    {
        "12C": [
            ["Volts", "120/240", "Main", 100],
            ["Ckt", "Load", "Bkr", "P", "P", "Bkr", "Load", "Ckt"],
            [1, "FC-1", 15, 2, 2, 50, "HP-1", 2],
            [3, N, N, N, N, N, N, 4],
            [5, "RANGE", 40, 2, 1, 20, "SPARE", 6],
            [7, N, N, N, N, N, N, 8],
        ]
    },
)

book(
    "carried_down.xlsx",
    {
        "E": [
            ["Tag", "Kind", "MCA", "MOP", "Panel", "Ckt", "Breaker"],
            ["HP-1", "outdoor", 31.4, 50, "LP", "1,3", "50/2"],
            ["AH-1", "air handler", 3.2, 15, "LP", "5,7", "15/2"],
            [N, N, N, N, "LP", "9,11", "40/2"],
            ["Tag", "Kind", "MCA", "MOP", "Panel", "Ckt", "Breaker"],
            ["FC-1 thru FC-3", "wall", 0.5, 15, "LP", "13,15", "15/2"],
            ["Subtotal", N, 36.1],
            [],
            ["NOTES:"],
            ["1. All wiring copper."],
        ]
    },
)

with open("pdf_renamed.csv", "wb") as out:
    out.write(b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n")
with open("mail_renamed.csv", "wb") as out:
    out.write(b"From: a@b.example\r\nTo: c@d.example\r\nSubject: schedules\r\nMessage-ID: <1@b.example>\r\nMIME-Version: 1.0\r\n\r\nSee attached.\r\n")
with open("~$lock.xlsx", "wb") as out:
    out.write(b"\x05user")
with open("empty.csv", "wb") as out:
    pass
