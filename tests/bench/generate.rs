//! Generated batches: invented jobs of three systems with nine indoor units
//! each, 30 units by 20 columns, 20 circuits by 12, 60 runs by 14.

#![allow(dead_code)]

use rust_xlsxwriter::{Workbook, XlsxError};
use std::io;
use std::path::Path;

const SYSTEMS: usize = 3;
const INDOOR: usize = 9;

/// One table, its heading first.
pub struct Table {
    pub name: &'static str,
    pub rows: Vec<Vec<String>>,
}

const UNITS: [&str; 20] = [
    "Tag",
    "Type",
    "System",
    "Model",
    "Room served",
    "Location",
    "Cooling capacity (MBH)",
    "Heating capacity (MBH)",
    "Airflow (CFM)",
    "ESP (in. w.c.)",
    "Weight (lb)",
    "Refrigerant",
    "Volts",
    "Ph",
    "MCA",
    "MOCP",
    "RLA",
    "FLA",
    "Disconnect",
    "Remarks",
];
const CIRCUITS: [&str; 12] = [
    "Panel",
    "Circuit",
    "Load served",
    "Breaker",
    "Poles",
    "Conductors",
    "Insulation",
    "Terminals",
    "Raceway",
    "Ambient (F)",
    "Length (ft)",
    "Remarks",
];
const RUNS: [&str; 14] = [
    "Run",
    "From",
    "To",
    "Purpose",
    "Wire",
    "Gauge",
    "Conductors",
    "Stranding",
    "Shield",
    "Length (ft)",
    "Splices",
    "Routed with",
    "Drawing",
    "Remarks",
];

/// Faults that a share of the jobs have, told by the job's number.
fn fault(number: usize) -> usize {
    if number.is_multiple_of(3) {
        1 + number / 3 % 5
    } else {
        0
    }
}

fn row(cells: &[&str]) -> Vec<String> {
    cells.iter().map(|cell| (*cell).to_owned()).collect()
}

fn units(number: usize) -> Table {
    let mut rows = vec![row(&UNITS)];
    for system in 1..=SYSTEMS {
        let of = format!("S-{system}");
        rows.push(row(&[
            &format!("OU-{system}"),
            "Outdoor unit",
            &of,
            "DEMO-OU-60",
            "Yard",
            "roof",
            "60",
            "66",
            "3500",
            "",
            "260",
            "R-32",
            "208/230",
            "1",
            "31.4",
            "50",
            "24.0",
            "1.4",
            "60A NF",
            "",
        ]));
        for unit in 1..=INDOOR {
            let room = format!("Room {system}{unit:02} of {}", 100 + number % 400);
            rows.push(row(&[
                &format!("FC-{system}{unit:02}"),
                "Fan coil",
                &of,
                "DEMO-FC-12",
                &room,
                "ceiling",
                "12",
                "13.5",
                "400",
                "0.3",
                "52",
                "R-32",
                "208/230",
                "1",
                "0.8",
                "15",
                "",
                "0.64",
                "30A NF",
                "see note 4",
            ]));
        }
    }
    Table {
        name: "Equipment",
        rows,
    }
}

fn circuits(number: usize) -> Table {
    let breaker = if fault(number) == 1 { "70" } else { "45" };
    let wire = if fault(number) == 2 {
        "2#12, 1#10G"
    } else {
        "2#8, 1#10G"
    };
    let poles = if fault(number) == 3 { "1" } else { "2" };
    let mut rows = vec![row(&CIRCUITS)];
    let mut slot = 1;
    let mut next = || {
        slot += 4;
        format!("{},{}", slot - 4, slot - 2)
    };
    for system in 1..=SYSTEMS {
        let (breaker, wire) = if system == 2 {
            (breaker, wire)
        } else {
            ("45", "2#8, 1#10G")
        };
        rows.push(row(&[
            "HP-1",
            &next(),
            &format!("OU-{system}"),
            breaker,
            "2",
            wire,
            "THHN",
            "75C",
            "3/4\" EMT",
            "86",
            "80",
            "",
        ]));
    }
    let all: Vec<String> = (1..=SYSTEMS)
        .flat_map(|system| (1..=INDOOR).map(move |unit| format!("FC-{system}{unit:02}")))
        .collect();
    let (shared, single) = all.split_at(20);
    let loads = shared
        .chunks(2)
        .map(|pair| pair.join(", "))
        .chain(single.iter().cloned());
    for (at, load) in loads.enumerate() {
        rows.push(row(&[
            "HP-1",
            &next(),
            &load,
            "15",
            if at == 4 { poles } else { "2" },
            "2#12, 1#12G",
            "THHN",
            "75C",
            "1/2\" EMT",
            "86",
            "60",
            "",
        ]));
    }
    Table {
        name: "Circuits",
        rows,
    }
}

fn runs(number: usize) -> Table {
    let mut rows = vec![row(&RUNS)];
    let mut push = |from: String, to: String, purpose: &str, wire: [&str; 4], length: usize| {
        let run = format!("R-{}", rows.len());
        let whole = format!("{}/{} {} {}", wire[0], wire[1], wire[2], wire[3]);
        rows.push(row(&[
            &run,
            &from,
            &to,
            purpose,
            &whole,
            wire[0],
            wire[1],
            wire[2],
            wire[3],
            &length.to_string(),
            "none",
            "none",
            "E-301",
            "",
        ]));
    };
    let bus = ["18", "2", "stranded", "unshielded"];
    for system in 1..=SYSTEMS {
        let mut from = format!("OU-{system}");
        for unit in 1..=INDOOR {
            let to = format!("FC-{system}{unit:02}");
            let (mut wire, mut length) = (bus, 40 + unit * 3);
            if fault(number) == 4 && (system, unit) == (2, 4) {
                wire[2] = "solid";
            }
            if fault(number) == 5 && (system, unit) == (1, 5) {
                length = 7_000;
            }
            push(from, to.clone(), "bus", wire, length);
            from = to;
        }
    }
    for system in 1..=SYSTEMS {
        for unit in 1..=INDOOR {
            let tag = format!("{system}{unit:02}");
            push(
                format!("T-{tag}"),
                format!("FC-{tag}"),
                "thermostat",
                bus,
                30 + unit,
            );
        }
    }
    for pair in 1..=6 {
        let system = 1 + pair % SYSTEMS;
        push(
            format!("OU-{system}"),
            format!("CS-{pair}"),
            "interlock",
            bus,
            90,
        );
    }
    Table {
        name: "Wire runs",
        rows,
    }
}

/// The tables of the job of that number; the same for the same number.
pub fn tables(number: usize) -> [Table; 3] {
    [units(number), circuits(number), runs(number)]
}

/// A workbook of three sheets, as a person would type it: numbers as numbers.
pub fn workbook(number: usize) -> Result<Vec<u8>, XlsxError> {
    let mut workbook = Workbook::new();
    for table in tables(number) {
        let sheet = workbook.add_worksheet().set_name(table.name)?;
        for (at, cells) in table.rows.iter().enumerate() {
            for (column, cell) in cells.iter().enumerate() {
                let (at, column) = (at as u32, column as u16);
                match cell.parse::<f64>() {
                    Ok(number) => sheet.write_number(at, column, number)?,
                    Err(_) if cell.is_empty() => continue,
                    Err(_) => sheet.write_string(at, column, cell)?,
                };
            }
        }
    }
    workbook.save_to_buffer()
}

/// Writes jobs `0..count` as workbooks, a hundred to a folder.
pub fn workbooks(folder: &Path, count: usize) -> io::Result<()> {
    for number in 0..count {
        let folder = folder.join(format!("part-{:03}", number / 100));
        std::fs::create_dir_all(&folder)?;
        let bytes = workbook(number).map_err(io::Error::other)?;
        std::fs::write(folder.join(format!("job-{number:05}.xlsx")), bytes)?;
    }
    Ok(())
}

/// Writes jobs `0..count` as folders of three CSV files.
pub fn text_files(folder: &Path, count: usize) -> io::Result<()> {
    for number in 0..count {
        let folder = folder.join(format!("job-{number:05}"));
        std::fs::create_dir_all(&folder)?;
        for table in tables(number) {
            let path = folder.join(format!("{}.csv", table.name.to_lowercase()));
            let mut writer = csv::Writer::from_path(path)?;
            for cells in &table.rows {
                writer.write_record(cells)?;
            }
            writer.flush()?;
        }
    }
    Ok(())
}

/// Writes small jobs `0..count`, one text file each: what is wanted where
/// the number of jobs is the point.
pub fn small(folder: &Path, count: usize) -> io::Result<()> {
    for number in 0..count {
        let folder = folder.join(format!("part-{:03}", number / 100));
        std::fs::create_dir_all(&folder)?;
        let mut text = String::from("Tag,Type,MCA,MOCP,Panel,Circuit,Breaker\n");
        text.push_str("OU-1,Outdoor unit,31.4,50,LP,\"1,3\",60A/2P\n");
        text.push_str("FC-1,Fan coil,0.8,15,LP,\"2,4\",15A/2P\n");
        std::fs::write(folder.join(format!("job-{number:05}.csv")), text)?;
    }
    Ok(())
}

/// One text file with the equipment of many jobs under a job column, the
/// rows of one job together.
pub fn season(path: &Path, rows: usize) -> io::Result<()> {
    let mut writer = csv::Writer::from_path(path)?;
    let mut heading = vec!["Job".to_owned()];
    heading.extend(row(&UNITS));
    writer.write_record(&heading)?;
    let (mut written, mut number) = (0, 0);
    while written < rows {
        for cells in units(number).rows.into_iter().skip(1).take(rows - written) {
            writer.write_field(format!("Job {number:05}"))?;
            writer.write_record(&cells)?;
            written += 1;
        }
        number += 1;
    }
    writer.flush()
}
