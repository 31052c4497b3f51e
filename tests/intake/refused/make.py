"""What is no schedule. Run in this folder. All data are invented."""

import io
import struct
import sys
import zipfile

sys.path.insert(0, "..")
from making import book, raw, text

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
