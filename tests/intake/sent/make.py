"""Schedules as people send them: each in the hand of another person.

Run in this folder. All jobs, tags and numbers are invented; what is expected
stands in expected.json; it was judged column by column after the program had read them, so it guards
against regressions and is no blind check.
"""

import sys

sys.path.insert(0, "..")
from making import N, book, raw

# A dealer's table, pasted below the mail that it came with.
raw(
    "pasted_mail.csv",
    b"""Hi Jim - here is what we have so far for the Alder St job. Let me know
,,,,,,,,
JOB: Alder Street Lofts,,,,,REV 2,,,
Mark,Qty,Serves,Nom. Cap. (BTU/h),V/Ph/Hz,Min. Ckt. Amps,Max Fuse/HACR (A),Bkr furnished,Remarks
OU-A,1,whole system,"48,000",208-230/1/60,29.8 A,45A,45A 2P,on grade
IU-A1,1,Living,"15,000",208-230/1/60,0.9 A,15A,15A 2P,
IU-A2 & A3,2,Bedrooms,"7,500",208-230/1/60,0.4 A,15A,"share, same ckt",
IU-A4,1,Study,"9,000",208-230/1/60,0.5 A,15A,"share, same ckt",confirm w/ owner
AHU-A5,1,Basement,"18,000",208-230/1/60,27.6,30,30A/2P,5kW strip
Total,6,,,,,,,
""",
)


def merges(work):
    sheet = work["M-601"]
    for area in ("B3:B5", "C3:C5", "E3:G3", "H3:I3", "J3:K3", "L3:O3", "P3:P5", "B2:P2"):
        sheet.merge_cells(area)
    for area in ("B19:B20", "C19:C20", "D19:D20", "E19:F19", "G19:H19", "I19:L19"):
        sheet.merge_cells(area)


# An engineer's sheet: two tables, headings of three and of two rows.
book(
    "engineer.xlsx",
    {
        "M-601": [
            [],
            [N, "HEAT PUMP INDOOR UNIT SCHEDULE"],
            [N, "UNIT NO.", "AREA SERVED", "NOMINAL", "FAN", N, N, "COOLING", N, "HEATING", N, "ELECTRICAL", N, N, N, "REMARKS"],
            [N, N, N, "TONS", "CFM", "ESP", "SPEEDS", "TOTAL", "SENS.", "CAP.", "AUX. HEAT", "VOLTS", "PH", "MCA", "MOCP"],
            [N, N, N, N, N, "IN. WG", N, "MBH", "MBH", "MBH", "KW", N, N, "AMPS", "AMPS"],
            [N, "FCU-1-1", "LOBBY 101", 1.5, 600, 0.2, 3, 18.0, 13.1, 20.0, "-", 208, 1, 1.1, 15, "1,2"],
            [N, "FCU-1-2", "OFFICE 102", 1, 400, 0.2, 3, 12.0, 9.0, 13.5, "-", 208, 1, 0.8, 15, "1,2"],
            [N, "FCU-1-3", "CONF 104", 2, 800, 0.3, 3, 24.0, 17.5, 27.0, "-", 208, 1, 1.6, 15, "1,2,4"],
            [N, "AHU-1-4", "CORRIDOR", 3, 1200, 0.5, 3, 36.0, 27.0, 40.0, 7.5, 208, 1, 49.7, 50, "1,3"],
            [],
            [N, "NOTES:"],
            [N, "1. PROVIDE WITH CONDENSATE PUMP."],
            [N, "2. PROVIDE WALL CONTROLLER."],
            [N, "3. SINGLE POINT CONNECTION"],
            [N, "4. SEE DETAIL 3/M-502."],
            [],
            [],
            [N, "HEAT PUMP OUTDOOR UNIT SCHEDULE"],
            [N, "UNIT NO.", "LOCATION", "NOMINAL TONS", "COMPRESSOR", N, "COND. FAN", N, "ELECTRICAL", N, N, N, "WEIGHT", "REMARKS"],
            [N, N, N, N, "QTY", "RLA", "QTY", "FLA", "VOLTS", "PH", "MCA", "MOCP", "LBS"],
            [N, "HP-1", "ROOF", 8, 2, 13.9, 2, 1.5, 208, 3, 34.3, 45, 610, "1"],
            [N, "HP-2", "ROOF", 6, 1, 16.2, 1, 1.5, 208, 3, 21.8, 35, 480, "1"],
        ]
    },
    merges,
)

# A panel of a dwelling as an electrical engineer draws it.
book(
    "panel.xlsx",
    {
        "LP-12C": [
            ["PANELBOARD SCHEDULE"],
            ["PANEL:", "LP-12C", N, "VOLTAGE:", "208Y/120V, 3PH, 4W", N, N, "MAIN:", "125A MCB"],
            ["LOCATION:", "UNIT 12C CLOSET", N, "BUS:", "125A", N, N, "FED FROM:", "MDP-3"],
            ["MOUNTING:", "FLUSH", N, "A.I.C.", "10k"],
            [],
            ["CKT", "LOAD DESCRIPTION", "VA", "BKR", "POLE", "PH", "POLE", "BKR", "VA", "LOAD DESCRIPTION", "CKT"],
            [1, "HP-12C OUTDOOR UNIT", 3100, "40A", 2, "A", 1, "20A", 1200, "KITCHEN RECEPT", 2],
            [3, "-", 3100, "-", "-", "B", 1, "20A", 1200, "KITCHEN RECEPT", 4],
            [5, "AHU-12C W/ 5KW HEAT", 2650, "30A", 2, "C", 2, "15A", 180, "FCU-12C-1,2,3", 6],
            [7, "-", 2650, "-", "-", "A", "-", "-", 180, "-", 8],
            [9, "DRYER", 2500, "30A", 2, "B", 1, "15A", 600, "LTG", 10],
            [11, "-", 2500, "-", "-", "C", "-", "-", N, "SPACE", 12],
            [13, "SPARE", 0, "20A", 1, "A", "-", "-", N, "SPACE", 14],
            ["CONNECTED LOAD (KVA)", N, "PHASE A", "5.6", N, N, "PHASE B", "7.4"],
            ["TOTAL KVA", 21.2],
        ]
    },
)

# A schedule of cables in metric units.
book(
    "cables.xlsx",
    {
        "Comms cabling": [
            ["CABLE SCHEDULE \u2013 CONTROL & COMMUNICATION"],
            ["Project", "Quay House"],
            ["Project no.", "Q-417"],
            [],
            ["Cable ref", "Originating at", "Terminating at", "Service", "Cable", "Cores", "Screened", "Route length (m)", "Notes"],
            ["C01", "OU/1", "BC/1", "comms", "1.25mm\u00b2", "2", "N", 38, N],
            ["C02", "BC/1", "IU/1.1", "comms", "1.25mm\u00b2", "2", "N", 12.5, N],
            ["C03", "IU/1.1", "IU/1.2", "comms", "1.25mm\u00b2", "2", "N", 9, N],
            ["C04", "IU/1.2", "IU/1.3", "comms", "1.25mm\u00b2", "2", "N", "tbc", "measure on site"],
            ["K01", "RC/1", "IU/1.1", "room controller", "0.75mm\u00b2", "2", "N", 15, N],
            ["K02", "RC/2", "IU/1.2", "room controller", "0.75mm\u00b2", "2", "N", 18, N],
        ]
    },
)

raw(
    "stats.csv",
    b"""T'stat Schedule,,,,
Stat #,Where mounted,Controls unit(s),Cable run,Approx. length
S1,Master bed,FC-1,18-2 stranded,45'
S2,Den,FC-2,18-2 stranded,60'-6"
S3,Great rm.,FC-3 & FC-4,18-2 stranded,about 80'
S4,Hall,CENTRAL,,""",
)

raw(
    "metric.csv",
    """Unit ref;Description;Supply (V/ph/Hz);Max running current (A);MCA (A);Recommended MCB (A);Max fuse (A);Power cable;Isolator
AC-O-1;Condensing unit, roof;230/1/50;14,5;18,2;20;25;3G4mm\u00b2;25A
AC-I-1;Wall unit, bedroom 1;230/1/50;0,3;0,4;6;15;3G1,5mm\u00b2;16A
AC-I-2;Wall unit, bedroom 2;230/1/50;0,3;0,4;6;15;3G1,5mm\u00b2;16A
""".encode("cp1252"),
)

# An estimator's row: the unit, its circuit, its home run, its disconnect.
book(
    "estimator.xlsx",
    {
        "Takeoff by unit": [
            ["Estimate 24-118", N, N, N, N, "Elec. sub: hold price 30 days"],
            ["Equip", "Panel & ckt", "Bkr", "Home run", "Run ft", "Disc", "Nameplate (MCA/MOP)", "V", "Notes"],
            ["HP-1", "LP-1,3", "50/2", "2#8 1#10G 3/4\"C", 85, "60A F/50", "38.2 / 50", "240-1", "roof"],
            ["HP-2", "LP-5,7", "40/2", "2#8 1#10G 3/4\"C", 90, "60A F/40", "27.5 / 40", "240-1", "roof"],
            ["FC-1", "LP-9,11", "15/2", "12/2 MC", 40, "toggle", "0.6 / 15", "240-1", N],
            ["FC-2", "\"", "\"", "\"", 20, "toggle", "0.6 / 15", "240-1", "daisy from FC-1"],
            ["FC-3", "ditto", "ditto", "ditto", 20, "toggle", "0.6 / 15", "240-1", "daisy from FC-2"],
            ["AH-1 (8kW)", "LP-13,15", "60/2", "2#6 1#10G 3/4\"C", 55, "60A NF", "47 / 50", "240-1", N],
            [],
            ["Total feet", N, N, N, 310],
        ]
    },
)

# Sections by system, the last of them a dwelling.
book(
    "systems.xlsx",
    {
        "Systems": [
            ["PENTHOUSE & COMMON HVAC SCHEDULE"],
            [],
            ["Designation", "Type", "Room", "Cooling kBtu", "MCA", "MOP", "Volt", "Comm length from previous (ft)", "Comm cable"],
            ["SYSTEM 1 - EAST WING"],
            ["ODU-1", "Outdoor", "Roof", 72, 41.5, 60, "208/3", "-", "-"],
            ["IDU-1-1", "Ceiling cassette", "Lobby", 18, 0.6, 15, "208/1", 120, "16/2 str"],
            ["IDU-1-2", "Ceiling cassette", "Gym", 18, 0.6, 15, "208/1", 45, "16/2 str"],
            ["SYSTEM 2 - WEST WING"],
            ["ODU-2", "Outdoor", "Roof", 48, 28.9, 45, "208/3", "-", "-"],
            ["IDU-2-1", "Ducted", "Amenity", 24, 1.9, 15, "208/1", 150, "16/2 str"],
            ["IDU-2-2", "Ducted", "Mail", 9, 0.9, 15, "208/1", "TBD", "16/2 str"],
            ["PENTHOUSE"],
            ["IDU-2-3", "Wall", "PH bath", 7, 0.4, 15, "208/1", 30, "16/2 str"],
            ["* all lengths approximate"],
        ]
    },
)

# A distributor's submittal, a column a unit.
book(
    "submittal.xlsx",
    {
        "Submittal data": [
            ["Submittal \u2013 Cedar Ct. Townhomes"],
            ["Date", "2026-02-11"],
            [],
            ["Item", "Outdoor", "Indoor A", "Indoor B"],
            ["Tag", "HP-1", "FC-1", "FC-2"],
            ["Model", "X-4 ton", "wall 9", "wall 12"],
            ["Power supply", "208/230V, 1\u00d8, 60Hz", "208/230V, 1\u00d8, 60Hz", "208/230V, 1\u00d8, 60Hz"],
            ["Minimum circuit ampacity", "31.4 A", "0.5 A", "0.6 A"],
            ["Max. overcurrent protection", "50 A", "15 A", "15 A"],
            ["Rated load amps, compressor", "22 A", "n/a", "n/a"],
            ["Sound pressure dB(A)", 55, 28, 31],
            ["Net weight", "240 lb", "22 lb", "24 lb"],
        ]
    },
)
