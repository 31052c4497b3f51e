//! The sheet *Bus*: each system's chain in order, its length against the
//! budget, and what is wrong with it.

use super::circuits::state;
use super::drawing::{self, Drawing};
use super::page::{Cell, Column, Links};
use super::style::Styles;
use super::{ReportError, list, page};
use crate::findings::{Audit, Reported, Step, Subject};
use crate::schedule::wire::RunPurpose;
use crate::schedule::{RunId, Schedule, System, SystemId, UnitId, UnitKind};
use rust_xlsxwriter::{Image, ObjectMovement, Workbook};
use std::collections::{BTreeMap, BTreeSet};

pub(super) const COLUMNS: [Column; 8] = [
    ("System", 16.0),
    ("No.", 6.0),
    ("Unit", 18.0),
    ("Room", 20.0),
    ("Run that arrives", 34.0),
    ("Length so far", 16.0),
    ("Findings", 64.0),
    ("Row", 16.0),
];

/// Pixels of a screen that go on one page below each other, at the scale of
/// eight columns on the breadth of letter paper, less the heading.
const PAGE: f64 = 860.0;

/// The drawings of systems, one below the other from row `below` on.
pub(super) fn pictures(
    workbook: &mut Workbook,
    sheet: &str,
    below: u32,
    drawings: &[Drawing],
    styles: &Styles,
) -> Result<(), ReportError> {
    let sheet = workbook.worksheet_from_name(sheet)?;
    let mut row = below + 2;
    let mut breaks = Vec::new();
    for drawing in drawings {
        let Some(picture) = drawing.picture() else {
            continue;
        };
        let says = format!("Chain of system {}, as it is scheduled", drawing.label);
        let image = Image::new_from_buffer(&picture)?
            .set_alt_text(page::printable(&says))
            .set_object_movement(ObjectMovement::DontMoveOrSizeWithCells);
        breaks.push(row);
        page::string(sheet, row, 0, &says, &styles.strong)?;
        sheet.insert_image(row + 1, 0, &image)?;
        // A drawing that is higher than a page goes on between two lines of
        // units.
        let mut top = 0.0;
        for (cut, end) in drawing.cuts.iter().zip(ends(drawing)) {
            if end - top > PAGE && *cut > top {
                breaks.push(row + 1 + (cut / drawing::ROW).round() as u32);
                top = *cut;
            }
        }
        let rows = (drawing.height / drawing::ROW).ceil() as u32;
        for row in row + 1..=row + 1 + rows {
            sheet.set_row_height_pixels(row, drawing::ROW as u32)?;
        }
        row += 3 + rows;
    }
    if !breaks.is_empty() {
        sheet.set_page_breaks(&breaks)?;
    }
    Ok(())
}

/// Where what begins at each cut ends.
fn ends(drawing: &Drawing) -> impl Iterator<Item = f64> {
    let next = drawing.cuts.iter().skip(1).copied();
    next.chain([drawing.height])
}

/// The rows of all systems, in the order of the schedule.
pub(super) fn rows(schedule: &Schedule, audit: &Audit, links: &Links) -> Vec<Vec<Cell>> {
    let units: BTreeMap<String, UnitId> = schedule
        .audited_units()
        .map(|(id, _)| (schedule.unit_label(id), id))
        .collect();
    let mut rows = Vec::new();
    for (id, system) in schedule.system_ids() {
        let sheet = SystemRows {
            schedule,
            audit,
            links,
            units: &units,
            id,
            system,
        };
        sheet.add(&mut rows);
    }
    rows.extend(of_no_system(schedule, audit, links));
    rows
}

struct SystemRows<'a> {
    schedule: &'a Schedule,
    audit: &'a Audit,
    links: &'a Links<'a>,
    units: &'a BTreeMap<String, UnitId>,
    id: SystemId,
    system: &'a System,
}

impl SystemRows<'_> {
    /// Steps of the rules about this system, each once; the chain from the
    /// first rule that gives one.
    fn steps(&self) -> Vec<&Step> {
        let mut steps: Vec<&Step> = Vec::new();
        let mut chained = false;
        for outcome in self.audit.of(Subject::System(self.id)) {
            let of_chain = |step: &&Step| matches!(step.what, CHAIN | CUMULATIVE);
            let working = outcome.working.iter();
            if !chained {
                steps.extend(working.clone().filter(of_chain));
                chained = !steps.is_empty();
            }
            for step in working.filter(|step| !of_chain(step)) {
                if !steps.contains(&step) {
                    steps.push(step);
                }
            }
        }
        steps
    }

    fn add(&self, rows: &mut Vec<Vec<Cell>>) {
        let steps = self.steps();
        let links = chain(&steps);
        rows.push(self.heading(&links));
        if links.is_empty() {
            self.runs_as_scheduled(rows);
        } else {
            self.chain_rows(&links, rows);
            self.not_on_the_chain(&links, rows);
        }
        self.other_steps(&steps, rows);
    }

    fn label(&self) -> String {
        self.schedule.system_label(self.id)
    }

    /// The system's own line: the chain drawn, and its findings.
    fn heading(&self, chain: &[Link]) -> Vec<Cell> {
        let on_it = chain.iter().filter(|link| !link.is_off());
        let drawn: Vec<&str> = on_it.map(|link| self.shown(link)).collect();
        let drawn = match drawn.is_empty() {
            true => match self.system.runs.len() {
                0 => "no bus runs are scheduled".to_owned(),
                _ => "no chain could be followed; the runs as scheduled:".to_owned(),
            },
            false => drawn.join(" \u{2014} "),
        };
        let of_system = |finding: &&Reported| match finding.subject {
            Subject::System(id) => id == self.id,
            Subject::Run(run) => self.system.runs.contains(&run),
            // A branch or a loop is a finding of the unit where it is.
            Subject::Unit(unit) => {
                finding.rule.starts_with("bus-") && self.system.units.contains(&unit)
            }
            _ => false,
        };
        let mut findings: Vec<&Reported> = self.audit.findings.iter().filter(of_system).collect();
        findings.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
        let texts: Vec<String> = findings.into_iter().map(list::brief).collect();
        let name = Cell::Section(self.label());
        let mut row = vec![name];
        row.extend(std::iter::repeat_n(Cell::Section(String::new()), 3));
        row.push(Cell::Group(drawn));
        row.push(Cell::Section(String::new()));
        row.push(match texts.is_empty() {
            true => Cell::text("none"),
            false => Cell::Group(texts.join("\n")),
        });
        row.push(Cell::Section(String::new()));
        row
    }

    fn chain_rows(&self, chain: &[Link], rows: &mut Vec<Vec<Cell>>) {
        for (index, link) in chain.iter().enumerate() {
            let unit = self.unit(link).map(|id| self.schedule.unit(id));
            let room = unit.map_or_else(String::new, |unit| state(self.schedule, &unit.room));
            let place = unit.map(|unit| self.schedule.sources.address(unit.tag.at.into()));
            let row = match place {
                Some(address) => Cell::link(self.links.to(&address), shown(&address)),
                None => Cell::text(""),
            };
            rows.push(vec![
                Cell::text(self.label()),
                Cell::Count(index as u64 + 1),
                Cell::text(self.shown(link)),
                Cell::text(room),
                match link.is_off() {
                    true => Cell::Group(link.run.clone()),
                    false => Cell::text(&link.run),
                },
                Cell::text(&link.so_far),
                Cell::text(""),
                row,
            ]);
        }
    }

    /// The unit that a step names: its label, alone or with its room behind
    /// a comma.
    fn unit(&self, link: &Link) -> Option<UnitId> {
        self.named(link).map(|(_, id)| id)
    }

    fn shown<'l>(&self, link: &'l Link) -> &'l str {
        self.named(link)
            .map_or(link.unit.as_str(), |(label, _)| label)
    }

    fn named<'l>(&self, link: &'l Link) -> Option<(&'l str, UnitId)> {
        let text = link.unit.as_str();
        let ends = text.rmatch_indices(", ").map(|(at, _)| at);
        let labels = std::iter::once(text.len()).chain(ends);
        labels
            .filter_map(|end| text.get(..end))
            .find_map(|label| self.units.get(label).map(|id| (label, *id)))
    }

    /// Units that a chain has and this one has not.
    fn not_on_the_chain(&self, chain: &[Link], rows: &mut Vec<Vec<Cell>>) {
        let on_chain: BTreeSet<UnitId> = chain.iter().filter_map(|link| self.unit(link)).collect();
        for &id in &self.system.units {
            let unit = self.schedule.unit(id);
            let label = self.schedule.unit_label(id);
            let belongs = unit.kind().is_some_and(UnitKind::on_chain);
            if !belongs || on_chain.contains(&id) {
                continue;
            }
            let address = self.schedule.sources.address(unit.tag.at.into());
            rows.push(vec![
                Cell::text(self.label()),
                Cell::text(""),
                Cell::Group(label),
                Cell::text(state(self.schedule, &unit.room)),
                Cell::Group("not on this chain".to_owned()),
                Cell::text(""),
                Cell::text(""),
                Cell::link(self.links.to(&address), shown(&address)),
            ]);
        }
    }

    fn runs_as_scheduled(&self, rows: &mut Vec<Vec<Cell>>) {
        for &run in &self.system.runs {
            rows.push(run_row(
                self.schedule,
                self.links,
                &self.label(),
                run,
                String::new(),
            ));
        }
    }

    /// Total, budget and whatever else a rule worked out.
    fn other_steps(&self, steps: &[&Step], rows: &mut Vec<Vec<Cell>>) {
        let others = steps
            .iter()
            .filter(|s| !matches!(s.what, CHAIN | CUMULATIVE));
        for step in others {
            rows.push(vec![
                Cell::text(self.label()),
                Cell::text(""),
                Cell::text(step.what.replace(['_', '-'], " ")),
                Cell::text(""),
                Cell::text(&step.how),
                Cell::Group(step.value.to_string()),
                Cell::text(&step.source),
                Cell::text(""),
            ]);
        }
    }
}

const CHAIN: &str = "chain";
const CUMULATIVE: &str = "cumulative";

/// One unit of the chain.
#[derive(Debug, PartialEq)]
struct Link {
    unit: String,
    run: String,
    so_far: String,
}

impl Link {
    /// Hangs on a branch, or is not reached at all: the step says so.
    fn is_off(&self) -> bool {
        ["branch", "not reached"]
            .iter()
            .any(|word| self.run.starts_with(word))
    }
}

/// The chain from its steps: lengths stand between the units or after all of
/// them. Where they come after all and are one fewer, the first unit has none.
fn chain(steps: &[&Step]) -> Vec<Link> {
    let mut links: Vec<Link> = Vec::new();
    let mut lengths: Vec<String> = Vec::new();
    let mut between = false;
    for step in steps {
        match step.what {
            CHAIN => {
                between |= !lengths.is_empty();
                links.push(Link {
                    unit: step.value.to_string(),
                    run: step.how.clone(),
                    so_far: String::new(),
                });
            }
            CUMULATIVE => {
                let length = step.value.to_string();
                if let Some(last) = links.last_mut() {
                    last.so_far.clone_from(&length);
                }
                lengths.push(length);
            }
            _ => {}
        }
    }
    if !between {
        let without = links.len().saturating_sub(lengths.len());
        for (index, link) in links.iter_mut().enumerate() {
            let length = index.checked_sub(without).and_then(|at| lengths.get(at));
            link.so_far = length.cloned().unwrap_or_default();
        }
    }
    links
}

fn shown(address: &crate::schedule::Address) -> String {
    match address.sheet.as_str() {
        "" => address.cell.clone(),
        sheet => format!("{sheet}!{}", address.cell),
    }
}

fn run_row(
    schedule: &Schedule,
    links: &Links,
    system: &str,
    id: RunId,
    findings: String,
) -> Vec<Cell> {
    let run = schedule.run(id);
    let address = schedule.sources.address(run.at.into());
    let length = match state(schedule, &run.length) {
        length if length.is_empty() => "length not given".to_owned(),
        length => length,
    };
    vec![
        Cell::text(system),
        Cell::text(""),
        Cell::text(""),
        Cell::text(""),
        Cell::text(format!("{}, {length}", schedule.run_label(id))),
        Cell::text(""),
        Cell::text(findings),
        Cell::link(links.to(&address), shown(&address)),
    ]
}

/// Bus runs that touch no system.
fn of_no_system(schedule: &Schedule, audit: &Audit, links: &Links) -> Vec<Vec<Cell>> {
    let of_systems: std::collections::BTreeSet<RunId> = schedule
        .systems
        .iter()
        .flat_map(|s| s.runs.iter().copied())
        .collect();
    schedule
        .run_ids()
        .filter(|(id, run)| run.serves == RunPurpose::Bus && !of_systems.contains(id))
        .map(|(id, _)| {
            let of_run = audit
                .findings
                .iter()
                .filter(|f| f.subject == Subject::Run(id));
            let texts: Vec<String> = of_run.map(list::brief).collect();
            run_row(schedule, links, "of no system", id, texts.join("\n"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Value;
    use crate::schedule::Feet;

    fn unit(label: &str, run: &str) -> Step {
        Step {
            what: CHAIN,
            value: Value::Text(label.to_owned()),
            how: run.to_owned(),
            source: String::new(),
        }
    }

    fn length(feet: f64) -> Step {
        Step {
            what: CUMULATIVE,
            value: Feet(feet).into(),
            how: String::new(),
            source: String::new(),
        }
    }

    #[test]
    fn lengths_find_their_units_wherever_they_stand() {
        let (ou, fc, last) = (
            unit("OU-1", ""),
            unit("FC-1", "OU-1 to FC-1, 40 ft"),
            unit("FC-2", "FC-1 to FC-2, 25 ft"),
        );
        let (a, b) = (length(40.0), length(65.0));
        let between = chain(&[&ou, &fc, &a, &last, &b]);
        let after = chain(&[&ou, &fc, &last, &a, &b]);
        assert_eq!(between, after);
        let so_far: Vec<&str> = after.iter().map(|link| link.so_far.as_str()).collect();
        assert_eq!(so_far, ["", "40 ft", "65 ft"]);
        assert_eq!(after[2].run, "FC-1 to FC-2, 25 ft");
    }
}
