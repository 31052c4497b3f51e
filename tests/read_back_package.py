"""Reads a marked workbook and its original with openpyxl, which wrote neither
of our parts, and compares what is the author's.

    python3 read_back_package.py original marked [original marked ...]

Equal outside our columns: values, styles, widths, heights but for growth, merges,
validation, conditional formats and their order, notes, protection, print
set-up, frozen panes, filters, tables, charts, states of the sheets.
"""

import sys
import warnings

import openpyxl

warnings.simplefilter("ignore")
OURS = "ampledger"
faults = []


def rules(sheet):
    """Conditional formats but ours, in the order in which they win."""
    found = []
    for area in sheet.conditional_formatting:
        for rule in area.rules:
            if not any(OURS in str(f) for f in rule.formula):
                found.append((rule.priority, str(area.sqref), rule.type, tuple(rule.formula)))
    return [rule[1:] for rule in sorted(found)]


def formula(value):
    return (value.ref, value.text) if hasattr(value, "text") else value


def our_columns(sheet):
    return {
        cell.column
        for row in sheet.iter_rows()
        for cell in row
        if isinstance(cell.value, str) and cell.value.startswith(f"{OURS}: ")
    }


def look(cell):
    parts = (cell.font, cell.fill, cell.border, cell.alignment, cell.protection)
    return [repr(part) for part in parts] + [cell.number_format]


def compare(original, marked, where):
    def same(what, a, b):
        if a != b:
            faults.append(f"{where}: {what}: {a!r} became {b!r}")

    ours = our_columns(marked)
    for row in original.iter_rows():
        for cell in row:
            now = marked.cell(cell.row, cell.column)
            if cell.column in ours:
                if cell.value is not None:
                    faults.append(f"{where}: {cell.coordinate} lies in a column of ours")
                continue
            same(cell.coordinate, formula(cell.value), formula(now.value))
            if cell.has_style and look(cell) != look(now):
                faults.append(f"{where}: {cell.coordinate}: the look differs")
            if cell.comment is not None:
                same(f"note at {cell.coordinate}", cell.comment.text, now.comment and now.comment.text)
            if cell.hyperlink is not None:
                same(f"link at {cell.coordinate}", cell.hyperlink.location, now.hyperlink.location)
    for row in marked.iter_rows():
        for cell in row:
            if cell.column not in ours and original.cell(cell.row, cell.column).value is None:
                same(cell.coordinate, None, cell.value)
    for name, column in original.column_dimensions.items():
        if openpyxl.utils.column_index_from_string(name) not in ours:
            now = marked.column_dimensions[name]
            same(f"column {name}", (column.width, column.hidden), (now.width, now.hidden))
    for number, row in original.row_dimensions.items():
        same(f"row {number} hidden", row.hidden, marked.row_dimensions[number].hidden)
        # A row whose height its program chose may grow for our texts.
        now = marked.row_dimensions[number].height
        if row.height is not None and (now is None or now < row.height):
            faults.append(f"{where}: row {number}: {row.height} became {now}")
    same("merges", sorted(map(str, original.merged_cells.ranges)),
         sorted(map(str, marked.merged_cells.ranges)))
    same("validation", [(str(v.sqref), v.type, v.formula1) for v in original.data_validations.dataValidation],
         [(str(v.sqref), v.type, v.formula1) for v in marked.data_validations.dataValidation])
    same("conditional formats", rules(original), rules(marked))
    same("tables", original.tables.items(), marked.tables.items())
    same("state", original.sheet_state, marked.sheet_state)
    same("protection", (original.protection.sheet, original.protection.password),
         (marked.protection.sheet, marked.protection.password))
    same("print", (original.print_title_rows, original.page_setup.orientation),
         (marked.print_title_rows, marked.page_setup.orientation))
    if original.print_area:
        same("print area", original.print_area, marked.print_area)
    elif marked.print_area and ours:
        # Where there was none, one keeps our columns off the pages.
        last = openpyxl.utils.range_boundaries(marked.print_area.split("!")[-1])[2]
        if last >= min(ours):
            faults.append(f"{where}: our columns are in the printed area")
    same("panes", original.freeze_panes, marked.freeze_panes)
    same("filter", original.auto_filter.ref, marked.auto_filter.ref)
    same("charts", len(original._charts), len(marked._charts))


paths = sys.argv[1:]
for original_path, marked_path in zip(paths[::2], paths[1::2]):
    original = openpyxl.load_workbook(original_path)
    marked = openpyxl.load_workbook(marked_path)
    theirs = original.sheetnames
    if marked.sheetnames[: len(theirs)] != theirs:
        faults.append(f"{marked_path}: sheets {marked.sheetnames}")
    added = [marked[name] for name in marked.sheetnames[len(theirs):]]
    if not added or not all(str(sheet["A1"].value).startswith(f"{OURS}: ") for sheet in added):
        faults.append(f"{marked_path}: our sheets are not behind the author's")
    if any(sheet.sheet_view.tabSelected for sheet in marked.worksheets if sheet is not marked.active):
        faults.append(f"{marked_path}: sheets are selected together")
    for sheet in original.worksheets:
        compare(sheet, marked[sheet.title], f"{marked_path} {sheet.title}")
    for name, defined in original.defined_names.items():
        if marked.defined_names[name].attr_text != defined.attr_text:
            faults.append(f"{marked_path}: name {name}")
print("\n".join(faults) if faults else f"{len(paths) // 2} workbooks are the author's outside our columns")
sys.exit(1 if faults else 0)
