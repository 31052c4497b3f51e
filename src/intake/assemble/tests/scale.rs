//! A season of bids in one table.

use super::grid::Grid;
use crate::intake::assemble::{Hints, RowChoice, draft};
use crate::intake::job::{Claims, JobPer, group};
use crate::schedule::*;
use TableKind::{Circuits, Equipment, WireRuns};

#[test]
fn many_jobs_in_one_table() {
    let jobs: u32 = 60;
    let mut text = String::from("Job,Tag,Type,MCA,Circuit,Bkr,From,LF,T-stat\n");
    for job in 0..jobs {
        for unit in 0..10 {
            let (kind, tag) = if unit == 0 {
                ("outdoor", "OU-1".to_owned())
            } else {
                ("wall", format!("FC-{unit}"))
            };
            let from = match unit {
                0 => String::new(),
                1 => "OU-1".to_owned(),
                n => format!("FC-{}", n - 1),
            };
            text.push_str(&format!(
                "B-{job},{tag},{kind},1.{unit},\"LP-{},{}\",15/2,{from},40,T-{unit}\n",
                4 * unit + 1,
                4 * unit + 3
            ));
        }
    }
    let file = Grid::new("season.csv", &[Equipment, Circuits, WireRuns],
        "job.number,unit.tag,unit.kind,unit.mca,circuit.panel_slots,circuit.breaker,run.from,run.length ft,controller.tag", &text).read();
    let files = [file];
    let grouping = group(files.iter().map(Claims::of), JobPer::Facts);
    assert_eq!(grouping.jobs.len(), jobs as usize);
    let mut units = 0;
    for job in &grouping.jobs {
        let parts: Vec<_> = job
            .files
            .iter()
            .map(|(f, c)| (&files[*f], c.clone()))
            .collect();
        let schedule = draft(&parts, Hints { stem: &job.stem }).build();
        units += schedule.units.len();
        assert_eq!(schedule.faults.len(), 0);
    }
    assert_eq!(units, 10 * jobs as usize);
    // Taken for one job, the repeated tags stay one row each.
    let whole = draft(&[(&files[0], RowChoice::All)], Hints { stem: "season" }).build();
    assert_eq!(whole.units.len(), 10 * jobs as usize);
    assert_eq!(whole.audited_units().count(), 10);
}
