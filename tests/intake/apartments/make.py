"""Dwellings. Run in this folder. All data are invented; what is expected
stands in expected.json, written by hand."""

import sys

sys.path.insert(0, "..")
from making import N, book, text

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


# *Unit* is the number on the door: marks repeat from door to door.
book(
    "doors.xlsx",
    {
        "HVAC": [
            ["Unit", "Equip. Tag", "Kind", "MCA", "MOP", "Panel", "Ckt"],
            ["101", "OU-1", "outdoor", 18.4, 30, "LP", "1,3"],
            [N, "FC-1", "wall", 0.5, 15, "LP", "2,4"],
            ["102", "OU-1", "outdoor", 18.4, 30, "LP", "1,3"],
            [N, "FC-1", "wall", 0.5, 15, "LP", "2,4"],
            ["12C", "OU-1", "outdoor", 18.4, 30, "LP", "1,3"],
        ]
    },
)

# One row a dwelling, its outdoor and its indoor units beside each other.
def bands(work):
    for area in ("B3:D3", "E3:G3", "H3:I3"):
        work["Apartments"].merge_cells(area)


book(
    "row_a_dwelling.xlsx",
    {
        "Apartments": [
            ["Electrical by apartment"],
            [],
            ["Apt", "Outdoor", N, N, "Indoor", N, N, "Stat wire", N],
            [N, "Tag", "MCA", "MOP", "Tag", "MCA", "MOP", "Type", "Ft"],
            ["101", "OU-1", 18.4, 30, "FC-1", 0.5, 15, "18/2", 35],
            [N, N, N, N, "FC-2", 0.5, 15, "18/2", 60],
            ["102", "OU-1", 18.4, 30, "FC-1", 0.5, 15, "18/2", 35],
        ]
    },
    bands,
)

# Floors down and stacks across, the type in brackets behind the door.
book(
    "typical_grid.xlsx",
    {
        "Unit Mix": [
            ["Willow Terrace - unit matrix"],
            [],
            ["Floor", "01", "02", "03"],
            ["2nd", "201 (A)", "202 (B)", "203 (A)"],
            ["3rd", "301 (A)", "302 (B)", "303 (A)"],
        ],
        "Unit Types": [
            ["Unit Type", "Equip. Tag", "Location", "Volts-Ph", "MCA", "Max OCPD", "Thermostat"],
            ["A", "OU-1", "Balcony", "208-1", 18.2, 30, N],
            [N, "IU-1", "Living", "208-1", 0.9, 15, "T-1"],
            ["B", "OU-1", "Balcony", "208-1", 22.8, 35, N],
            [N, "IU-1", "Living", "208-1", 0.9, 15, "T-1"],
            [N, "IU-2", "Bedroom", "208-1", 0.5, 15, "T-2"],
        ],
    },
)
