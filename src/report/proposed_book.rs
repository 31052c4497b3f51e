//! The schedule that is proposed, as a workbook of plain sheets under
//! headings that are read again.

use super::ReportError;
use crate::proposal::text;
use crate::schedule::{
    Circuit, Controller, Field, JobFacts, Located, Name, NameplateAmps, Panel, PanelSupply, Run,
    Schedule, Unit, number,
};
use jiff::civil::Date;
use rust_xlsxwriter::Format;

/// Headings and rows of one sheet.
struct Table {
    name: &'static str,
    headings: &'static [&'static str],
    rows: Vec<Vec<String>>,
}

/// Builds the workbook; the same bytes for the same schedule.
///
/// # Errors
/// Where the workbook cannot be written: more rows than a sheet holds.
pub fn workbook(schedule: &Schedule, as_of: Date) -> Result<Vec<u8>, ReportError> {
    let mut workbook = super::new_workbook(&schedule.title, as_of)?;
    let head = Format::new().set_bold();
    for table in tables(schedule) {
        let sheet = workbook.add_worksheet();
        sheet.set_name(table.name)?;
        for (column, heading) in table.headings.iter().enumerate() {
            sheet.write_string_with_format(0, column as u16, *heading, &head)?;
            sheet.set_column_width(column as u16, 14.0)?;
        }
        for (row, cells) in table.rows.iter().enumerate() {
            for (column, cell) in cells.iter().enumerate() {
                if !cell.is_empty() {
                    let cell = super::page::clip(cell);
                    sheet.write_string(row as u32 + 1, column as u16, cell)?;
                }
            }
        }
        sheet.set_freeze_panes(1, 1)?;
    }
    Ok(workbook.save_to_buffer()?)
}

/// A cell as it is read again; what could not be read is asked for.
fn cell<T>(field: &Field<T>, show: impl Fn(&T) -> String) -> String {
    match field {
        Field::Given(found) => show(&found.value),
        Field::Blank(_) => String::new(),
        Field::Unknown(_) | Field::Unreadable(_) => "TBD".into(),
        Field::Elsewhere(_) => "BY OTHERS".into(),
    }
}

fn name(field: &Field<Name>) -> String {
    cell(field, |name| name.text().to_owned())
}

fn plain(value: f64) -> String {
    number(value).replace(',', "")
}

fn plate(amps: NameplateAmps) -> String {
    match amps {
        NameplateAmps::One(amps) => plain(amps.0),
        NameplateAmps::Two { lower, higher } => format!("{}/{}", plain(lower.0), plain(higher.0)),
    }
}

fn panel_supply(supply: &PanelSupply) -> String {
    let phases = supply
        .phases
        .map_or(String::new(), |phases| format!(" {phases}PH"));
    match (supply.line_to_neutral, supply.phases) {
        (Some(neutral), Some(3)) => {
            format!("{}Y/{}", plain(supply.line_to_line.0), plain(neutral.0))
        }
        (Some(neutral), _) => {
            format!(
                "{}/{}{phases}",
                plain(neutral.0),
                plain(supply.line_to_line.0)
            )
        }
        (None, _) => format!("{}{phases}", plain(supply.line_to_line.0)),
    }
}

fn list(names: &[Located<Name>]) -> String {
    let texts: Vec<&str> = names.iter().map(|name| name.value.text()).collect();
    texts.join(", ")
}

fn tables(s: &Schedule) -> Vec<Table> {
    let mut tables = vec![Table {
        name: "Job",
        headings: &["Label", "Value"],
        rows: facts(s, &s.facts),
    }];
    let units = s.units.iter().filter(|unit| unit.instance.0 == 1);
    let rows: Vec<Vec<String>> = units.map(unit).collect();
    tables.push(Table {
        name: "Equipment",
        headings: &EQUIPMENT,
        rows,
    });
    let rows = s.panels.iter().map(panel).collect();
    tables.push(Table {
        name: "Panels",
        headings: &PANELS,
        rows,
    });
    let rows = s.circuits.iter().map(circuit).collect();
    tables.push(Table {
        name: "Circuits",
        headings: &CIRCUITS,
        rows,
    });
    let rows = s.runs.iter().map(run).collect();
    tables.push(Table {
        name: "Wire runs",
        headings: &RUNS,
        rows,
    });
    let rows = s.controllers.iter().map(controller).collect();
    tables.push(Table {
        name: "Controllers",
        headings: &CONTROLLERS,
        rows,
    });
    tables.retain(|table| !table.rows.is_empty());
    tables
}

fn facts(s: &Schedule, facts: &JobFacts) -> Vec<Vec<String>> {
    let date = |date: &Date| date.to_string();
    let text = |text: &String| text.clone();
    let title = match cell(&facts.name, text) {
        name if name.is_empty() => s.title.clone(),
        name => name,
    };
    let rows = [
        ("Job Name", title),
        ("Job No.", cell(&facts.number, text)),
        ("Customer Type", cell(&facts.customer, ToString::to_string)),
        ("Supply Voltage", cell(&facts.supply, panel_supply)),
        (
            "NEC Edition",
            cell(&facts.edition, |edition| edition.year().to_string()),
        ),
        ("Submitted By", cell(&facts.submitted_by, text)),
        ("Revision", cell(&facts.revision, text)),
        ("Date", cell(&facts.date, date)),
        ("Pressure Test Date", cell(&facts.pressure_test, date)),
        ("Charge Date", cell(&facts.charge, date)),
        ("Power On Date", cell(&facts.power_on, date)),
    ];
    rows.into_iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(label, value)| vec![label.to_owned(), value])
        .collect()
}

const EQUIPMENT: [&str; 24] = [
    "Tag",
    "Kind",
    "System",
    "Dwelling",
    "Dwelling Type",
    "Qty",
    "Model",
    "Capacity (MBH)",
    "MCA",
    "MOP",
    "RLA",
    "FLA",
    "V/PH/HZ",
    "Heater kW",
    "Heater Volts",
    "Internal Breakers",
    "Horsepower",
    "Room",
    "Unit Location",
    "Disconnect",
    "Disconnect Fuse",
    "Bus Limit (ft)",
    "Max. Indoor Units",
    "Interlock",
];

fn yes(value: &bool) -> String {
    if *value { "yes" } else { "no" }.into()
}

fn unit(unit: &Unit) -> Vec<String> {
    let mop = |mop: &crate::schedule::Mop| {
        let amps = plate(mop.amps);
        if mop.fuses_only {
            format!("{amps} fuse")
        } else {
            amps
        }
    };
    vec![
        unit.tag.value.text().to_owned(),
        cell(&unit.kind, ToString::to_string),
        name(&unit.system),
        name(&unit.dwelling),
        name(&unit.dwelling_type),
        cell(&unit.quantity, u32::to_string),
        cell(&unit.model, String::clone),
        cell(&unit.capacity, |capacity| plain(capacity.0)),
        cell(&unit.mca, |mca| plate(*mca)),
        cell(&unit.mop, mop),
        cell(&unit.rla, |amps| plain(amps.0)),
        cell(&unit.fla, |amps| plain(amps.0)),
        cell(&unit.supply, text::supply),
        cell(&unit.heat_kw, |kw| plain(kw.0)),
        cell(&unit.heat_volts, |volts| plain(volts.0)),
        cell(&unit.heat_protection, yes),
        cell(&unit.horsepower, |power| power.0.to_string()),
        cell(&unit.room, String::clone),
        cell(&unit.place, |place| text::place(*place).into()),
        cell(&unit.disconnect, |disconnect| text::disconnect(*disconnect)),
        cell(&unit.fuse, |amps| plain(amps.0)),
        cell(&unit.bus_limit, |feet| plain(feet.0)),
        cell(&unit.most_units, u32::to_string),
        cell(&unit.interlock, String::clone),
    ]
}

const PANELS: [&str; 6] = [
    "Panel",
    "Dwelling",
    "Panel Voltage",
    "Main Breaker",
    "Bus Amps",
    "Fed From",
];

fn panel(panel: &Panel) -> Vec<String> {
    vec![
        panel.name.value.text().to_owned(),
        name(&panel.dwelling),
        cell(&panel.supply, panel_supply),
        cell(&panel.main, |amps| plain(amps.0)),
        cell(&panel.bus, |amps| plain(amps.0)),
        cell(&panel.fed_from, String::clone),
    ]
}

const CIRCUITS: [&str; 20] = [
    "Panel",
    "Dwelling",
    "Circuit Name",
    "Ckt",
    "Load Served",
    "Breaker",
    "Poles",
    "Disconnect Fuse",
    "Branch Circuit Wire",
    "EGC",
    "Insulation",
    "Terminals",
    "Conduit",
    "Conductors in Raceway",
    "Ambient (°C)",
    "Circuit Length (ft)",
    "Circuit Voltage",
    "Load Amps",
    "VA",
    "Disconnect",
];

fn circuit(circuit: &Circuit) -> Vec<String> {
    let mut loads: Vec<&str> = Vec::new();
    for load in &circuit.loads {
        let text = load.text.value.as_str();
        if !loads.contains(&text) {
            loads.push(text);
        }
    }
    vec![
        name(&circuit.panel),
        name(&circuit.dwelling),
        name(&circuit.name),
        cell(&circuit.slots, |slots| text::slots(slots)),
        loads.join(", "),
        cell(&circuit.breaker, |amps| plain(amps.0)),
        cell(&circuit.poles, u8::to_string),
        cell(&circuit.fuse, |amps| plain(amps.0)),
        cell(&circuit.conductor, text::conductor),
        cell(&circuit.ground, |ground| text::ground(*ground)),
        cell(&circuit.insulation, ToString::to_string),
        cell(&circuit.terminals, |at| format!("{} C", plain(at.0))),
        cell(&circuit.raceway, text::raceway),
        cell(&circuit.in_raceway, u32::to_string),
        cell(&circuit.ambient, |at| plain(at.0)),
        cell(&circuit.length, |feet| plain(feet.0)),
        cell(&circuit.supply, text::supply),
        cell(&circuit.load_amps, |amps| plain(amps.0)),
        cell(&circuit.load_va, |power| plain(power.0)),
        cell(&circuit.disconnect, |disconnect| {
            text::disconnect(*disconnect)
        }),
    ]
}

const RUNS: [&str; 15] = [
    "Run No.",
    "System",
    "Dwelling",
    "From",
    "To",
    "Purpose",
    "Terminal Side",
    "Wire Gauge",
    "No. of Conductors",
    "Stranding",
    "Shielded",
    "Shield Grounded",
    "Splices",
    "Routed With",
    "Length (ft)",
];

fn run(run: &Run) -> Vec<String> {
    // Purposes that only the ends told are written out.
    let purpose = match cell(&run.purpose, ToString::to_string) {
        purpose if purpose.is_empty() => run.serves.to_string(),
        purpose => purpose,
    };
    vec![
        name(&run.name),
        name(&run.system),
        name(&run.dwelling),
        name(&run.from),
        name(&run.to),
        purpose,
        cell(&run.side, |side| side.to_string()),
        cell(&run.gauge, |gauge| gauge.to_string()),
        cell(&run.conductors, u8::to_string),
        cell(&run.stranded, |yes| {
            if *yes { "stranded" } else { "solid" }.into()
        }),
        cell(&run.shielded, |yes| {
            if *yes { "shielded" } else { "unshielded" }.into()
        }),
        cell(&run.shield_ground, text::shield_ground),
        cell(&run.splices, u32::to_string),
        cell(&run.routing, |routing| text::routing(*routing).into()),
        cell(&run.length, |feet| plain(feet.0)),
    ]
}

const CONTROLLERS: [&str; 6] = [
    "Thermostat",
    "Dwelling",
    "Thermostat Location",
    "Controls Units",
    "Control Group",
    "Wireless",
];

fn controller(controller: &Controller) -> Vec<String> {
    vec![
        controller.tag.value.text().to_owned(),
        name(&controller.dwelling),
        cell(&controller.room, String::clone),
        list(&controller.units),
        name(&controller.group),
        cell(&controller.wireless, yes),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::assemble::{Hints, ReadFile, RowChoice, draft};
    use crate::intake::book::{Book, Limits};
    use crate::intake::recognise::recognise;
    use crate::intake::schema::Schemas;
    use crate::report::blank;
    use crate::schedule::fixture::Fixture;
    use crate::schedule::wire::{Raceway, RacewayType, RunPurpose};
    use crate::schedule::{Amps, FieldName, UnitKind, UnitPlace, VoltAmps};
    use std::collections::BTreeSet;

    /// Free text that no rule reads, and the wire of a controller, which is
    /// written as its run.
    const NOT_WRITTEN: [FieldName; 7] = [
        FieldName::UnitRemarks,
        FieldName::CircuitRemarks,
        FieldName::PanelRemarks,
        FieldName::RunRemarks,
        FieldName::ControllerRemarks,
        FieldName::ControllerWire,
        FieldName::ControllerLength,
    ];

    fn job() -> Schedule {
        let mut fixture = Fixture::new();
        fixture.panel("LP", |_, _| {});
        fixture.unit("OU-1", UnitKind::Outdoor, |u, cells| {
            u.place = cells.given(UnitPlace::Roof);
        });
        fixture.unit("FC-1", UnitKind::Indoor, |u, cells| {
            u.place = cells.given(UnitPlace::Attic);
            u.interlock = cells.given("float switch".to_owned());
        });
        fixture.circuit("LP", &[1, 3], &["OU-1"], |c, cells| {
            c.raceway = cells.given(Raceway {
                kind: RacewayType::Emt,
                trade_size: Some("3/4".into()),
            });
            c.load_amps = cells.given(Amps(21.5));
            c.load_va = cells.given(VoltAmps(4_472.0));
        });
        fixture.run("OU-1", "FC-1", |run, cells| {
            run.splices = cells.given(2);
            run.purpose = cells.given(RunPurpose::Bus);
        });
        fixture.controller("T-1", &["FC-1"], |_, _| {});
        fixture.build()
    }

    fn read(bytes: Vec<u8>) -> (Schedule, BTreeSet<FieldName>) {
        let book = Book::from_bytes("p.xlsx", bytes, &Limits::default()).expect("a workbook");
        let tables = recognise(&book, Schemas::embedded());
        let file = ReadFile::new("p.xlsx".to_owned(), 0, book, tables.tables);
        let schedule = draft(&[(&file, RowChoice::All)], Hints::default()).build();
        let columns = schedule.sources.tables.iter().flat_map(|t| &t.columns);
        let fields = columns.flat_map(|c| c.fields.iter().copied()).collect();
        (schedule, fields)
    }

    #[test]
    fn every_field_of_the_blank_form_that_rules_read_is_written() {
        let as_of = jiff::civil::date(2026, 1, 1);
        let (again, written) = read(workbook(&job(), as_of).expect("a workbook"));
        let (_, blank) = read(blank::workbook(Schemas::embedded(), as_of).expect("a workbook"));
        assert!(blank.len() > 50, "{}", blank.len());
        let missing: Vec<&str> = blank
            .iter()
            .filter(|field| !written.contains(field) && !NOT_WRITTEN.contains(field))
            .map(|field| field.name())
            .collect();
        assert!(missing.is_empty(), "{missing:?}");
        assert_eq!(again.units[0].place.copied(), Some(UnitPlace::Roof));
        assert_eq!(again.units[1].place.copied(), Some(UnitPlace::Attic));
        assert!(again.units[1].interlock.is_given());
        let circuit = &again.circuits[0];
        assert_eq!(circuit.raceway.get(), job().circuits[0].raceway.get());
        assert_eq!(circuit.load_amps.copied(), Some(Amps(21.5)));
        assert_eq!(circuit.load_va.copied(), Some(VoltAmps(4_472.0)));
        assert_eq!(again.runs[0].splices.copied(), Some(2));
    }
}
