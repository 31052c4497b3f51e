"""What is no schedule. Run in this folder. All data are invented."""

import io
import struct
import sys
import zipfile

sys.path.insert(0, "..")
from making import N, book, raw, text

raw("pdf_renamed.csv", b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n")
raw(
    "mail_renamed.csv",
    b"From: a@b.example\r\nTo: c@d.example\r\nSubject: schedules\r\n"
    b"Message-ID: <1@b.example>\r\nMIME-Version: 1.0\r\n\r\nSee attached.\r\n",
)
raw("~$lock.xlsx", b"\x05user")
raw(".~lock.job.xlsx#", b",user,host,02.03.2026 10:00,file:///;")
raw("empty.csv", b"")
raw("picture_renamed.xlsx", b"\x89PNG\r\n\x1a\n" + b"\0\0\0\rIHDR" + bytes(17))

archive = io.BytesIO()
with zipfile.ZipFile(archive, "w") as file:
    file.writestr(zipfile.ZipInfo("photos/one.jpg"), b"\xff\xd8\xff\xe0")
raw("archive_renamed.xlsx", archive.getvalue())

book("whole.xlsx", {"Units": [["Tag", "MCA", "MOP"], ["OU-1", 28.4, 45]]})
with open("whole.xlsx", "rb") as file:
    whole = file.read()
raw("corrupt.xlsx", whole[: len(whole) // 2])
import os

os.remove("whole.xlsx")


def compound(streams):
    """A compound file ([MS-CFB]) with small streams in its directory."""
    names = ["Root Entry", *streams]
    free, end = 0xFFFFFFFF, 0xFFFFFFFE
    header = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16)
    header += struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + bytes(6)
    header += struct.pack("<IIIIIIIII", 0, 1, 1, 0, 4096, end, 0, end, 0)
    header += struct.pack("<I", 0) + struct.pack("<I", free) * 108
    fat = struct.pack("<III", 0xFFFFFFFD, end, end) + struct.pack("<I", free) * 125
    directory = b""
    for at, name in enumerate(names):
        wide = name.encode("utf-16le")
        entry = wide.ljust(64, b"\0") + struct.pack("<H", len(wide) + 2)
        entry += struct.pack("<BB", 5 if at == 0 else 2, 1)
        child = 1 if at == 0 else free
        right = at + 1 if 0 < at < len(names) - 1 else free
        entry += struct.pack("<III", free, right, child) + bytes(16 + 4 + 8 + 8)
        entry += struct.pack("<IQ", end, 0)
        directory += entry
    return header + fat + directory.ljust(512, b"\0")


raw("encrypted.xlsx", compound(["EncryptionInfo", "EncryptedPackage"]))

book("register.xlsx", {"Register": [["Drawing", "Title", "Rev"], ["E-1", "Power", "A"], ["E-2", "Lighting", "A"]]})
book(
    "compatibility.xlsx",
    {
        "Compatibility": [
            ["Outdoor", "FC-09", "FC-12"],
            ["HP-24", "yes", "no"],
            ["HP-36", "yes", "yes"],
        ]
    },
)
# Tables of other trades that have columns in common with ours.
book(
    "other_trades.xlsx",
    {
        "Quote": [
            ["Line", "Qty", "Description", "Unit price", "Ext."],
            [1, 2, "Outdoor heat pump, 4 ton, 208/230V", 4120, 8240],
            [2, 7, "Wall unit 9k", 610, 4270],
        ],
        "Lighting": [
            ["Type", "Description", "Lamp", "Volts", "Watts", "Mounting"],
            ["A", "2x4 troffer", "LED", "120-277", 40, "recessed"],
            ["X", "exit", "LED", "120-277", 5, "wall"],
        ],
        "Doors": [
            ["Door No.", "Type", "Width", "Height", "Frame"],
            ["101", "A", "3'-0\"", "7'-0\"", "HM"],
            ["102", "A", "3'-0\"", "7'-0\"", "HM"],
        ],
        "Pumps": [
            ["Tag", "Service", "GPM", "Head ft", "HP", "V/PH", "RPM"],
            ["P-1", "HHW", 120, 45, 3, "208/3", 1750],
            ["P-2", "HHW", 120, 45, 3, "208/3", 1750],
        ],
        "Grilles": [
            ["Tag", "Neck", "Face", "CFM", "Type"],
            ["S-1", "8\"", "24x24", 200, "supply"],
            ["R-1", "10\"", "24x24", 400, "return"],
        ],
        "RFIs": [
            ["No.", "Date", "From", "To", "Subject", "Status"],
            ["1", "1/5/26", "Elec", "Mech", "Is OU-1 fed from LP?", "open"],
            ["2", "1/6/26", "Mech", "Elec", "bus cable", "closed"],
        ],
        "Refrigerant piping": [
            ["From", "To", "Liquid", "Gas", "Length (ft)"],
            ["OU-1", "BB-1", "3/8\"", "5/8\"", 45],
            ["BB-1", "FC-1", "1/4\"", "3/8\"", 30],
        ],
        "Contacts": [
            ["Company", "Name", "Phone", "Unit"],
            ["North Elec", "Jo", "555-0100", "12"],
            ["South Mech", "Al", "555-0101", "14"],
        ],
    },
)

# Lists whose headings are ours and whose rows are not.
book(
    "lists.xlsx",
    {
        "Parts": [
            ["Item", "Qty", "Description", "Part No.", "Unit price", "Total"],
            [1, 4, "Bracket", "BR-100", 2.5, 10],
            [2, 8, "Screw M6", "SC-6", 0.1, 0.8],
            [3, 1, "Cover", "CV-2", 7, 7],
        ],
        "Assets": [
            ["Asset Tag", "Category", "Model", "Serial No.", "Location", "Remarks"],
            ["IT-0001", "Laptop", "ZX 14", "S123", "Office 2", N],
            ["IT-0002", "Monitor", "V27", "S124", "Office 3", N],
            ["IT-0003", "Printer", "P2", "S125", "Hall", "toner"],
        ],
        "Orders": [
            ["Order #", "Customer", "Category", "Item Number", "QTY", "Tags"],
            ["4", "Ann", "Tire", "T55", 4, N],
            ["5", "Bob", "Tire", "T60", 2, N],
        ],
        "Values": [
            ["category", "group", "name", "value"],
            ["c1", "g1", "n1", 3],
            ["c1", "g2", "n2", 4],
            ["c2", "g1", "n3", 5],
        ],
        "Rates": [
            ["Destination", "Code", "Peak", "I/D", "Route", "Increment"],
            ["Peru", "51", 0.1, "I", "Premium", "60/60"],
            ["Chile", "56", 0.12, "I", "Direct", "60/1"],
            ["Cuba", "53", 0.8, "I", "Premium", "60/60"],
        ],
        "Vehicles": [
            ["Unit No.", "Type", "Make", "Model", "Year", "Capacity", "Location"],
            ["12", "Truck", "any", "T1", 2019, "3 tons", "Yard"],
            ["13", "Van", "any", "V2", 2020, "1 ton", "Yard"],
        ],
        "Breaker prices": [
            ["Item No.", "Description", "Amps", "Poles", "Price"],
            ["BR115", "Breaker 15A 1P", 15, 1, 8],
            ["BR220", "Breaker 20A 2P", 20, 2, 18],
        ],
        "Distances": [
            ["From", "To", "Distance (km)"],
            ["Leeds", "York", 40],
            ["York", "Hull", 60],
        ],
        "Service log": [
            ["Date", "Unit", "Type", "Location", "Technician", "Hours", "Remarks"],
            ["1/3/26", "AC-1", "Repair", "Roof", "Sam", 2, "replaced fan"],
            ["1/5/26", "AC-2", "PM", "Roof", "Sam", 1, "filters"],
        ],
        "Generator": [
            ["Date", "Run hours", "Volts", "Amps", "Hz", "Load kW", "Remarks"],
            ["1/3/26", 0.5, 208, 40, 60, 12, "ok"],
            ["2/3/26", 0.5, 208, 41, 60, 12, "ok"],
        ],
        "Kitchen": [
            ["Item No.", "Qty", "Description", "Volts", "Phase", "Amps", "kW", "Plug"],
            [1, 1, "Oven", 208, 3, 41, 15, "direct"],
            [2, 2, "Refrigerator", 115, 1, 6, N, "5-15P"],
        ],
        "Motors": [
            ["Tag", "Description", "HP", "Volts", "Phase", "FLA", "Starter"],
            ["M-101", "Conveyor", 5, 460, 3, 7.6, "FVNR"],
            ["M-102", "Mixer", 10, 460, 3, 14, "VFD"],
        ],
        "Air balance": [
            ["Unit", "Room", "Outlet No.", "Size", "Design CFM", "Actual CFM"],
            ["AH-1", "101", 1, "8x4", 120, 118],
            ["AH-1", "101", 2, "8x4", 120, 121],
        ],
        "Filters": [
            ["Unit", "Location", "Filter Size", "Qty", "Last changed"],
            ["AHU-1", "Mech", "20x20x2", 4, "3/1/26"],
            ["FC-3", "Closet", "14x20x1", 1, "3/1/26"],
        ],
        "In stock": [
            ["Thermostat", "Model", "Qty", "Location", "Price"],
            ["Stat A", "TS1", 5, "Shelf 1", 30],
            ["Stat B", "TS2", 7, "Shelf 2", 40],
        ],
    },
)
raw("early_workbook.xls", b"\x09\x04\x06\x00\x00\x00\x10\x00" + bytes(64))


