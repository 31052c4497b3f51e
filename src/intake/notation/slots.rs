use super::{Context, Reading};
use crate::schedule::wire::*;
use crate::schedule::*;

/// Panel and slots of one cell: `LP-1,3`.
#[derive(Clone, Debug, PartialEq)]
pub struct PanelSlots {
    pub panel: Name,
    pub slots: Vec<Slot>,
}

/// `panels` are the names of the panels that the job schedules, as far as known.
pub fn panel_slots(text: &str, _panels: &[Name], _ctx: &Context) -> Reading<PanelSlots> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
pub fn slots(text: &str, _ctx: &Context) -> Reading<Vec<Slot>> {
    Reading::Unreadable {
        expected: "",
        guess: Some(text.to_owned()),
    }
}
