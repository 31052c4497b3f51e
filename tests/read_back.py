"""Reads an audit folder back with openpyxl, which did not write it, and holds
the workbooks against findings.csv, and the JSON against its schemas."""

import csv
import json
import pathlib
import sys

import openpyxl

folder = pathlib.Path(sys.argv[1])
findings = list(csv.DictReader((folder / "findings.csv").open(encoding="utf-8", newline="")))
jobs = list(csv.DictReader((folder / "jobs.csv").open(encoding="utf-8", newline="")))
assert jobs, "no jobs"
faults = []


def ids(sheet):
    header = None
    found = []
    for row in sheet.iter_rows(values_only=True):
        if header is None:
            names = [str(cell or "").strip().lower() for cell in row]
            if "id" in names and "rule" in names:
                header = names
            continue
        value = row[header.index("id")]
        # The row of a group says how many findings stand in the rows below it.
        if value and not str(value).startswith("group:") and not str(value).endswith(" below"):
            found.append(str(value))
    return found


# Rules across jobs: their findings stand in the outputs of the batch alone.
ACROSS = {"model-disagrees", "job-submitted-twice"}

by_job = {}
for job in jobs:
    if not job["workbook"]:
        continue
    path = folder / job["workbook"]
    book = openpyxl.load_workbook(path)
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f" and not str(cell.value).startswith("="):
                    faults.append(f"{path}: {sheet.title}!{cell.coordinate} is a broken formula")
    sheets = [name for name in book.sheetnames if name.startswith("Findings")]
    if not sheets:
        faults.append(f"{path}: no sheet Findings")
        continue
    here = sorted(set(ids(book[sheets[0]])))
    want = int(job["fix"]) + int(job["verify"]) + int(job["note"])
    if len(here) != want:
        faults.append(f"{path}: {len(here)} findings in the sheet, {want} in jobs.csv")
    by_job[job["job"]] = by_job.get(job["job"], 0) + len(here)

for name, count in by_job.items():
    listed = sum(1 for row in findings if row["job"] == name and row["rule"] not in ACROSS)
    if listed != count:
        faults.append(f"{name}: {listed} findings in findings.csv, {count} in workbooks")

batch = openpyxl.load_workbook(folder / "batch.xlsx")
assert {"Jobs", "Findings", "Rules"} <= set(batch.sheetnames), batch.sheetnames
listed = sorted(ids(batch["Findings"]))
if listed != sorted(row["id"] for row in findings):
    faults.append("batch.xlsx and findings.csv do not carry the same findings")

# The standard's own schema, as OASIS published it.
try:
    import jsonschema
except ImportError:
    print("SKIPPED: jsonschema is not here: findings.sarif was not held against the schema")
else:
    schema = json.loads(pathlib.Path(__file__).with_name("sarif-2.1.0.schema.json").read_text())
    log = json.loads((folder / "findings.sarif").read_text(encoding="utf-8"))
    for error in jsonschema.Draft7Validator(schema).iter_errors(log):
        faults.append(f"findings.sarif: {error.json_path}: {error.message}")
    ours = pathlib.Path(__file__).parent.parent / "schemas" / "finding.schema.json"
    line_schema = jsonschema.Draft202012Validator(json.loads(ours.read_text()))
    for line in (folder / "findings.jsonl").read_text(encoding="utf-8").splitlines():
        for error in line_schema.iter_errors(json.loads(line)):
            faults.append(f"findings.jsonl: {error.json_path}: {error.message}")

for fault in faults:
    print(fault)
print(f"{len(jobs)} jobs, {len(findings)} findings read back, {len(faults)} faults")
sys.exit(1 if faults else 0)
