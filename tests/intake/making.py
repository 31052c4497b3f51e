"""What the makers of the files in these folders share. Needs openpyxl."""

import csv
import re
import zipfile
from datetime import datetime

import openpyxl

N = None
STAMP = datetime(2026, 3, 2)


def book(name, sheets, after=None):
    """A workbook of sheets, each a list of rows from its first cell on."""
    work = openpyxl.Workbook()
    work.remove(work.active)
    for title, rows in sheets.items():
        sheet = work.create_sheet(title)
        for row in rows:
            sheet.append(row)
    if after:
        after(work)
    work.properties.created = work.properties.modified = STAMP
    work.save(name)


def text(name, rows):
    """A file of comma-separated values in UTF-8."""
    with open(name, "w", newline="", encoding="utf-8") as out:
        csv.writer(out).writerows(rows)


def raw(name, content):
    """A file of these bytes."""
    with open(name, "wb") as out:
        out.write(content)


def calculated(name, values):
    """Gives formulas the values that a spreadsheet program would keep beside
    them: by the name of the sheet's part and the cell, a type and a value."""
    with zipfile.ZipFile(name) as file:
        parts = [(info, file.read(info.filename)) for info in file.infolist()]
    with zipfile.ZipFile(name, "w", zipfile.ZIP_DEFLATED) as out:
        for info, content in parts:
            for (part, cell), (kind, value) in values.items():
                if info.filename == f"xl/worksheets/{part}.xml":
                    pattern = rf'<c r="{cell}"([^>]*?)(?: t="\w+")?><f>(.*?)</f><v\s*/?>(?:</v>)?</c>'
                    new = rf'<c r="{cell}"\1 t="{kind}"><f>\2</f><v>{value}</v></c>'
                    content, count = re.subn(pattern, new, content.decode(), count=1)
                    assert count == 1, (name, part, cell)
                    content = content.encode()
            out.writestr(info, content)
