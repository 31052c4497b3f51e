"""What spreadsheets and text files do to notations. Run in this folder.

All data are invented; what is expected stands in expected.json and in the
tests, written by hand.
"""

import datetime
import sys

sys.path.insert(0, "..")
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from making import N, book, raw

DATE = datetime.datetime


def dated(work):
    """`10/2` typed in a sheet of a US locale is 2 October; `2/30` is February
    1930; `14/2` typed in a day-first one is 14 February. 4 March may have been
    `3/4` or `4/3`."""
    sheet = work["Circuits"]
    for cell, date, code in [
        ("D2", DATE(2026, 10, 2), "d\\-mmm"),
        ("D3", DATE(2026, 12, 2), "d\\-mmm"),
        ("C3", DATE(1930, 2, 1), "mmm\\-yy"),
        ("D4", DATE(2026, 2, 14), "dd/mm"),
        ("A5", DATE(2026, 1, 3), "m/d"),
        ("D5", DATE(2026, 3, 4), "d\\-mmm"),
    ]:
        sheet[cell] = date
        sheet[cell].number_format = code


def circuits():
    return {
        "Circuits": [
            ["Ckt", "Load", "Breaker", "Wire"],
            ["2,4", "AH-1", "30/2", N],
            ["5,7", "AH-2", N, N],
            ["9,11", "FC-1", "15/2", N],
            [N, "FC-2", "15/2", N],
        ]
    }


book("dates.xlsx", circuits(), dated)


def undecided(work):
    """2 April may have been `4/2` or `2/4`: both are cables, and no breaker
    beside them tells which. `1/6` of a motor leaves one reading."""
    sheet = work["Circuits"]
    for cell, date in [("D2", DATE(2026, 4, 2)), ("E3", DATE(2026, 1, 6))]:
        sheet[cell] = date
        sheet[cell].number_format = "d\\-mmm"


book(
    "dates_undecided.xlsx",
    {
        "Circuits": [
            ["Tag", "Ckt", "MCA", "Wire", "Fan HP"],
            ["AH-1", "2,4", 61.5, N, "1/2"],
            ["FC-1", "5,7", 0.6, "14/2 NM-B", N],
        ]
    },
    undecided,
)


def of_1904(work):
    work.epoch = CALENDAR_MAC_1904
    dated(work)


book("dates_1904.xlsx", circuits(), of_1904)


def errors(work):
    sheet = work["Units"]
    sheet["C2"] = "#N/A"
    sheet["D3"] = "#REF!"
    sheet["C4"] = "#DIV/0!"


book(
    "error_cells.xlsx",
    {
        "Units": [
            ["Tag", "Kind", "MCA", "MOP"],
            ["OU-1", "outdoor", N, 45],
            ["FC-1", "wall", 0.6, N],
            ["FC-2", "wall", N, 15],
        ]
    },
    errors,
)


def texts(work):
    for row in work["Units"].iter_rows(min_row=2, min_col=3):
        for cell in row:
            cell.data_type = "s"


book(
    "numbers_as_text.xlsx",
    {
        "Units": [
            ["Tag", "Kind", "MCA", "MOP"],
            ["OU-1", "outdoor", "28.4", "45"],
            ["FC-1", "wall", " 0.6\u00a0", "15 "],
            ["FC-2", "wall", "0.80", "15.0"],
        ]
    },
    texts,
)

# Marks that were 05 and 06 on the plans, and circuits that keep theirs.
raw(
    "lost_zeros.csv",
    b"Tag,Kind,MCA,MOP,Circuit\r\n5,wall,0.6,15,LP-02/04\r\n6,wall,0.6,15,LP-06/08\r\n05,branch box,0.4,15,LP-10/12\r\n",
)
raw(
    "text_trick.csv",
    b'Tag,Kind,MCA,MOP,Breaker,Wire\r\n="OU-1",outdoor,28.4,45,="45/2",="8/2"\r\n="005",wall,="0.6",="15","=""15/2""","=""14/2"""\r\n',
)
raw(
    "sep_line.csv",
    b"sep=;\r\nTag;Kind;MCA;MOP\r\nOU-1;outdoor;28,4;45\r\nFC-1;wall;0,6;15\r\n",
)
raw(
    "stray_quotes.csv",
    b'Ckt,Load,Breaker,Wire,Conduit,Remarks\r\n'
    b'"1,3",OU-1,45/2,(2)#8+(1)#10G,3/4",on roof\r\n'
    b'"5,7",FC-1,15/2,14/2 MC,1/2" ,6\'-0" above floor\r\n'
    b'"9,11","AH-1 "big one",60/2,"(2)#6+(1)#10G",1",\r\n'
    b'"13,15",FC-2,15/2,14/2 MC,-,say "hold"\r\n',
)
raw(
    "ragged.csv",
    b"Tag,Kind,MCA,MOP,Room\r\nOU-1,outdoor,28.4,45\r\nFC-1,wall,0.6,15,Office,,,\r\nFC-2,wall\r\nFC-3,wall,0.6,15,Den,see note\r\n",
)
raw("cr_only.csv", b"Tag,Kind,MCA,MOP\rOU-1,outdoor,28.4,45\rFC-1,wall,0.6,15\r")
raw(
    "wide_title.csv",
    b"HEAT PUMP SCHEDULE" + b"," * 59 + b"\r\n" + b"," * 59 + b"\r\n"
    b"Tag,Kind,Room,Model,MCA,MOP,V-Ph-Hz,Breaker,Wire,Remarks\r\n"
    b"OU-1,outdoor,Roof,K40,28.4,45,208-1-60,45/2,8/2 MC,\r\n"
    b"FC-1,wall,Den,K09,0.6,15,208-1-60,15/2,14/2 MC,\r\n",
)
PLAIN = "Tag,Kind,Supply,MCA,MOP\r\nOU-1,outdoor,208V-1\u00d8-60,28.4,45\r\nFC-1,wall,208V-1\u00d8-60,0.6,15\r\n"
raw("bom_utf8.csv", b"\xef\xbb\xbf" + PLAIN.encode())
raw("bom_utf16.csv", b"\xff\xfe" + PLAIN.encode("utf-16-le"))
raw("western.csv", PLAIN.encode("cp1252"))
# UTF-8 that a program took for Windows-1252 and saved as UTF-8 again.
raw("mojibake.csv", PLAIN.encode().decode("cp1252", "replace").encode())
