//! Controllers below their units.

use super::{Builder, Hang, ends};
use crate::findings::{Reported, Subject};
use crate::report::circuits::state;
use crate::schedule::{ControllerId, Name, RunEnd, RunId, UnitId};

impl Builder<'_> {
    pub(super) fn hangs(&self, id: UnitId) -> Vec<Hang> {
        let unit = self.schedule.unit(id);
        let mut hangs: Vec<Hang> = unit
            .controllers
            .iter()
            .map(|controller| self.hang(*controller, id))
            .collect();
        if hangs.is_empty() {
            hangs.push(Hang {
                label: "no controller".to_owned(),
                room: String::new(),
                words: String::new(),
                wired: false,
                astray: false,
                tags: Vec::new(),
            });
        }
        hangs
    }

    /// What a controller's run joins it to.
    fn far_end(&self, id: ControllerId, run: RunId) -> String {
        let run = self.schedule.run(run);
        let here = |end: &RunEnd| matches!(end, RunEnd::Controller(of) if *of == id);
        let (end, name) = match here(&run.from_end) {
            true => (&run.to_end, &run.to),
            false => (&run.from_end, &run.from),
        };
        match end {
            RunEnd::Unit(unit) => self.schedule.unit_label(*unit),
            RunEnd::Controller(of) => self.schedule.controller_label(*of),
            _ => match state(self.schedule, name) {
                name if name.is_empty() => "?".to_owned(),
                name => name,
            },
        }
    }

    fn hang(&self, id: ControllerId, unit: UnitId) -> Hang {
        let controller = self.schedule.controller(id);
        let runs: Vec<RunId> = controller
            .runs
            .iter()
            .copied()
            .filter(|run| ends(self.schedule.run(*run)).contains(&unit))
            .collect();
        let astray = controller.runs.first().filter(|_| runs.is_empty());
        let words = match (runs.first(), astray) {
            (Some(run), _) => self.length(*run),
            (None, Some(run)) => format!("to {}, {}", self.far_end(id, *run), self.length(*run)),
            _ if controller.wireless.copied() == Some(true) => "wireless".to_owned(),
            _ => "no run listed".to_owned(),
        };
        let mut label = self.schedule.controller_label(id);
        if controller.unit_ids.len() > 1 {
            label.push_str(&format!(" \u{00d7}{}", controller.unit_ids.len()));
        }
        let of = |finding: &Reported| match finding.subject {
            Subject::Controller(of) => of == id,
            Subject::Run(run) => controller.runs.contains(&run),
            _ => false,
        };
        let room = state(self.schedule, &controller.room);
        let of_unit = state(self.schedule, &self.schedule.unit(unit).room);
        let same = Name::new(&room) == Name::new(&of_unit);
        Hang {
            label,
            room: if same { String::new() } else { room },
            words,
            wired: !runs.is_empty(),
            astray: astray.is_some(),
            tags: self.tags(of),
        }
    }
}
