//! How time grows: three sizes of each case, and the exponent between the
//! first and the last. A step that compares all with all shows as 2.

use super::generate;
use rust_xlsxwriter::{Format, Workbook};
use std::error::Error;
use std::fmt::Write;
use std::path::Path;

type Outcome<T> = Result<T, Box<dyn Error + Send + Sync>>;
type Make = fn(&Path, usize) -> Outcome<()>;

const CASES: [(&str, Make, [usize; 3]); 7] = [
    ("XLSX jobs", jobs, [250, 500, 1_000]),
    (
        "rows of a CSV with a job column",
        rows,
        [15_000, 30_000, 60_000],
    ),
    ("units of one job", units, [1_000, 2_000, 4_000]),
    ("runs of one bus", bus, [2_500, 5_000, 10_000]),
    ("merged ranges of a sheet", merges, [12_500, 25_000, 50_000]),
    ("sheets of a workbook", sheets, [63, 126, 252]),
    ("tags that no unit has", unknown, [1_250, 2_500, 5_000]),
];

/// Prints the table.
pub fn growth() -> Outcome<()> {
    println!("\n| growth, with workbooks | sizes | seconds | peak MB | exponent |");
    println!("| --- | --- | --- | --- | --- |");
    for (what, make, sizes) in CASES {
        let (mut seconds, mut peaks) = (Vec::new(), Vec::new());
        for size in sizes {
            let folder = tempfile::tempdir()?;
            let input = folder.path().join("in");
            std::fs::create_dir_all(&input)?;
            make(&input, size)?;
            let (took, peak) = super::measured(&input, &folder.path().join("out"), true)?;
            seconds.push(took);
            peaks.push(peak);
        }
        let exponent = (seconds[2] / seconds[0]).ln() / (sizes[2] as f64 / sizes[0] as f64).ln();
        println!("| {what} | {sizes:?} | {seconds:.2?} | {peaks:.0?} | {exponent:.2} |");
    }
    Ok(())
}

fn jobs(folder: &Path, count: usize) -> Outcome<()> {
    Ok(generate::workbooks(folder, count)?)
}

fn rows(folder: &Path, count: usize) -> Outcome<()> {
    Ok(generate::season(&folder.join("season.csv"), count)?)
}

fn equipment(count: usize) -> Result<String, std::fmt::Error> {
    let mut text = String::from("Tag,Type,MCA,MOCP,Volts,Ph,Panel,Circuit,Breaker,Poles\n");
    writeln!(text, "OU-1,Outdoor unit,31.4,50,208/230,1,LP,\"1,3\",50,2")?;
    for unit in 1..count {
        let slot = 4 * unit;
        writeln!(
            text,
            "FC-{unit},Fan coil,0.8,15,208/230,1,LP,\"{slot},{}\",15,2",
            slot + 2
        )?;
    }
    Ok(text)
}

fn units(folder: &Path, count: usize) -> Outcome<()> {
    Ok(std::fs::write(
        folder.join("equipment.csv"),
        equipment(count)?,
    )?)
}

fn bus(folder: &Path, count: usize) -> Outcome<()> {
    units(folder, count + 1)?;
    let mut text = String::from("From,To,Purpose,Wire,Length (ft)\n");
    let mut from = "OU-1".to_owned();
    for unit in 1..=count {
        writeln!(text, "{from},FC-{unit},bus,18/2 stranded unshielded,3")?;
        from = format!("FC-{unit}");
    }
    Ok(std::fs::write(folder.join("wire runs.csv"), text)?)
}

fn merges(folder: &Path, count: usize) -> Outcome<()> {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    for (column, heading) in ["Tag", "Type", "MCA", "MOCP", "Remarks"].iter().enumerate() {
        sheet.write(0, column as u16, *heading)?;
    }
    let plain = Format::new();
    for row in 1..=count as u32 {
        sheet.write(row, 0, format!("FC-{row}"))?;
        sheet.write(row, 1, "Fan coil")?;
        sheet.write(row, 2, 0.8)?;
        sheet.write(row, 3, 15)?;
        sheet.merge_range(row, 4, row, 6, "see note 4", &plain)?;
    }
    Ok(workbook.save(folder.join("merged.xlsx"))?)
}

fn sheets(folder: &Path, count: usize) -> Outcome<()> {
    let mut workbook = Workbook::new();
    for at in 0..count {
        let sheet = workbook.add_worksheet();
        for (column, heading) in ["Tag", "Type", "MCA", "MOCP"].iter().enumerate() {
            sheet.write(0, column as u16, *heading)?;
        }
        for row in 1..=30 {
            sheet.write(row, 0, format!("FC-{at}-{row}"))?;
            sheet.write(row, 1, "Fan coil")?;
            sheet.write(row, 2, 0.8)?;
            sheet.write(row, 3, 15)?;
        }
    }
    Ok(workbook.save(folder.join("sheets.xlsx"))?)
}

fn unknown(folder: &Path, count: usize) -> Outcome<()> {
    units(folder, count)?;
    let mut text = String::from("Panel,Circuit,Load served,Breaker\n");
    for at in 0..count {
        writeln!(text, "MP,{},AHX-{at}-Q,15", at + 1)?;
    }
    Ok(std::fs::write(folder.join("circuits.csv"), text)?)
}
