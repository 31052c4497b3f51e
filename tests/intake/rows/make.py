"""Rows that are no data, and rows that are several. Run in this folder.

All data are invented; what is expected stands in expected.json, written by
hand.
"""

import sys

sys.path.insert(0, "..")
from making import N, book, calculated, text

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


HEAD = ["Tag", "Kind", "MCA", "MOP", "Breaker", "Wire"]

text(
    "ditto.csv",
    [
        HEAD,
        ["FC-1", "wall", "0.6", "15", "15/2", "14/2 MC"],
        ["FC-2", "\"", "\"", "\"", "\"", "\""],
        ["FC-3", "ditto", "0.8", "do.", "do.", "DO"],
        ["FC-4", "''", "\u2033", "same", "as above", "\u3003"],
    ],
)

text(
    "tag_lists.csv",
    [
        ["Tag", "Kind", "MCA", "MOP"],
        ["FC-1 thru FC-4", "wall", "0.6", "15"],
        ["FC-5..7", "wall", "0.6", "15"],
        ["FC-8, 9 & 10", "wall", "0.8", "15"],
        ["BB-8", "branch box", "0.4", "15"],
        ["BBH-8", "branch box", "0.4", "15"],
        ["fc-013", "wall", "0.8", "15"],
    ],
)

text(
    "quantities.csv",
    [
        ["Mark", "Qty", "Kind", "MCA", "MOP"],
        ["OU-1", "1", "outdoor", "28.4", "45"],
        ["FC-A", "3 each", "wall", "0.6", "15"],
        ["FC-B", "(2)", "wall", "0.8", "15"],
        ["FC-C", "2 ea.", "ducted", "1.1", "15"],
    ],
)

# A template filled in half way: formulas give empty text, FALSE, zero, and
# the running number goes on.
book(
    "phantom_rows.xlsx",
    {
        "Units": [
            ["No.", "Tag", "Kind", "MCA", "MOP", "Circuit"],
            [1, "OU-1", "outdoor", 28.4, 45, "1,3"],
            [2, "FC-1", "wall", 0.6, 15, "2,4"],
            [3, '=IF(H4="","",H4)', N, '=IF(H4="","",I4)', N, N],
            [4, '=IF(H5="","",H5)', N, "=H5>0", N, N],
            [5, N, N, "=I6*1", N, N],
            [6],
            [7],
        ]
    },
)
calculated(
    "phantom_rows.xlsx",
    {
        ("sheet1", "B4"): ("str", ""),
        ("sheet1", "D4"): ("str", ""),
        ("sheet1", "B5"): ("str", ""),
        ("sheet1", "D5"): ("b", "0"),
        ("sheet1", "D6"): ("n", "0"),
    },
)

book(
    "totals_and_taxes.xlsx",
    {
        "Estimate": [
            ["Tag", "Qty", "Kind", "MCA", "MOP", "Price"],
            ["OU-1", 1, "outdoor", 28.4, 45, 4100],
            ["Sub-total outdoor", 1, N, N, N, 4100],
            ["FC-1", 1, "wall", 0.6, 15, 610],
            ["FC-2", 1, "wall", 0.6, 15, 610],
            ["Subtotal", 2, N, N, N, 1220],
            [N, N, N, N, "Sales tax 6%", 319.2],
            [N, N, N, N, "Freight", 200],
            ["GRAND TOTAL", 3, N, N, N, 5839.2],
            ["NOTE: prices hold for 30 days"],
            ["* furnished by others"],
        ]
    },
)


def hide(work):
    work["Units"].row_dimensions[3].hidden = True
    work["Units"].column_dimensions["D"].hidden = True
    filtered = work["Runs"]
    filtered.auto_filter.ref = "A1:D4"
    filtered.auto_filter.add_filter_column(0, ["OU-1"])
    filtered.row_dimensions[3].hidden = filtered.row_dimensions[4].hidden = True
    work["Controls"].sheet_state = "hidden"
    work["Panels"].sheet_state = "veryHidden"


book(
    "hidden.xlsx",
    {
        "Units": [
            ["Tag", "Kind", "MCA", "MOP"],
            ["OU-1", "outdoor", 28.4, 45],
            ["FC-1", "wall", 0.6, 15],
            ["FC-2", "wall", 0.6, 15],
        ],
        "Runs": [
            ["From", "To", "Wire", "Length"],
            ["OU-1", "FC-1", "18/2 stranded", "30 ft"],
            ["FC-1", "FC-2", "18/2 stranded", "30 ft"],
            ["FC-2", "FC-3", "18/2 stranded", "30 ft"],
        ],
        "Controls": [
            ["Thermostat", "Controls", "Length"],
            ["T-1", "FC-1", "40 ft"],
        ],
        "Panels": [
            ["Panel", "Volts", "Main", "Fed From"],
            ["LP", "208Y/120", "100", "MDP"],
        ],
    },
    hide,
)

# Lists that follow a table without a blank row: a heading of their own, or a
# title; their counts would read as amperes.
book(
    "list_no_gap.xlsx",
    {
        "Units": [
            ["Tag", "MCA", "MOP", "V/PH", "Breaker", "Wire"],
            ["OU-1", 24.1, 40, "208/1", "40/2", "2#8,1#10G"],
            ["FC-1", 0.8, 15, "208/1", "15/2", "2#14,1#14G"],
            ["FC-2", 0.8, 15, "208/1", "15/2", "2#14,1#14G"],
            ["Item", "Qty", "Price"],
            ["Condensate pump", 4, 112.00],
            ["Hangers", 20, 7.00],
        ],
        "More": [
            ["Tag", "MCA", "MOP", "V/PH", "Breaker", "Wire"],
            ["OU-2", 24.1, 40, "208/1", "40/2", "2#8,1#10G"],
            ["FC-3", 0.8, 15, "208/1", "15/2", "2#14,1#14G"],
            ["Spare parts:"],
            ["Filters", 4],
            ["Belts", 2, "ea"],
            ["Drain pan", 1, "ea"],
        ],
    },
)

# A word where the number of a dwelling would stand.
book(
    "sections_words.xlsx",
    {
        "Units": [
            ["Tag", "Room", "MCA", "MOP", "V/PH"],
            ["APARTMENT 12C"],
            ["OU-1", "Balcony", 24.1, 40, "208/1"],
            ["FC-1", "Living", 0.8, 15, "208/1"],
            ["APARTMENT PENTHOUSE"],
            ["OU-1", "Roof", 28.4, 45, "208/1"],
            ["FC-1", "Living", 0.8, 15, "208/1"],
            ["UNIT", "LOBBY"],
            ["OU-2", "Roof", 24.1, 40, "208/1"],
            ["FC-9", "Desk", 0.8, 15, "208/1"],
        ]
    },
)

# A slash that may mean two units or one.
text(
    "slash_tags.csv",
    [
        ["Tag", "MCA", "MOP", "Breaker"],
        ["OU-1", "24.1", "40", "40/2"],
        ["FC-11/12", "0.8", "15", "15/2"],
        ["FC-1/2", "0.8", "15", "15/2"],
    ],
)
