//! `ampledger rules`.

mod tallied;

use super::words::row;
use super::{AUDITED, USAGE, explain, print};
use crate::batch::RULES_ACROSS_JOBS;
use crate::rules::{ALL, Family};
use std::fmt::Write;
use std::path::PathBuf;

/// List every rule.
///
/// By family, with the severities that it can give and the fault in one
/// line. `ampledger explain RULE` says more. With `--of`, how an audit stands
/// rule by rule instead.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// All that is declared of each rule, as JSON: an array, one entry a
    /// rule.
    #[arg(long)]
    json: bool,

    /// A folder that `ampledger audit` wrote: for each rule how many subjects
    /// met it, how many broke it, how many could not be checked, and for want
    /// of what.
    #[arg(long, value_name = "DIR", conflicts_with = "json")]
    of: Option<PathBuf>,
}

pub(super) fn run(args: &Args) -> u8 {
    if let Some(folder) = &args.of {
        return match tallied::text(folder) {
            Ok(text) => {
                print(&text);
                AUDITED
            }
            Err(says) => {
                eprintln!("ampledger: {says}");
                USAGE
            }
        };
    }
    if args.json {
        print(&(explain::as_json(&ALL, &RULES_ACROSS_JOBS) + "\n"));
    } else {
        print(&text());
    }
    AUDITED
}

fn text() -> String {
    let mut out = String::new();
    let mut family: Option<Family> = None;
    let width = ALL.iter().map(|rule| rule.name.len()).max().unwrap_or(0) + 2;
    for rule in ALL.iter() {
        if family != Some(rule.family) {
            let gap = if family.is_some() { "\n" } else { "" };
            let _ = writeln!(out, "{gap}{}", rule.family);
            family = Some(rule.family);
        }
        let names: Vec<&str> = rule.severities.iter().map(|s| s.name()).collect();
        let text = format!("{}: {}", names.join(", "), rule.summary);
        row(&mut out, 2, width, rule.name, &text);
    }
    let _ = writeln!(out, "\nacross jobs (in the outputs of the batch alone)");
    for about in &RULES_ACROSS_JOBS {
        let text = format!("{}: {}", about.worst, about.summary);
        row(&mut out, 2, width, about.name, &text);
    }
    let _ = writeln!(
        out,
        "\n{} rules; ampledger explain RULE says more",
        ALL.len() + RULES_ACROSS_JOBS.len()
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_is_listed_once_below_its_family() {
        let text = text();
        for rule in ALL.iter() {
            let lead = format!("  {} ", rule.name);
            assert_eq!(text.matches(&lead).count(), 1, "{}", rule.name);
        }
        let families = text
            .lines()
            .filter(|l| !l.starts_with(' ') && !l.is_empty());
        assert!(families.count() >= 10);
    }
}
