//! `ampledger explain`.

use super::words::{cautions, row, section};
use super::{AUDITED, USAGE, print};
use crate::batch::RULES_ACROSS_JOBS;
use crate::report::formats::About;
use crate::rules::{self, Cite, Example, Rule};
use crate::schedule::Edition;
use crate::tables;
use serde_json::{Map, Value, json};
use std::fmt::Write;

/// Explain a rule.
///
/// What it looks for and why, how it is decided, what it does not look at,
/// a worked example, and what it stands on in each edition of the code.
#[derive(clap::Args, Debug)]
pub struct Args {
    /// Names of rules, as `ampledger rules` lists them.
    #[arg(required = true, value_name = "RULE")]
    rules: Vec<String>,

    /// As JSON: an array, one entry a rule.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &Args) -> u8 {
    let mut found = Vec::new();
    let mut across = Vec::new();
    let mut unknown = false;
    for name in &args.rules {
        let of_batch = RULES_ACROSS_JOBS.iter().find(|about| about.name == name);
        match (rules::by_name(name), of_batch) {
            (Some(rule), _) => found.push(rule),
            (None, Some(about)) => across.push(*about),
            (None, None) => {
                unknown = true;
                eprintln!("ampledger: {}", no_such_rule(name));
            }
        }
    }
    if args.json {
        print(&(as_json(&found, &across) + "\n"));
    } else {
        let of_jobs = found.iter().map(|rule| text(rule));
        let texts: Vec<String> = of_jobs.chain(across.iter().map(text_across)).collect();
        print(&texts.join("\n\n"));
    }
    if unknown { USAGE } else { AUDITED }
}

/// `no rule is called X; nearest: …`.
fn no_such_rule(name: &str) -> String {
    let wanted = name.trim().to_lowercase();
    let mut near: Vec<(f64, &str)> = rules::ALL
        .iter()
        .map(|rule| {
            let shared = words(&wanted)
                .filter(|word| words(rule.name).any(|own| own == *word))
                .count();
            let score = strsim::normalized_damerau_levenshtein(&wanted, rule.name);
            (score + 0.25 * shared as f64, rule.name)
        })
        .collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let names: Vec<&str> = near.iter().take(4).map(|(_, name)| *name).collect();
    format!("no rule is called {name}; nearest: {}", names.join(", "))
}

/// Words of a name that tell rules apart.
fn words(name: &str) -> impl Iterator<Item = &str> {
    name.split('-').filter(|word| word.len() > 2)
}

/// What a rule stands on in one edition; what is not of the code stands in
/// every one.
fn sources(rule: &Rule, edition: Edition) -> Vec<String> {
    rule.cites
        .iter()
        .map(|cite| match cite {
            Cite::Code(topic) if tables::section(*topic, edition).is_none() => {
                format!("{edition}: no section known to us")
            }
            Cite::Code(topic) => tables::Source::code(*topic, edition).to_string(),
            other => other.text(edition),
        })
        .collect()
}

fn severities(rule: &Rule) -> String {
    let names: Vec<&str> = rule.severities.iter().map(|s| s.name()).collect();
    names.join(", ")
}

fn text(rule: &Rule) -> String {
    let mut out = format!("{}\n  {}\n", rule.name, rule.summary);
    section(
        &mut out,
        "Family, severities",
        &format!("{}; {}", rule.family, severities(rule)),
    );
    section(&mut out, "Why it matters", rule.why);
    section(&mut out, "How it is decided", rule.decides);
    section(&mut out, "What it does not look at", rule.leaves);
    if !rule.yields_to.is_empty() {
        let waits = format!(
            "{}. Where one of them is found on the same subject, this rule is not checked there.",
            rule.yields_to.join(", ")
        );
        section(&mut out, "Waits for", &waits);
    }
    if let Some(example) = rules::example(rule.name) {
        write_example(&mut out, &example);
    }
    let _ = writeln!(out, "\nStands on");
    for edition in Edition::ALL {
        let all = sources(rule, edition).join("; ");
        row(&mut out, 2, 6, &edition.year().to_string(), &all);
    }
    let _ = writeln!(out, "\nCautions");
    for (name, caution) in cautions() {
        row(&mut out, 2, 18, name, caution);
    }
    out
}

/// A rule that compares jobs: it stands on the schedules alone.
fn text_across(about: &About) -> String {
    let mut out = format!("{}\n  {}\n", about.name, about.summary);
    section(
        &mut out,
        "Family, severities",
        &format!("{}; {}", about.family, about.worst),
    );
    section(&mut out, "Why it matters", about.why);
    section(&mut out, "How it is decided", about.decides);
    section(&mut out, "What it does not look at", about.leaves);
    let _ = writeln!(out, "\nCautions");
    for (name, caution) in cautions() {
        row(&mut out, 2, 18, name, caution);
    }
    out
}

fn write_example(out: &mut String, example: &Example) {
    let _ = writeln!(out, "\nWorked example");
    let mut put = |label: &str, text: &str| {
        if !text.is_empty() {
            row(out, 2, 10, label, text);
        }
    };
    put("subject", &example.subject);
    put(&example.severity, &example.message);
    put("found", &example.found);
    put("limit", &example.limit);
    for step in &example.working {
        put("worked", step);
    }
    put("to do", &example.remedy);
}

/// All that is declared, one entry a rule.
pub(super) fn as_json(rules: &[&Rule], across: &[About]) -> String {
    let of_jobs = rules.iter().map(|rule| entry(rule));
    let of_batch = across.iter().map(|about| {
        json!({
            "name": about.name,
            "family": about.family,
            "severities": [about.worst],
            "summary": about.summary,
            "why": about.why,
            "decides": about.decides,
            "leaves": about.leaves,
        })
    });
    let all: Vec<Value> = of_jobs.chain(of_batch).collect();
    // Values of texts alone always serialize.
    serde_json::to_string_pretty(&all).unwrap_or_default()
}

fn entry(rule: &Rule) -> Value {
    let by_edition: Map<String, Value> = Edition::ALL
        .into_iter()
        .map(|edition| (edition.year().to_string(), json!(sources(rule, edition))))
        .collect();
    json!({
        "name": rule.name,
        "family": rule.family.name(),
        "severities": rule.severities,
        "summary": rule.summary,
        "why": rule.why,
        "decides": rule.decides,
        "leaves": rule.leaves,
        "waits_for": rule.yields_to,
        "sources": by_edition,
        "example": rules::example(rule.name),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_unknown_rule_is_answered_with_the_nearest() {
        for (asked, near) in [
            ("protection-over-mcp", "protection-over-mop"),
            ("BUS-GAUGES", "bus-gauge"),
            ("strip-heat", "strip-heat-voltage"),
            ("voltage", "voltage-drop"),
        ] {
            let says = no_such_rule(asked);
            assert!(says.contains(near), "{says}");
        }
    }

    #[test]
    fn every_rule_explains_itself_by_every_edition() {
        for rule in rules::ALL.iter() {
            let text = text(rule);
            for edition in Edition::ALL {
                assert!(
                    text.contains(&format!("  {}  ", edition.year())),
                    "{}",
                    rule.name
                );
                assert!(
                    !sources(rule, edition).is_empty(),
                    "{} has no source",
                    rule.name
                );
            }
            for waits in rule.yields_to {
                assert!(text.contains(waits));
            }
            for part in [rule.summary, rule.why, rule.decides, rule.leaves] {
                assert!(!part.trim().is_empty(), "{} leaves a part empty", rule.name);
                let first = part.split_whitespace().next().unwrap_or_default();
                assert!(text.contains(first));
            }
        }
    }

    #[test]
    fn sections_of_2026_say_that_they_are_from_memory() {
        let rule = rules::by_name("protection-over-mop").unwrap();
        let all = sources(rule, Edition::Nec2026).join("; ");
        assert!(all.contains("NFPA 70-2026 440.4(B) (from memory)"), "{all}");
        let all = sources(rule, Edition::Nec2020).join("; ");
        assert!(!all.contains("memory"), "{all}");
    }
}
