"""What an estimator who knows some Python would write: reads each job's
workbook with pandas, does four of the checks, marks the cells at fault with
openpyxl and adds a list. The benchmark runs it on the same files.

    python3 by_hand.py IN OUT PROCESSES [--no-marks]

Prints seconds, workbooks and findings. Data and jobs are invented.
"""

import re
import sys
import time
from multiprocessing import Pool
from pathlib import Path

import openpyxl
import pandas
from openpyxl.comments import Comment
from openpyxl.styles import PatternFill

MARK = PatternFill("solid", fgColor="FFF8CBAD")
LONGEST_BUS_FT = 3280
SHARED_LIMIT_A = 15


def tags(cell):
    return [tag.strip() for tag in str(cell).split(",") if tag.strip()]


def faults(tables):
    """Sheet, row and column (from 1) and a sentence."""
    units, circuits, runs = tables["Equipment"], tables["Circuits"], tables["Wire runs"]
    mca = dict(zip(units["Tag"], units["MCA"]))
    mop = dict(zip(units["Tag"], units["MOCP"]))
    system = dict(zip(units["Tag"], units["System"]))

    # Protection between the unit's MCA and its MOP.
    breaker = circuits.columns.get_loc("Breaker") + 1
    for at, row in enumerate(circuits.itertuples(index=False), start=2):
        loads = tags(row[circuits.columns.get_loc("Load served")])
        size = float(row[breaker - 1])
        known = [tag for tag in loads if tag in mca]
        if len(known) == 1 and size > mop[known[0]]:
            yield "Circuits", at, breaker, f"{size:g} A is over the MOP of {known[0]}, {mop[known[0]]:g} A"
        # A shared circuit carries the sum of its units.
        total = sum(mca[tag] for tag in known)
        if total > min(size, SHARED_LIMIT_A if len(known) > 1 else size):
            yield "Circuits", at, breaker, f"{', '.join(known)} draw {total:g} A on {size:g} A"

    # The bus of a system has a length that it can be.
    length = runs.columns.get_loc("Length (ft)") + 1
    bus = runs[runs["Purpose"] == "bus"]
    totals = bus.groupby(bus["To"].map(system))["Length (ft)"].sum()
    for name, total in totals[totals > LONGEST_BUS_FT].items():
        longest = bus[bus["To"].map(system) == name]["Length (ft)"].idxmax()
        yield "Wire runs", longest + 2, length, f"the bus of {name} is {total:g} ft"

    # Every indoor unit has a thermostat on a run of its own.
    homes = runs[runs["Purpose"] == "thermostat"]["To"].value_counts()
    for at, row in enumerate(units.itertuples(index=False), start=2):
        if re.search("fan coil", str(row[1]), re.I) and homes.get(row[0], 0) != 1:
            yield "Equipment", at, 1, f"{row[0]} has {homes.get(row[0], 0)} thermostat runs"


def one(job):
    source, target = job
    found = list(faults(pandas.read_excel(source, sheet_name=None)))
    if target is not None:
        book = openpyxl.load_workbook(source)
        listed = book.create_sheet("Findings")
        listed.append(["Sheet", "Cell", "What is wrong"])
        for sheet, row, column, says in found:
            cell = book[sheet].cell(row, column)
            cell.fill = MARK
            cell.comment = Comment(says, "check")
            listed.append([sheet, cell.coordinate, says])
        target.parent.mkdir(parents=True, exist_ok=True)
        book.save(target)
    return len(found)


def main():
    folder, out, processes = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
    marks = "--no-marks" not in sys.argv
    files = sorted(folder.rglob("*.xlsx"))
    jobs = [(file, out / file.relative_to(folder) if marks else None) for file in files]
    began = time.perf_counter()
    if processes == 1:
        found = [one(job) for job in jobs]
    else:
        with Pool(processes) as pool:
            found = pool.map(one, jobs, chunksize=4)
    print(f"{time.perf_counter() - began:.3f} {len(jobs)} {sum(found)}")


if __name__ == "__main__":
    main()
