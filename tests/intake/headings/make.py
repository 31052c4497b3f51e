"""Headings of several rows, at any place. Run in this folder.

All jobs, tags and numbers are invented. What is expected stands in
expected.json, written by hand.
"""

import sys

sys.path.insert(0, "..")
from making import N, book, text


def merged(*areas):
    def apply(work):
        for area in areas:
            work.worksheets[0].merge_cells(area)

    return apply


book(
    "two_rows_merged.xlsx",
    {
        "E-501": [
            ["FAN COIL AND CONDENSER CONNECTIONS"],
            [],
            ["MARK", "UNIT", N, "ELECTRICAL", N, N, "BREAKER", N, "WIRE", N, "DISCONNECT", "ACOUSTICS"],
            [N, "TYPE", "MODEL", "V/PH/HZ", "MCA", "MOCP", "RATING", "POLES", "SIZE", "TYPE", "RATING", "RATING"],
            ["OU-1", "outdoor", "K40", "208/1/60", 28.4, 45, 45, 2, "#8", "THHN", "60A", "NC-50"],
            ["FC-1", "wall", "K09", "208/1/60", 0.6, 15, 15, 2, "#12", "THHN", "30A", "NC-25"],
            ["FC-2", "ducted", "K12", "208/1/60", 1.1, 15, 15, 2, "#12", "THHN", "30A", "NC-30"],
        ]
    },
    merged("A3:A4", "B3:C3", "D3:F3", "G3:H3", "I3:J3"),
)

book(
    "three_rows_merged.xlsx",
    {
        "Indoor": [
            ["UNIT NO.", "CAPACITY", N, "ELECTRICAL", N, N, N, "AREA SERVED", "MIN"],
            [N, "COOLING", "HEATING", "POWER", N, "NAMEPLATE", N, N, "CLEAR"],
            [N, "MBH", "MBH", "VOLTS", "PHASE", "MCA", "MOP", N, "IN"],
            ["FC-11", 9.0, 10.5, 208, 1, 0.6, 15, "Office 11", 24],
            ["FC-12", 12.0, 13.5, 208, 1, 0.8, 15, "Office 12", 24],
            ["FC-13", 24.0, 27.0, 208, 1, 1.9, 15, "Meeting", 36],
        ]
    },
    merged("A1:A3", "B1:C1", "D1:G1", "D2:E2", "F2:G2", "H1:H3"),
)

book(
    "group_repeated.xlsx",
    {
        "Branch circuits": [
            [N, N, "BREAKER", "BREAKER", "WIRE", "WIRE", "CONTROLLER", "CONTROLLER"],
            ["CKT", "LOAD", "SIZE", "POLES", "SIZE", "GROUND", "SIZE", "NOTE"],
            ["1,3", "OU-1", 45, 2, "#8", "#10", "4x4", "by others"],
            ["5,7", "FC-1, FC-2", 15, 2, "#14", "#14", "4x4", "by others"],
        ]
    },
)

text(
    "units_row.csv",
    [
        ["Tag", "Kind", "Capacity", "MCA", "MOP", "Strip Heat", "Bus Limit"],
        ["", "", "kW", "A", "A", "kW", "m"],
        ["OU-1", "outdoor", "14.07", "28.4", "45", "", "900"],
        ["AH-1", "air handler", "3.517", "31.0", "35", "5", ""],
    ],
)

book(
    "column_numbers.xlsx",
    {
        "Figures": [
            ["Tag", "Kind", "V-Ph-Hz", "MCA", "MOP"],
            [1, 2, 3, 4, 5],
            ["OU-1", "outdoor", "208-1-60", 28.4, 45],
            ["FC-1", "wall", "208-1-60", 0.6, 15],
        ],
        "Letters": [
            ["From", "To", "Wire", "Length (ft)"],
            ["(A)", "(B)", "(C)", "(D)"],
            ["OU-1", "FC-1", "18/2 stranded", 40],
        ],
    },
)


def scattered(work):
    sheet = work.create_sheet("Mech")
    rows = [
        ["HEAT PUMPS"],
        [],
        ["Project:", "Gull Point"],
        ["Job No.:", "G-77"],
        [],
        ["Mark", "Kind", "MCA", "MOCP", "Volts"],
        ["OU-1", "outdoor", 28.4, 45, "208/1"],
        ["FC-1", "wall", 0.6, 15, "208/1"],
    ]
    for down, row in enumerate(rows):
        for right, value in enumerate(row):
            sheet.cell(4 + down, 3 + right, value)
    sheet = work.create_sheet("LP-3")
    rows = [
        ["Panel:", N, N, "Main:", "100 A"],
        ["Volts:", "208Y/120", N, "Fed from:", "MDP"],
        [],
        ["Ckt", "Serves", "Breaker", "Wire"],
        ["1,3", "OU-1", "45/2", "#8"],
        ["2,4", "FC-1", "15/2", "#14"],
    ]
    for down, row in enumerate(rows):
        for right, value in enumerate(row):
            sheet.cell(6 + down, 2 + right, value)
    sheet = work.create_sheet("Bus")
    sheet.append(["From", "To", "Cable", "Length"])
    sheet.append(["OU-1", "FC-1", "18/2 stranded", "40 ft"])


book("anywhere.xlsx", {}, scattered)
