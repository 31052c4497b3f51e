"""Jobs over several files. Run in this folder. All data are invented."""

import sys

sys.path.insert(0, "..")
from making import N, book, text

# Circuits of panels in another file: `Panel 12C` is the sheet `12C` there.
text(
    "parts/Heron equipment.csv",
    [
        ["Tag", "Kind", "MCA", "MOP", "Panel", "Ckt"],
        ["OU-1", "outdoor", "28.4", "45", "Panel 12C", "1,3"],
        ["FC-1", "wall", "0.6", "15", "Panel 12C", "2,4"],
        ["FC-2", "wall", "0.6", "15", "Panel 12C", "2,4"],
    ],
)
book(
    "parts/Heron panels.xlsx",
    {
        "12C": [
            ["Volts:", "120/240", "Main:", 100],
            ["Ckt", "Load", "Bkr", "P", "P", "Bkr", "Load", "Ckt"],
            [1, "OU-1", 45, 2, 2, 15, "FC-1, FC-2", 2],
            [3, N, N, N, N, N, N, 4],
        ]
    },
)
text(
    "parts/Heron bus runs.csv",
    [
        ["From", "To", "Cable", "Length"],
        ["OU-1", "FC-1", "18/2 stranded", "40 ft"],
        ["FC-1", "FC-2", "18/2 stranded", "30 ft"],
    ],
)

# The same panel twice, in two files that do not agree.
book(
    "conflict/Plover equipment.xlsx",
    {
        "Units": [
            ["Tag", "Kind", "MCA", "MOP"],
            ["OU-1", "outdoor", 28.4, 45],
            ["FC-1", "wall", 0.6, 15],
        ],
        "Panel LP": [
            ["Panel:", "LP", "Main:", "100 A"],
            ["Ckt", "Load", "Breaker", "Wire"],
            ["1,3", "OU-1", "45/2", "#8"],
            ["2,4", "FC-1", "15/2", "#14"],
        ],
    },
)
text(
    "conflict/Plover panels.csv",
    [
        ["Panel:", "LP", "Main:", "125 A"],
        ["Ckt", "Load", "Breaker", "Wire"],
        ["1,3", "OU-1", "50/2", "#8"],
        ["2,4", "FC-1", "15/2", "#14"],
    ],
)

# Units by type of dwelling in one file, the dwellings in another.
text(
    "typical/Dunlin units.csv",
    [
        ["Apt Type", "Tag", "Kind", "MCA", "MOP", "Volts"],
        ["A", "FC-1", "wall", "0.5", "15", "208/1"],
        ["A", "FC-2", "wall", "0.5", "15", "208/1"],
        ["B", "FC-1", "ducted", "1.2", "15", "208/1"],
    ],
)
text(
    "typical/Dunlin apartments.csv",
    [["Apartment", "Type"], ["101", "A"], ["102", "B"], ["103", "A"]],
)
