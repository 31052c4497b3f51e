//! What a reviewer typed at a finding in a workbook of ours.

use super::sheet::date;
use crate::findings::{Acceptance, Target};

/// What stands at one finding.
#[derive(Clone, Copy, Debug, Default)]
pub struct Typed<'a> {
    pub id: &'a str,
    /// The column *Accept*.
    pub accept: &'a str,
    /// The column *Reviewer's remark*.
    pub remark: &'a str,
    /// What was found and the limit when it was typed.
    pub found: &'a str,
    pub limit: &'a str,
    /// Where it stands, for people.
    pub origin: &'a str,
}

/// Marks that say yes and name nobody.
const MERE_MARKS: [&str; 12] = [
    "x", "xx", "y", "yes", "ok", "okay", "true", "1", "accept", "accepted", "a", "agreed",
];
const NO: [&str; 7] = ["n", "no", "-", "\u{2013}", "false", "0", "rejected"];

/// The acceptance that was meant; `None` where none was. One that names
/// nobody or gives no reason says so and covers nothing.
pub fn typed(typed: Typed) -> Option<Acceptance> {
    let accept = typed.accept.trim();
    if accept.is_empty() || NO.contains(&accept.to_lowercase().as_str()) {
        return None;
    }
    let (by, until) = split_until(without_yes(accept));
    let mut wanting = Vec::new();
    let is_name = by.chars().filter(|c| c.is_alphabetic()).count() >= 2;
    if !is_name || MERE_MARKS.contains(&by.to_lowercase().as_str()) {
        wanting.push("write the name of who accepts it into Accept".to_owned());
    }
    if typed.remark.trim().is_empty() {
        wanting.push("write the reason into Reviewer's remark".to_owned());
    }
    let until = match until.map(|text| (date(text), text)) {
        None => None,
        Some((Some(date), _)) => Some(date),
        Some((None, text)) => {
            wanting.push(format!(
                "\u{201c}{text}\u{201d} behind until is no date: write it as 2027-01-31"
            ));
            None
        }
    };
    Some(Acceptance {
        job: String::new(),
        target: Target::Id(typed.id.to_owned()),
        found: typed.found.to_owned(),
        limit: typed.limit.to_owned(),
        reason: typed.remark.trim().to_owned(),
        by: by.to_owned(),
        until,
        origin: typed.origin.to_owned(),
        wanting: (!wanting.is_empty()).then(|| wanting.join("; ")),
    })
}

/// `yes, J. Ames` and `accepted by J. Ames` name J. Ames.
fn without_yes(text: &str) -> &str {
    let mut rest = text;
    for word in ["yes", "ok", "okay", "accepted", "by"] {
        let begins = rest
            .get(..word.len())
            .is_some_and(|start| start.eq_ignore_ascii_case(word));
        let behind = rest.get(word.len()..).unwrap_or_default();
        if begins && behind.starts_with([',', ' ', ':']) {
            rest = behind.trim_start_matches([',', ' ', ':']);
        }
    }
    rest
}

/// `J. Ames until 2027-01-31`: the name, and what stands behind *until*.
fn split_until(text: &str) -> (&str, Option<&str>) {
    let lower = text.to_ascii_lowercase();
    let at = lower
        .match_indices("until")
        .map(|(at, _)| at)
        .find(|&at| at == 0 || lower.as_bytes().get(at - 1) == Some(&b' '));
    match at.and_then(|at| Some((text.get(..at)?, text.get(at + "until".len()..)?))) {
        Some((by, until)) => (by.trim().trim_end_matches(',').trim(), Some(until.trim())),
        None => (text, None),
    }
}
