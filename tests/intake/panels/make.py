"""Panel schedules. Run in this folder. All data are invented; what is
expected stands in expected.json, written by hand."""

import sys

sys.path.insert(0, "..")
from making import N, book

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

# The order of the columns is not that of the other side, mirrored or not.
book(
    "order_by_side.xlsx",
    {
        "HP": [
            ["PANEL HP", N, N, N, N, N, "208Y/120V 3PH 4W"],
            ["CKT", "LOAD SERVED", "TRIP", "POLES", "VA", "POLES", "TRIP", "VA", "CKT", "LOAD SERVED"],
            [1, "OU-1", 40, 3, 3400, 2, 15, 90, 2, "FC-1, FC-2"],
            [3, N, N, N, 3400, N, N, 90, 4, N],
            [5, N, N, N, 3400, 2, 60, 4800, 6, "AH-1"],
            [7, "SPARE", 20, 1, N, N, N, 4800, 8, N],
            [9, "SPACE", N, N, N, 1, 20, 600, 10, "LIGHTS"],
            ["TOTAL VA", N, N, N, 10200, N, N, 10380, N, N],
        ]
    },
)

# One side; the panel is named in the title, its volts and main beside it.
book(
    "directory.xlsx",
    {
        "Directory": [
            ["Panel K2 – 120/240V 1ph 3w – 125A main"],
            [],
            ["Circuit", "Breaker size", "Feeds", "Wire"],
            ["1/3", "45A", "OU-1", "#8"],
            ["2/4", "15A", "FC-1 thru FC-3", "#14"],
            ["6", "20A", "Spare", N],
            ["8-12", N, "Space", N],
        ]
    },
)
