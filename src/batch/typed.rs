//! What people typed into workbooks of ours.

use crate::findings::Reported;
use crate::report::remarks;
use std::collections::{BTreeMap, BTreeSet};

/// Remarks by the finding that they stand at.
pub(super) type Typed = BTreeMap<String, remarks::Remarks>;

/// What people typed, and into which copy: a remark whose finding is gone
/// stays where it was typed.
pub(super) struct TypedIn {
    pub all: Typed,
    /// Ids by copy; `None` where a set of files has one copy.
    pub by_copy: Option<BTreeMap<String, BTreeSet<String>>>,
}

impl TypedIn {
    pub fn add(&mut self, copy: &str, typed: Typed) {
        if let Some(copies) = &mut self.by_copy {
            let ids = copies.entry(copy.to_owned()).or_default();
            ids.extend(typed.keys().cloned());
        }
        merge(&mut self.all, typed);
    }

    /// What a copy with these findings has to carry.
    pub fn of_copy<'a>(&self, copy: &str, findings: impl Iterator<Item = &'a Reported>) -> Typed {
        let Some(copies) = &self.by_copy else {
            return self.all.clone();
        };
        let mut typed = Typed::new();
        let own = copies.get(copy).into_iter().flatten().map(String::as_str);
        for id in findings.map(|finding| finding.id.as_str()).chain(own) {
            if let Some(remarks) = self.all.get(id) {
                typed.insert(id.to_owned(), remarks.clone());
            }
        }
        typed
    }
}

pub(super) fn merge(into: &mut Typed, from: Typed) {
    for (id, remark) in from {
        into.entry(id).or_default().fill(&remark);
    }
}
