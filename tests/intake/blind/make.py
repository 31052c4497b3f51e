"""Schedules in the hands of different people, written by somebody who had not
looked at what is recognised; afterwards what was missed was mended.

Run in this folder. All jobs, tags and numbers are invented.
"""

import sys

sys.path.insert(0, "..")
from making import N, book, raw, text


def merges(*areas):
    def after(work):
        for sheet, area in areas:
            work[sheet].merge_cells(area)

    return after


# A mechanical contractor's sheet: groups merged over two rows, notes in between.
book(
    "clinic.xlsx",
    {
        "M-601": [
            ["MECHANICAL EQUIPMENT SCHEDULES"],
            ["PROJECT: HARBOR STREET CLINIC"],
            ["REV 2   09/14/2026"],
            [],
            ["OUTDOOR HEAT PUMP SCHEDULE"],
            ["MARK", "SERVES", "NOM. TONS", "COOLING", N, "HEATING", "ELECTRICAL", N, N, N, N, "WT. (LBS)", "BASIS OF DESIGN", "REMARKS"],
            [N, N, N, "TOTAL MBH", "SENS. MBH", "MBH @ 17F", "V/PH/HZ", "MCA", "MAX FUSE", "RLA", "FAN FLA"],
            ["HP-1", "SYSTEM 1 (LEVEL 1)", 5, "56.0", "42.0", "48.5", "208/1/60", "33.2", "50", "23.7", "2.4", 385, "MODEL A-060 OR EQUAL", "1,2,4"],
            ["HP-2", "SYSTEM 2 (LEVEL 2)", 5, "56.0", "42.0", "48.5", "208/1/60", "33.2", "50", "23.7", "2.4", 385, "MODEL A-060 OR EQUAL", "1,2,4"],
            ["NOTES:"],
            ["1. PROVIDE FUSED DISCONNECT WITHIN SIGHT OF UNIT."],
            ["2. MOUNT ON 18\" HIGH STAND."],
            ["3. NOT USED."],
            ["4. SEE SPECIFICATION SECTION 23 81 29."],
            [],
            ["INDOOR UNIT SCHEDULE"],
            ["MARK", "ROOM SERVED", "TYPE", "SUPPLY FAN", N, N, "ELECTRICAL", N, N, "SUPP. ELEC. HEAT", N, "T'STAT", "O.D. UNIT", "REMARKS"],
            [N, N, N, "CFM", "E.S.P. (IN. W.G.)", "MOTOR HP", "VOLTS / PH", "M.C.A.", "M.O.C.P.", "KW", "STEPS"],
            ["AH-1A", "WAITING 101", "DUCTED, HORIZ.", 400, "0.30", "1/6", "208 / 1", "1.4 A", "15 A", "--", "--", "TS-1A", "HP-1", "5"],
            ["AH-1B", "EXAM 102/103", "DUCTED, HORIZ.", 400, "0.30", "1/6", "208 / 1", "1.4 A", "15 A", "--", "--", "TS-1B", "HP-1", "5"],
            ["AH-1C", "NURSE 104", "CONSOLE", 250, "-", "1/20", "208 / 1", "0.6 A", "15 A", "3.0", "1", "TS-1C", "HP-1"],
            ["AH-2A", "ADMIN 201", "DUCTED, HORIZ.", 400, "0.30", "1/6", "208 / 1", "1.4 A", "15 A", "--", "--", "TS-2A", "HP-2", "5"],
            ["AH-2B", "BREAK RM. 202", "CONSOLE", 250, "-", "1/20", "208 / 1", "0.6 A", "15 A", "--", "--", "TS-2B", "HP-2"],
            ["5. PROVIDE CONDENSATE PUMP."],
        ]
    },
    merges(
        ("M-601", "A1:N1"),
        ("M-601", "A5:N5"),
        ("M-601", "D6:E6"),
        ("M-601", "G6:K6"),
        *(("M-601", f"{c}6:{c}7") for c in "ABCLMN"),
        ("M-601", "A16:N16"),
        ("M-601", "D17:F17"),
        ("M-601", "G17:I17"),
        ("M-601", "J17:K17"),
        *(("M-601", f"{c}17:{c}18") for c in "ABCLMN"),
    ),
)

# An electrician's two-sided panel, and the connections on a sheet of their own.
LEFT = [
    ("HP-1 OUTDOOR UNIT ON ROOF", "3#8,#10G", "50", 2, "3.45", 1),
    (N, N, N, N, "3.45", 3),
    ("AH-1A, AH-1B, AH-1C", "2#12,#12G", "15", 2, "0.4", 5),
    (N, N, N, N, "0.4", 7),
    ("STRIP HEAT AH-1C", "2-#12 & 1-#12 GND", "20", 2, "1.5", 9),
    (N, N, N, N, "1.5", 11),
    ("SPARE", "--", "20", 1, N, 13),
    ("SPACE", N, N, 1, N, 15),
]
RIGHT = [
    ("HP-2 OUTDOOR UNIT ON ROOF", "3#8,#10G", "50", 2, "3.45", 2),
    (N, N, N, N, "3.45", 4),
    ("AH-2A, AH-2B", "2#12,#12G", "15", 2, "0.3", 6),
    (N, N, N, N, "0.3", 8),
    ("ROOF RECEPT.", "2#12,#12G", "20", 1, "0.18", 10),
    ("SPARE", N, "20", 1, N, 12),
    ("SPARE", N, "20", 1, N, 14),
    ("SPACE", N, N, 1, N, 16),
]
panel = [
    ["PANELBOARD:", N, "HP1", N, N, "MOUNTING:", N, "SURFACE", N, N, "FED FROM:", N, "MDP"],
    ["VOLTAGE:", N, "120/208V, 3PH, 4W", N, N, "BUS AMPS:", N, "125A", N, N, "A.I.C.:", N, "10,000"],
    ["MAIN:", N, "100A MCB", N, N, "LOCATION:", N, "MECH RM 109"],
    [],
    ["LOAD DESCRIPTION", "WIRE", "BKR", "P", "KVA", "CKT", "PH", "CKT", "KVA", "P", "BKR", "WIRE", "LOAD DESCRIPTION"],
]
for (left, right), phase in zip(zip(LEFT, RIGHT), "ABCABCAB"):
    panel.append([*left, phase, *reversed(right)])
panel += [
    [],
    ["CONNECTED LOAD (KVA):", N, N, N, "21.3"],
    ["TOTAL AMPS:", N, N, N, "59"],
    [],
    ["* PROVIDE HACR RATED BREAKERS."],
]
ditto = "\""
book(
    "clinic_power.xlsx",
    {
        "PNL HP1": panel,
        "EQUIP CONNECTIONS": [
            ["EQUIP. ID", "DESCRIPTION", "VOLT/PHASE", "MCA (A)", "MOCP (A)", "PANEL - CKT", "BRANCH CIRCUIT", "DISC. SW.", "DISC. BY", "HOMERUN (FT.)"],
            ["HP-1", "OUTDOOR UNIT", "208/1", "33.2", "50", "HP1-1,3", "2#8 + 1#10 GND IN 3/4\"C", "60A/2P/50AF/NEMA 3R", "DIV 26", "85"],
            ["HP-2", "OUTDOOR UNIT", "208/1", "33.2", "50", "HP1-2,4", "2#8 + 1#10 GND IN 3/4\"C", "60A/2P/50AF/NEMA 3R", "DIV 26", "78"],
            ["AH-1A", "INDOOR UNIT", "208/1", "1.4", "15", "HP1-5,7", "2#12 + 1#12 GND IN 1/2\"C", "TOGGLE SW. 20A-2P", "DIV 26", "45"],
            ["AH-1B", "INDOOR UNIT", "208/1", "1.4", "15", "HP1-5,7", ditto, "TOGGLE SW. 20A-2P", "DIV 26", "60"],
            ["AH-1C", "INDOOR UNIT", "208/1", "0.6", "15", "HP1-5,7", ditto, "TOGGLE SW. 20A-2P", "DIV 26", "62"],
            ["AH-2A", "INDOOR UNIT", "208/1", "1.4", "15", "HP1-6,8", ditto, "TOGGLE SW. 20A-2P", "DIV 26", "55"],
            ["AH-2B", "INDOOR UNIT", "208/1", "0.6", "15", "HP1-6,8", ditto, "IN UNIT", "DIV 26", "70"],
        ],
    },
)

# A dealer's list in a mail.
raw(
    "heads.csv",
    b"""From: Dana
Subject: RE: Birchwood Lane 14 - what we are putting in

Hi, here is the list as quoted. Call me w/ questions.

Qty;Unit;Where;BTU/h;Volt;Min circuit amps;Max breaker;Brkr we plan;Wire;Stat;Notes
1;Outdoor 1;side yard;48.000;230;28,5;45;45;8/2 NM;-;on pad
1;Head 1;Living room;18.000;230;0,7;15;15;14/2 NM;wall stat in living;shares w/ Head 2
1;Head 2;Kitchen;9.000;230;0,4;15;same as Head 1;14/2 NM;wall stat in kitchen;shares w/ Head 1
2;Head 3 & 4;Bed 2, Bed 3;7.000;230;0,3;15;15;14/2 NM;one each;

Comm wire: 18/2 stranded shielded from OD to Head 1, to Head 2, to Head 3, to Head 4. Total abt 160 ft.

Thanks
Dana
""",
)

# A column a unit; the breaker of the first is above its maximum.
book(
    "cabin.xlsx",
    {
        "Selection": [
            ["Lakeside cabin - unit selection"],
            [],
            ["Item", "CU-1", "FCU-1", "FCU-2", "FCU-3"],
            ["Area served", "Outside, north wall", "Great room", "Loft", "Primary bedroom"],
            ["Nominal capacity (BTUH)", 36000, 18000, 9000, 9000],
            ["Power supply", *["208-230V/1ph/60Hz"] * 4],
            ["Min. circuit ampacity", "21.6", "0.8", "0.4", "0.4"],
            ["Max. overcurrent protection", "35", "15", "15", "15"],
            ["Circuit breaker provided", "40", "15", "15", "15"],
            ["Wire provided", "#8 THHN Cu", "#14 THHN Cu", "#14 THHN Cu", "#14 THHN Cu"],
            ["Distance from panel (m)", "18", "9.5", "12", "14"],
            ["Wall controller", "n/a", "WC-1", "WC-2", "WC-2"],
            ["Connected outdoor unit", "n/a", "CU-1", "CU-1", "CU-1"],
        ]
    },
)

# The same without breakers and wire: lengths alone make no circuit.
book(
    "cabin_lengths.xlsx",
    {
        "Selection": [
            ["Tag", "Area served", "Power supply", "MCA", "MOCP", "Distance from panel (m)"],
            ["CU-1", "Outside", "208/1/60", 21.6, 35, 18],
            ["FCU-1", "Great room", "208/1/60", 0.8, 15, 9.5],
            ["FCU-2", "Loft", "208/1/60", 0.4, 15, 12],
        ]
    },
)

# Parameters of components, one a row.
rows = [["Component", "Parameter", "Parameter Value", "UoM"]]
for tag, mca, mop, size, more in [
    ("ODU-01", "24.1", "40", "8", [("Cooling Capacity", "14.0", "kW"), ("Weight", "98", "kg")]),
    *(
        (f"IDU-0{n}", mca, "15", "14", [("Cooling Capacity", "3.5", "kW"), ("Outdoor Unit", "ODU-01", ""), ("Thermostat Tag", f"T0{n}", "")])
        for n, mca in ((1, "0.9"), (2, "0.9"), (3, "0.4"))
    ),
]:
    rows += [
        [tag, "Supply Voltage", "208", "V"],
        [tag, "Number of Phases", "1", "ea"],
        [tag, "Minimum Circuit Ampacity", mca, "A"],
        [tag, "Maximum Overcurrent Protection", mop, "A"],
        [tag, "Circuit Breaker Rating", mop, "A"],
        [tag, "Conductor Size", size, "AWG"],
        *([tag, *entry] for entry in more),
    ]
text("parameters.csv", rows)

# A list of pulls of the low-voltage trade.
text(
    "pull_list.csv",
    [
        ["LOW VOLTAGE PULL LIST - Harbor St. (HVAC comm + stats)"],
        ["Pull #", "Cable", "Originating at", "Terminates at", "Est. footage", "Jacket / insul.", "Shld?", "Purpose", "Pulled? (initials)"],
        ["1", "18-2 stranded", "HP-1", "AH-1A", "65'", "plenum", "Y", "comm bus", "JT"],
        ["2", "18-2 stranded", "AH-1A", "AH-1B", "22'", "plenum", "Y", "comm bus", "JT"],
        ["3", "18-2 stranded", "AH-1B", "AH-1C", "31'-6\"", "plenum", "Y", "comm bus", ""],
        ["4", "18-4 solid", "TS-1A", "AH-1A", "40'", "plenum", "N", "tstat", ""],
        ["5", "18-4 solid", "TS-1B", "AH-1B", "35'", "plenum", "N", "tstat", ""],
        ["", "", "", "TOTAL", "193.5'"],
    ],
)

# Decimal commas in a workbook; two languages.
book(
    "lake_house.xlsx",
    {
        "Sched": [
            [],
            [N, "Residence au lac / Lake House"],
            [N, "Job No.", "26-118"],
            [N, "Panel", "LP-A (120/240V 1PH)"],
            [],
            [N, "Cct", "Ref", "Serving", "Rated volts", "FLA", "Elec heater", "MCA", "Brk size/poles", "Cdr. (AWG)", "EGC (AWG)", "Disconn.", "Distance from panel", "Zone ctl"],
            [N, "2/4", "O-1", "(exterior)", "240", "2,4", "none", "26,9", "40/2", "8", "10", "60A NF", "19,8 m", "-"],
            [N, "6/8", "I-1", "Salon", "240", "0,6", "5 kW", "27,2", "30/2", "10", "10", "in unit", "12 m", "C-1"],
            [N, "10/12", "I-2", "Chambre 1", "240", "0,4", "none", "0,5", "15/2", "14", "14", "in unit", "9,5 m", "C-2"],
            [N, "10/12", "I-3", "Chambre 2", "240", "0,4", "none", "0,5", "ditto", "14", "14", "in unit", "13,5 m", "C-3"],
        ]
    },
)

# A length that may be the circuit's or the controller's.
text(
    "two_candidates.csv",
    [
        ["Tag", "MCA", "MOP", "Breaker", "Disconn.", "One-way length", "Room", "T'stat"],
        ["OU-1", "24.1", "40", "40/2", "60A NF", "65 ft", "Roof", ""],
        ["FC-1", "0.8", "15", "15/2", "in unit", "30 ft", "Den", "T-1"],
    ],
)
