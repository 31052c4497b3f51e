"""Makes the files of sample-schedules/ anew.

Everything in them is invented: people, places, firms, models. What is planted
where stands in sample-schedules/README.md, and tests/samples.rs holds the
audit against it. Needs openpyxl; run from the project's folder.
"""

import csv
import datetime
import io
import pathlib

import openpyxl
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter

ROOT = pathlib.Path("sample-schedules")
STAMP = datetime.datetime(2026, 1, 1)

# Invented models: name, capacity MBH, supply, MCA, MOP, RLA, FLA.
OU36 = ("DEMO-OU-36", 36, "208/230-1-60", 22.8, 35, 17.0, 1.5)
OU48 = ("DEMO-OU-48", 48, "208/230-1-60", 31.4, 50, 24.0, 1.4)
OU60 = ("DEMO-OU-60", 60, "208/230-1-60", 27.9, 35, 21.2, 1.4)
OU96 = ("DEMO-OU-96", 96, "208/230-3-60", 38.6, 60, 28.0, 3.6)
FC06 = ("DEMO-FC-06", 6, "208/230-1-60", 1.4, 15, "", 1.12)
FC09 = ("DEMO-FC-09", 9, "208/230-1-60", 0.6, 15, "", 0.48)
FC12 = ("DEMO-FC-12", 12, "208/230-1-60", 0.8, 15, "", 0.64)
FC18 = ("DEMO-FC-18", 18, "208/230-1-60", 1.4, 15, "", 1.12)
AH24 = ("DEMO-AH-24", 24, "208/230-1-60", 29.8, 30, "", 3.0)


def save(book, path):
    path.parent.mkdir(parents=True, exist_ok=True)
    book.properties.created = STAMP
    book.properties.modified = STAMP
    book.properties.creator = "invented"
    book.save(path)


def text(path, rows, delimiter=",", encoding="utf-8", newline="\r\n"):
    path.parent.mkdir(parents=True, exist_ok=True)
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=newline).writerows(rows)
    path.write_bytes(out.getvalue().encode(encoding))


# ---------------------------------------------------------------- season file
SEASON = [
    "Job No.", "Job", "Customer Type", "Tag", "Description", "Model No.", "Capacity (MBH)",
    "V/PH/HZ", "MCA", "MOCP", "FLA", "Htr kW", "Room", "Panel", "Ckt", "Breaker", "Poles",
    "Wire", "Circuit Length (ft)", "Disconnect", "Comm From", "Comm Wire", "Comm Length (ft)",
    "Routed With", "Tstat", "Tstat Wire", "Tstat Length (ft)",
]
OU_WIRE = '2#10 THHN, 1#10G, 3/4" EMT'
FC_WIRE = "14/2 NM-B w/G"


def wide(job, tag, description, model, room, panel="LP", ckt="", breaker="", wire="", length="",
         disconnect="", comm=("", "", ""), stat=("", ""), heat="", routed=""):
    name, capacity, supply, mca, mop, _, fla = model
    number, title, customer = job
    return [
        number, title, customer, tag, description, name, capacity, supply, mca, mop, fla, heat,
        room, panel if ckt else "", ckt, breaker, 2 if breaker else "", wire, length, disconnect,
        comm[0], comm[1], comm[2], routed or ("line set" if comm[0] else ""), stat[0],
        "18/2 STR" if stat[0] else "", stat[1],
    ]


def season():
    rows = [SEASON]
    chain = "18/2 STR UNSH"

    def outdoor(job, model, ckt, breaker, wire=OU_WIRE, **more):
        rows.append(wide(job, "OU-1", "Outdoor heat pump", model, "Side yard", ckt=ckt,
                         breaker=breaker, wire=wire, length=more.pop("length", 40),
                         disconnect="60A NF", **more))

    def indoor(job, n, model, room, comm, stat, ckt="2,4", breaker=15, **more):
        wired = bool(ckt)
        rows.append(wide(job, f"FC-{n}", "Fan coil, ducted", model, room, ckt=ckt,
                         breaker=breaker if wired else "", wire=FC_WIRE if wired else "",
                         length=60 if wired else "", disconnect="30A NF", comm=comm, stat=stat,
                         **more))

    # Alder Lane: right in all, 10 AWG behind 50 A on MCA 31.4.
    job = ("26-101", "Alder Lane 14", "Dwelling")
    outdoor(job, OU48, "1,3", 50)
    for n, (model, room) in enumerate(
            [(FC12, "Living room"), (FC12, "Kitchen"), (FC09, "Bedroom 1"), (FC09, "Bedroom 2")], 1):
        before = "OU-1" if n == 1 else f"FC-{n - 1}"
        indoor(job, n, model, room, (before, chain, 35 + 5 * n), (f"T-{n}", 30 + n))

    # Birch Row: outdoor breaker above MOP; one fan coil without a thermostat.
    job = ("26-102", "Birch Row 3", "Dwelling")
    outdoor(job, OU48, "1,3", 60)
    for n, (model, room) in enumerate([(FC18, "Great room"), (FC09, "Study"), (FC12, "Bedroom")], 1):
        before = "OU-1" if n == 1 else f"FC-{n - 1}"
        stat = (f"T-{n}", 40) if n != 3 else ("", "")
        indoor(job, n, model, room, (before, chain, 45), stat)

    # Cedar Court: a star, every fan coil pulled straight back to the outdoor unit.
    job = ("26-103", "Cedar Court 8", "Dwelling")
    outdoor(job, OU48, "1,3", 50)
    for n, (model, room) in enumerate(
            [(FC12, "Living room"), (FC12, "Dining room"), (FC09, "Bedroom 1"), (FC09, "Bedroom 2")], 1):
        indoor(job, n, model, room, ("OU-1", chain, 50 + 5 * n), (f"T-{n}", 35))

    # Dogwood Rise: twelve fan coils of MCA 1.4 A, 1.12 A full load, on one 15 A circuit.
    job = ("26-104", "Dogwood Rise 22", "Dwelling")
    outdoor(job, OU60, "1,3", 35)
    for n in range(1, 13):
        before = "OU-1" if n == 1 else f"FC-{n - 1}"
        indoor(job, n, FC06, f"Room {n}", (before, chain, 25), (f"T-{n}", 30))

    # Elm Bank: an air handler with strip heat on the fan coils' circuit.
    job = ("26-105", "Elm Bank 5", "Dwelling")
    outdoor(job, OU48, "1,3", 50)
    rows.append(wide(job, "AH-1", "Air handler with strip heat", AH24, "Attic", ckt="2,4",
                     breaker=30, wire="10/2 NM-B w/G", length=55, disconnect="60A NF",
                     comm=("OU-1", chain, 60), stat=("T-3", 50), heat="5 kW @ 240 V"))
    for n, (model, room) in enumerate([(FC09, "Studio"), (FC09, "Guest room")], 1):
        before = "AH-1" if n == 1 else "FC-1"
        row = wide(job, f"FC-{n}", "Fan coil, wall", model, room, ckt="2,4", breaker=30,
                   wire="10/2 NM-B w/G", length=55, disconnect="30A NF",
                   comm=(before, chain, 40), stat=(f"T-{n}", 30))
        rows.append(row)

    # Fern Close: the bid takes it that the outdoor unit feeds the indoor units.
    job = ("26-106", "Fern Close 9", "Dwelling")
    outdoor(job, OU36, "1,3", 35)
    for n, (model, room) in enumerate([(FC12, "Living room"), (FC12, "Bedroom"), (FC09, "Office")], 1):
        before = "OU-1" if n == 1 else f"FC-{n - 1}"
        indoor(job, n, model, room, (before, chain, 40), (f"T-{n}", 25), ckt="")

    text(ROOT / "season-2026/season-bids.csv", rows)


# ------------------------------------------------------------ folder of CSVs
def foxglove():
    folder = ROOT / "season-2026/foxglove-house"
    options = dict(delimiter=";", encoding="cp1252")
    text(folder / "job.csv", [
        ["Job", "Foxglove House"], ["Job number", "26-110"], ["Customer type", "Dwelling"],
        ["Supply", "120/240V 1PH 3W"], ["Code edition", "2020"],
        ["Submitted by", "Estimating, Café Row office"], ["Revision", "0"], ["Date", "2026-02-11"],
    ], **options)
    units = [("OU-1", "Outdoor unit", OU60, "Stable yard"), ("FC-1", "Fan coil", FC18, "Hall"),
             ("FC-2", "Fan coil", FC18, "Library"), ("FC-3", "Fan coil", FC12, "Gallery"),
             ("FC-4", "Fan coil", FC12, "Gate lodge")]
    comma = lambda value: str(value).replace(".", ",")
    text(folder / "equipment.csv", [
        ["Tag", "Type", "Model", "Cooling capacity [MBH]", "Volts", "Ph", "Min. Circuit Amps",
         "Max. Fuse Size", "RLA", "FLA", "Room served", "Disconnect"],
        *[[tag, kind, m[0], m[1], "208/230", 1, comma(m[3]), m[4], comma(m[5]), comma(m[6]), room,
           "60A NF" if tag == "OU-1" else "30A NF"] for tag, kind, m, room in units],
    ], **options)
    text(folder / "circuits.csv", [
        ["Panel", "Circuit", "Load served", "Bkr", "Poles", "Conductors", "One-way ft"],
        ["MP", "1,3", "OU-1", 25, 2, OU_WIRE, 65],
        ["MP", "5,7", "FC-1, FC-2, FC-3 & FC-4", 15, 2, "14/2 NM-B w/G", 180],
    ], **options)
    text(folder / "wire-runs.csv", [
        ["From", "To", "Purpose", "Wire", "Length (m)", "Routed with"],
        ["OU-1", "FC-1", "bus", "18/2 stranded unshielded", "410,5", "line set"],
        ["FC-1", "FC-2", "bus", "18/2 solid", "385", "line set"],
        ["FC-2", "FC-3", "bus", "18/2 stranded unshielded", "505", "line set"],
        ["FC-3", "FC-4", "bus", "18/2 stranded unshielded", "560", "line set"],
        ["T-1", "FC-1", "thermostat", "18/2 stranded", "12", ""],
        ["T-2", "FC-2", "thermostat", "18/2 stranded", "14", ""],
        ["T-3", "FC-3", "thermostat", "18/2 stranded", "16", ""],
        ["T-4", "FC-4", "thermostat", "18/2 stranded", "510", ""],
    ], **options)
    text(folder / "thermostats.csv", [
        ["Thermostat", "Room", "Controls"], ["T-1", "Hall", "FC-1"], ["T-2", "Library", "FC-2"],
        ["T-3", "Gallery", "FC-3"], ["T-4", "Gate lodge", "FC-4"],
    ], **options)


# --------------------------------------------------------------- workbooks
HEAD = PatternFill("solid", fgColor="FFE4E0D8")
THIN = Side(style="thin", color="FF888888")


def sheet(book, title, heading, rows, at=(1, 1), widths=None):
    page = book.create_sheet(title)
    top, left = at
    for column, name in enumerate(heading):
        cell = page.cell(top, left + column, name)
        cell.font = Font(bold=True)
        cell.fill = HEAD
        cell.alignment = Alignment(wrap_text=True, vertical="center")
        cell.border = Border(bottom=THIN)
        width = max([len(str(name)), *[len(str(row[column])) for row in rows if column < len(row)]])
        page.column_dimensions[get_column_letter(left + column)].width = min(38, width + 3)
    for number, row in enumerate(rows, 1):
        for column, value in enumerate(row):
            if value != "":
                page.cell(top + number, left + column, value)
    return page


def new_book():
    book = openpyxl.Workbook()
    book.remove(book.active)
    return book


def garnet():
    """One sheet a table; 40 A breaker with 35 A fuses; a bus that closes on itself."""
    book = new_book()
    sheet(book, "Job", ["Item", "Value"], [
        ["Job name", "Garnet Terrace"], ["Job number", "26-111"], ["Customer type", "Dwelling"],
        ["Supply", "208Y/120V 3PH 4W"], ["Submitted by", "Estimating"], ["Revision", 1],
        ["Date", datetime.date(2026, 2, 20)]])
    units = [("OU-1", "Outdoor unit", OU60, "Roof", "60A/35F"), ("FC-1", "Fan coil", FC18, "Front room", "30A NF"),
             ("FC-2", "Fan coil", FC18, "Back room", "30A NF"), ("FC-3", "Fan coil", FC12, "Landing", "30A NF")]
    sheet(book, "Equipment", ["Tag", "Type", "Model", "Capacity (MBH)", "V/PH/HZ", "MCA", "MOP",
                              "RLA", "FLA", "Serves", "Disconnect"],
          [[tag, kind, m[0], m[1], m[2], m[3], m[4], m[5], m[6], room, disc]
           for tag, kind, m, room, disc in units])
    sheet(book, "Circuits", ["Panel", "Slots", "Loads", "Breaker", "Conductor", "Length (ft)"], [
        ["LP-A", "1,3", "OU-1", "40A/2P", '2#8 THHN, 1#10G, 3/4" EMT', 70],
        ["LP-A", "2,4", "FC-1, FC-2, FC-3", "15A/2P", "14/2 MC", 80]])
    sheet(book, "Panels", ["Panel", "System", "Main", "Bus"], [["LP-A", "208Y/120V 3PH 4W", 150, 200]])
    sheet(book, "Wire runs", ["From", "To", "Use", "Wire", "Length (ft)", "Shield grounded at"], [
        ["OU-1", "FC-1", "Communication", "18/2 STR UNSH", "45'-6\"", ""],
        ["FC-1", "FC-2", "Communication", "18/2 STR UNSH", "38'", ""],
        ["FC-2", "FC-3", "Communication", "18/2 STR UNSH", "22 ft", ""],
        ["FC-3", "FC-1", "Communication", "18/2 STR UNSH", "40", ""],
        ["T-1", "FC-1", "Thermostat", "18/2 STR", "30", ""],
        ["T-2", "FC-2", "Thermostat", "18/2 STR", "30", ""],
        ["T-3", "FC-3", "Thermostat", "18/2 STR", "30", ""]])
    sheet(book, "Thermostats", ["T-stat", "Location", "Unit"], [
        ["T-1", "Front room", "FC-1"], ["T-2", "Back room", "FC-2"], ["T-3", "Landing", "FC-3"]])
    save(book, ROOT / "season-2026/garnet-terrace.xlsx")


BANDS = [("", ["MARK", "SERVES", "TYPE", "MODEL", "COOLING MBH"]),
         ("ELECTRICAL", ["V/PH/HZ", "MCA", "MOCP", "FLA"]),
         ("BRANCH CIRCUIT", ["PANEL", "CKT", "BREAKER", "WIRE", "LENGTH (FT)", "DISCONNECT"]),
         ("COMM WIRING", ["FROM", "WIRE", "LENGTH (FT)"]),
         ("THERMOSTAT", ["TAG", "WIRE", "LENGTH (FT)"])]


def titled(path, title, form, rows):
    """A drawing-like sheet: titles, a form block, two-row headings with merged bands."""
    book = new_book()
    page = book.create_sheet("M-601 SCHEDULE")
    width = sum(len(names) for _, names in BANDS)
    page.cell(1, 1, title).font = Font(bold=True, size=14)
    page.merge_cells(start_row=1, start_column=1, end_row=1, end_column=width)
    page.cell(2, 1, "HEAT PUMP EQUIPMENT, BRANCH CIRCUIT AND CONTROL WIRING SCHEDULE")
    page.merge_cells(start_row=2, start_column=1, end_row=2, end_column=width)
    row = 4
    for label, value in form:
        page.cell(row, 1, label).font = Font(italic=True)
        page.cell(row, 3, value)
        row += 1
    row += 1
    column = 1
    for band, names in BANDS:
        if band:
            page.cell(row, column, band)
            page.merge_cells(start_row=row, start_column=column, end_row=row,
                             end_column=column + len(names) - 1)
        for offset, name in enumerate(names):
            if band:
                page.cell(row + 1, column + offset, name)
            else:
                page.cell(row, column + offset, name)
                page.merge_cells(start_row=row, start_column=column + offset, end_row=row + 1,
                                 end_column=column + offset)
        column += len(names)
    for line in page.iter_rows(min_row=row, max_row=row + 1, max_col=width):
        for cell in line:
            cell.font = Font(bold=True)
            cell.fill = HEAD
            cell.alignment = Alignment(horizontal="center", vertical="center", wrap_text=True)
    for number, values in enumerate(rows, row + 2):
        for offset, value in enumerate(values, 1):
            if value != "":
                page.cell(number, offset, value)
    page.cell(row + 3 + len(rows), 1, "NOTES:")
    page.cell(row + 4 + len(rows), 1, "1. PROVIDE DISCONNECT AT EACH UNIT.")
    page.cell(row + 5 + len(rows), 1, "2. ALL CONDUCTORS COPPER.")
    for index in range(1, width + 1):
        page.column_dimensions[get_column_letter(index)].width = 13
    save(book, path)


def titled_row(tag, serves, kind, model, circuit, comm, stat, supply=None):
    return [tag, serves, kind, model[0], model[1], supply or model[2], model[3], model[4], model[6],
            *circuit, *comm, *stat]


def hawthorn():
    """Commercial: a three-phase outdoor unit on a 2-pole breaker, shared fan coils."""
    shared = ["LP1", "8,10", "15A/2P", "2#14 THHN, 1#14G, 1/2\" EMT", 90, "30A NF"]
    titled(ROOT / "submittals/northgate/hawthorn-dental rev 1.xlsx", "HAWTHORN DENTAL CLINIC",
           [("PROJECT NAME:", "Hawthorn Dental"), ("PROJECT NO.:", "NG-2201"),
            ("CUSTOMER TYPE:", "Commercial"), ("SYSTEM VOLTAGE:", "208Y/120V 3PH 4W"),
            ("SUBMITTED BY:", "Northgate Comfort"), ("REVISION:", 1), ("DATE:", "2026-03-02")],
           [titled_row("CU-1", "ROOF", "CONDENSING UNIT", OU96,
                       ["LP1", "2,4", "60A/2P", '3#8 THHN, 1#10G, 1" EMT', 85, "60A NF"],
                       ["", "", ""], ["", "", ""]),
            titled_row("FCU-1", "WAITING ROOM", "FAN COIL UNIT", FC18, shared,
                       ["CU-1", "18/2 STR UNSH", 95], ["TS-1", "18/2 STR", 40]),
            titled_row("FCU-2", "SURGERY 1", "FAN COIL UNIT", FC18, shared,
                       ["FCU-1", "18/2 STR UNSH", 35], ["TS-2", "18/2 STR", 35]),
            titled_row("FCU-3", "SURGERY 2", "FAN COIL UNIT", FC18, shared,
                       ["FCU-2", "18/2 STR UNSH", 30], ["TS-3", "18/2 STR", 35]),
            titled_row("FCU-4", "STERILE", "FAN COIL UNIT", FC12, shared,
                       ["FCU-3", "18/2 STR UNSH", 25], ["TS-4", "18/2 STR", 30]),
            titled_row("FCU-5", "STAFF", "FAN COIL UNIT", FC12, shared,
                       ["FCU-4", "18/2 STR UNSH", 40], ["TS-5", "18/2 STR", 30])])


def ivy():
    """Right in all; a single-phase outdoor unit on two poles of a 208Y/120 panel."""
    shared = ["LP", "5,7", "15A/2P", "14/2 MC", 55, "30A NF"]
    titled(ROOT / "submittals/northgate/ivy-cottage.xlsx", "IVY COTTAGE",
           [("PROJECT NAME:", "Ivy Cottage"), ("PROJECT NO.:", "NG-2202"),
            ("CUSTOMER TYPE:", "Dwelling"), ("SYSTEM VOLTAGE:", "208Y/120V 3PH 4W"),
            ("SUBMITTED BY:", "Northgate Comfort"), ("REVISION:", 0), ("DATE:", "2026-03-04")],
           [titled_row("CU-1", "GARDEN", "CONDENSING UNIT", OU36,
                       ["LP", "1,3", "35A/2P", OU_WIRE, 45, "60A NF"], ["", "", ""], ["", "", ""]),
            titled_row("FCU-1", "LIVING", "FAN COIL UNIT", FC18, shared,
                       ["CU-1", "18/2 STR UNSH", 55], ["TS-1", "18/2 STR", 30]),
            titled_row("FCU-2", "BEDROOM", "FAN COIL UNIT", FC12, shared,
                       ["FCU-1", "18/2 STR UNSH", 30], ["TS-2", "18/2 STR", 25])])


# ------------------------------------------------- folder of tab-separated text
def juniper():
    folder = ROOT / "submittals/bell-and-rowe/juniper-lodge"
    options = dict(delimiter="\t", encoding="utf-16")
    text(folder / "equipment.txt", [
        ["JUNIPER LODGE - EQUIPMENT"], ["Project", "Juniper Lodge"], ["Job No.", "BR-118"], ["Customer type", "Dwelling"],
        ["Submitted by", "Bell & Rowe Heating"], [],
        ["Unit No.", "Type", "Model", "MBH", "Voltage", "MCA/MOP", "FLA", "Room", "Disc.", "Float switch"],
        ["OU-1", "outdoor", OU48[0], 48, "208/230-1-60", "31.4/50", 1.4, "Yard", "60A NF", ""],
        ["FC-1", "ducted indoor", FC12[0], 12, "208/230-1-60", "0.8/15", 0.64, "Parlour", "30A NF",
         "on external stop contact"],
        ["FC-2", "ducted indoor", FC12[0], 12, "208/230-1-60", "0.8/15", 0.64, "Kitchen", "30A NF", ""],
        ["FC-3", "wall indoor", FC09[0], 9, "208/230-1-60", "0.6/15", 0.48, "Loft", "30A NF", ""],
    ], **options)
    text(folder / "circuits.txt", [
        ["Panel/Ckt", "Serves", "Bkr", "Cable", "LF"],
        ["LP-1,3", "OU-1", "50A 2-POLE", OU_WIRE, 50],
        ["LP-2,4", "FC-1 thru FC-3", "15A 2-POLE", "14/2 MC", 75],
        ["LP-5", "Lights, upstairs", "15A 1P", "14/2 NM-B w/G", 40],
    ], **options)
    text(folder / "wire runs.txt", [
        ["From", "To", "Purpose", "Cable", "Feet", "Splices"],
        ["OU-1", "FC-1", "Comm", "18/2 STR UNSH", 50, 0],
        ["FC-1", "FC-2", "Comm", "18/2 STR UNSH", 30, 1],
        ["FC-2", "FC-33", "Comm", "18/2 STR UNSH", 45, 0],
        ["T-1", "FC-1", "Tstat", "18/2 STR", 25, 0],
        ["T-1", "FC-2", "Tstat", "18/2 STR", 35, 0],
        ["T-3", "FC-3", "Tstat", "18/2 STR", 35, 0],
    ], **options)
    text(folder / "controllers.txt", [
        ["Stat", "Room", "Unit"], ["T-1", "Parlour", "FC-1, FC-2"], ["T-3", "Loft", "FC-3"],
        ["T-4", "Cellar", ""],
    ], **options)


# ----------------------------------------------------- two-sided panel schedule
def kestrel():
    """Panel schedule, odd left and even right, with the building's other loads."""
    book = new_book()
    sheet(book, "Equipment", ["Tag", "Type", "Model", "Capacity MBH", "V/PH/HZ", "MCA", "MOCP", "FLA",
                              "Space", "Disc."],
          [["HP-1", "Outdoor heat pump", OU48[0], 48, OU48[2], 31.4, 50, 1.4, "Roof", "60A NF"],
           ["FC-1", "Fan coil", FC12[0], 12, FC12[2], 0.8, 15, 0.64, "Loft 1", "30A NF"],
           ["FC-2", "Fan coil", FC12[0], 12, FC12[2], 0.8, 15, 0.64, "Loft 2", "30A NF"],
           ["FC-3", "Fan coil", FC18[0], 18, FC18[2], 1.4, 15, 1.12, "Loft 3", "30A NF"]])
    page = book.create_sheet("Panel LP-2")
    page["A1"] = "PANEL SCHEDULE"
    page["A1"].font = Font(bold=True, size=13)
    for label, value, spot in [("PANEL:", "LP-2", 2), ("VOLTAGE:", "208Y/120V 3PH 4W", 3), ("MAIN:", "125A", 4)]:
        page.cell(spot, 1, label)
        page.cell(spot, 2, value)
    heading = ["CKT", "LOAD", "BKR", "P", "WIRE", "", "WIRE", "P", "BKR", "LOAD", "CKT"]
    for column, name in enumerate(heading, 1):
        cell = page.cell(6, column, name or None)
        cell.font = Font(bold=True)
        cell.fill = HEAD
    left = [(1, "HP-1", 55, 2, '2#8 THHN, 1#10G, 3/4" EMT'), (3, "", "", "", ""),
            (5, "RANGE", 40, 2, "8/3 NM-B w/G"), (7, "", "", "", ""),
            (9, "LTG LOFT 1", 15, 1, "14/2 NM-B w/G"), (11, "SPARE", 20, 1, "")]
    right = [(2, "FC-1, FC-2, FC-3", 15, 2, datetime.date(2026, 10, 2)), (4, "", "", "", ""),
             (6, "RECEPTACLES", 20, 1, "12/2 NM-B w/G"), (8, "EF-1", 15, 1, "14/2 NM-B w/G"),
             (10, "SPACE", "", "", ""), (12, "SPACE", "", "", "")]
    for number, (l, r) in enumerate(zip(left, right), 7):
        values = [*l, "", r[4], r[3], r[2], r[1], r[0]]
        for column, value in enumerate(values, 1):
            if value != "":
                cell = page.cell(number, column, value)
                if isinstance(value, datetime.date):
                    cell.number_format = "d-mmm"
    page.column_dimensions["B"].width = 20
    page.column_dimensions["E"].width = 26
    page.column_dimensions["G"].width = 18
    page.column_dimensions["J"].width = 20
    sheet(book, "Low voltage", ["From", "To", "Purpose", "Gauge", "Conductors", "Strand", "Shield", "Length (ft)"], [
        ["HP-1", "FC-1", "Bus", 18, 2, "Stranded", "No", 60],
        ["FC-1", "FC-2", "Bus", 18, 2, "Stranded", "No", 45],
        ["FC-2", "FC-3", "Bus", 18, 2, "Stranded", "No", "TBD"],
        ["T-1", "FC-1", "Controller", 18, 2, "Stranded", "No", 25],
        ["T-2", "FC-2", "Controller", 18, 2, "Stranded", "No", 25],
        ["T-3", "FC-3", "Controller", 18, 2, "Stranded", "No", 25]])
    sheet(book, "Controllers", ["Controller", "Room", "Unit"], [
        ["T-1", "Loft 1", "FC-1"], ["T-2", "Loft 2", "FC-2"], ["T-3", "Loft 3", "FC-3"]])
    sheet(book, "Cover", ["Job", "Kestrel Lofts"], [
        ["Job number", "BR-121"], ["Customer type", "Dwelling"], ["Submitted by", "Bell & Rowe Heating"]])
    save(book, ROOT / "submittals/bell-and-rowe/kestrel-lofts.xlsx")


# -------------------------------------------------- several tables on one sheet
def larch():
    book = new_book()
    page = book.create_sheet("Schedule")
    lines = [
        ["LARCH MEWS"],
        ["Project", "Larch Mews"], ["Job No.", "BR-125"], ["Customer type", "Dwelling"], ["Submitted by", "Bell & Rowe Heating"],
        ["Pressure test", "2026-04-20"], ["System charge", "2026-04-22"], ["Power on", "2026-04-17"],
        [],
        ["EQUIPMENT"],
        ["Tag", "Type", "Model", "MBH", "V/PH/HZ", "MCA", "MOP", "FLA", "Room", "Disconnect"],
        ["OU-1", "Outdoor unit", OU48[0], 48, OU48[2], 31.4, 50, 1.4, "Mews", "60A NF"],
        ["FC-1", "Fan coil", FC12[0], 12, FC12[2], 0.8, 15, 0.64, "Den", "30A NF"],
        ["FC-2", "Fan coil", FC12[0], 12, FC12[2], 0.8, 15, 0.64, "Snug", "30A NF"],
        ["FC-3", "Fan coil", FC12[0], 12, FC12[2], 0.8, 15, 0.64, "Nook", "30A NF"],
        [],
        ["BRANCH CIRCUITS"],
        ["Panel", "Ckt #", "Load", "Breaker", "Wire Size", "Length (ft)"],
        ["LP", "1,3", "OU-1", "50/2", OU_WIRE, 45],
        ["LP", "2,4", "FC-1, FC-2, FC-3", "15/2", "14/2 MC", 60],
        [],
        ["LOW VOLTAGE"],
        ["From", "To", "Purpose", "Terminals", "Wire", "Length (ft)", "Routed with", "Shield grounded"],
        ["OU-1", "FC-1", "Bus", "central side", "18/2 STP stranded", 40, "parallel", "outdoor end"],
        ["FC-1", "FC-2", "Bus", "", "18/2 STR UNSH", 35, "parallel", ""],
        ["FC-2", "FC-3", "Bus", "", "18/2 STP stranded", 35, "same raceway", ""],
        ["T-1", "FC-1", "Thermostat", "", "18/2 STR", 20, "", ""],
        ["T-2", "FC-2", "Thermostat", "", "18/2 STR", 20, "", ""],
        ["T-3", "FC-3", "Thermostat", "", "18/2 STR", 20, "", ""],
        [],
        ["THERMOSTATS"],
        ["Tstat", "Room", "Unit"],
        ["T-1", "Den", "FC-1"], ["T-2", "Snug", "FC-2"], ["T-3", "Den", "FC-3"],
    ]
    for number, line in enumerate(lines, 1):
        for column, value in enumerate(line, 1):
            page.cell(number, column, value if value != "" else None)
    for index, width in enumerate([16, 14, 20, 14, 24, 12, 14, 16, 12, 12], 1):
        page.column_dimensions[get_column_letter(index)].width = width
    save(book, ROOT / "submittals/bell-and-rowe/larch-mews.xlsx")


# ----------------------------------------------------- equipment alone, messy
def maple():
    text(ROOT / "submittals/vale-air/maple-rise.csv", [
        ["HEAT PUMP SCHEDULE"],
        ["Project:", "Maple Rise"], ["Job number:", "VA-07"], ["Submitted by:", "Vale Air"], [],
        ["Item", "Description", "Model No.", "Min Ckt Amps", "Max Fuse", "Power Supply", "Cooling Tons", "Remarks"],
        ["HP-1", "Heat pump, outdoor", OU48[0], "31.4 A", "50 A", "208/230V-1Ø-60", 4, "see note 2"],
        ["FC-1", "Fan coil", FC12[0], "15", "0.8", "208/230V-1Ø-60", 1, "nameplate to be checked"],
        ["FC-2", "Fan coil", FC12[0], "0.8", "fifteen", "208/230V-1Ø-60", 1, ""],
        ["FC-2", "Fan coil", FC18[0], "1.4", "15", "208/230V-1Ø-60", 1.5, ""],
        ["X-9", "", "DEMO-X-1", "TBD", "TBD", "", "", "by others"],
        ["Total", "", "", "", "", "", 7.5, ""],
    ], encoding="utf-8-sig")


def nutmeg():
    """Strip heat and conductors."""
    book = new_book()
    sheet(book, "Job info", ["Job", "Nutmeg House"], [
        ["Job No.", "VA-09"], ["Customer type", "Dwelling"], ["Supply", "120/240V 1PH 3W"],
        ["Submitted by", "Vale Air"], ["Date", datetime.date(2026, 5, 6)]])
    sheet(book, "Units", ["Tag", "Type", "Model", "MBH", "V/PH/HZ", "MCA", "MOP", "FLA", "Heater kW",
                          "Heater Volts", "Room", "Disconnect"], [
        ["OU-1", "Outdoor unit", OU60[0], 60, OU60[2], 27.9, 35, 1.4, "", "", "North wall", "60A NF"],
        ["AH-1", "Air handler", AH24[0], 24, AH24[2], "", "", 3, 5, 240, "Attic", "60A NF"],
        ["AH-2", "Air handler", AH24[0], 24, AH24[2], 29.8, 30, 3, 5, 240, "Basement", "60A NF"],
        ["FC-1", "Fan coil", FC09[0], 9, FC09[2], 0.6, 15, 0.48, "", "", "Porch", "30A NF"]])
    sheet(book, "Branch circuits", ["Panel", "Slots", "Serves", "Breaker", "Wire", "Length (ft)"], [
        ["MP", "1,3", "OU-1, FC-1", "35A/2P", '2#12 THHN, 1#12G, 3/4" EMT', 60],
        ["MP", "2,4", "AH-1", "25A/2P", "10/2 NM-B w/G", 45],
        ["MP", "6,8", "AH-2", "30A/2P", "12/2 NM-B w/G", 50]])
    sheet(book, "Comm", ["From", "To", "Purpose", "Wire", "Length (ft)"], [
        ["OU-1", "AH-1", "Bus", "18/2 STR UNSH", 50], ["AH-1", "AH-2", "Bus", "18/2 STR UNSH", 40],
        ["AH-2", "FC-1", "Bus", "18/2 STR UNSH", 30], ["T-1", "AH-1", "Thermostat", "18/2 STR", 30],
        ["T-2", "AH-2", "Thermostat", "18/2 STR", 30], ["T-3", "FC-1", "Thermostat", "18/2 STR", 30]])
    sheet(book, "Tstats", ["Tstat", "Room", "Unit"], [
        ["T-1", "Attic", "AH-1"], ["T-2", "Basement", "AH-2"], ["T-3", "Porch", "FC-1"]])
    save(book, ROOT / "submittals/vale-air/nutmeg-house.xlsx")


# ------------------------------------------------------------ the apartments
def oakfield():
    """24 apartments of one plan, each with its own OU-1, FC-1, FC-2 and panel LP."""
    doors = [f"{floor}{letter}" for floor in (1, 2, 3, 4, 5, 6) for letter in "ABCD"]
    book = new_book()
    sheet(book, "Cover", ["Job", "Oakfield Court"], [
        ["Job number", "OC-24"], ["Customer type", "Multifamily"], ["Supply", "120/240V 1PH 3W"],
        ["Submitted by", "Marsh Lane Engineers"], ["Revision", "B"], ["Date", "2026-06-01"]])
    equipment, circuits, runs, stats, panels = [], [], [], [], []
    for door in doors:
        for tag, kind, m, room, disc in [
                ("OU-1", "Outdoor unit", OU36, "Balcony", "60A NF"),
                ("FC-1", "Fan coil", FC18, "Living", "30A NF"), ("FC-2", "Fan coil", FC12, "Bedroom", "30A NF")]:
            equipment.append([door, "Plan 2", tag, kind, m[0], m[1], m[2], m[3], m[4], m[6], room, disc])
        outdoor = 40 if door == "3B" else 35
        shared = 20 if door == "5D" else 15
        circuits.append([door, "LP", "1,3", "OU-1", f"{outdoor}A/2P", OU_WIRE, 40])
        circuits.append([door, "LP", "2,4", "FC-1, FC-2", f"{shared}A/2P",
                         "12/2 NM-B w/G" if shared == 20 else "14/2 NM-B w/G", 35])
        runs.append([door, "OU-1", "FC-1", "Bus", "18/2 STR UNSH", 30])
        runs.append([door, "FC-1" if door != "2A" else "OU-1", "FC-2", "Bus", "18/2 STR UNSH", 25])
        runs.append([door, "T-1", "FC-1", "Thermostat", "18/2 STR", 15])
        if door != "4C":
            runs.append([door, "T-2", "FC-2", "Thermostat", "18/2 STR", 20])
        stats.append([door, "T-1", "Living", "FC-1"])
        if door != "4C":
            stats.append([door, "T-2", "Bedroom", "FC-2"])
        panels.append([door, "LP", "120/240V 1PH 3W", "100A", "125A", "MDP"])
    sheet(book, "Equipment", ["Unit", "Apartment Type", "Mark", "Type", "Model", "Cooling (MBH)",
                              "V/PH/HZ", "MCA", "MOCP", "FLA", "Room", "Disc."], equipment, at=(3, 1))
    book["Equipment"]["A1"] = "EQUIPMENT SCHEDULE, TYPICAL APARTMENTS"
    sheet(book, "Circuits", ["Apt", "Panel", "Ckt", "Load", "Breaker", "Wire", "Length (ft)"], circuits)
    sheet(book, "Panels", ["Apt", "Panel", "System Voltage", "Main", "Bus Rating", "Fed From"], panels)
    sheet(book, "Wire runs", ["Apt", "From", "To", "Purpose", "Wire", "Length (ft)"], runs)
    sheet(book, "Thermostats", ["Apt", "Thermostat", "Room", "Unit Controlled"], stats)
    save(book, ROOT / "building/oakfield-court.xlsx")


if __name__ == "__main__":
    for make in [season, foxglove, garnet, hawthorn, ivy, juniper, kestrel, larch, maple, nutmeg, oakfield]:
        make()
