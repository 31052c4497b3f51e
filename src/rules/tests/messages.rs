//! A message can be checked by hand: it shows what was found and the limit,
//! with units, and the arithmetic that it prints comes out as it says.

use super::limits::limits;
use super::planted::{PLANTED, practice};
use crate::findings::{Finding, Outcome, Value};
use crate::rules::by_name;
use crate::schedule::Draft;
use std::fmt::Write;

/// The findings of one rule alone on a schedule.
fn findings(rule: &str, draft: Draft) -> Vec<Outcome> {
    let rule = by_name(rule).expect("a rule");
    let schedule = draft.build();
    let practice = practice(rule.name).for_job(&schedule);
    let outcomes = (rule.check)(&schedule, &practice);
    outcomes
        .into_iter()
        .filter(|o| o.finding().is_some())
        .collect()
}

/// Every finding of every planted fault and of every step beside a limit.
fn all() -> Vec<(&'static str, Outcome)> {
    let mut all = Vec::new();
    for planted in PLANTED {
        let found = findings(planted.rule, (planted.wrong)());
        all.extend(found.into_iter().map(|outcome| (planted.rule, outcome)));
    }
    for limit in limits() {
        for (value, _) in limit.steps {
            let found = findings(limit.rule, (limit.job)(*value));
            all.extend(found.into_iter().map(|outcome| (limit.rule, outcome)));
        }
    }
    all
}

fn is_quantity(value: &Value) -> bool {
    !matches!(value, Value::Text(_) | Value::Count(..) | Value::Size(_))
}

/// Findings whose limit stands in the message as its parts.
fn told(finding: &Finding, value: &Value) -> bool {
    let text = value.to_string();
    let how = finding
        .limit
        .as_ref()
        .map_or("", |limit| limit.how.as_str());
    finding.says.contains(&text)
        // `90 % of 6,000 ft`: the product stands beside its factors.
        || !how.is_empty() && how.split(", ").any(|part| finding.says.contains(part))
        || how.split(" of ").all(|part| finding.says.contains(part.split(',').next().unwrap_or(part)))
}

#[test]
fn every_message_shows_what_was_found_and_the_limit() {
    let mut silent = String::new();
    for (rule, outcome) in all() {
        let Some(finding) = outcome.finding() else {
            continue;
        };
        if is_quantity(&finding.found) && !finding.says.contains(&finding.found.to_string()) {
            let _ = writeln!(silent, "{rule}: found {}: {}", finding.found, finding.says);
        }
        if let Some(limit) = &finding.limit
            && is_quantity(&limit.value)
            && !told(finding, &limit.value)
        {
            let _ = writeln!(silent, "{rule}: limit {limit}: {}", finding.says);
        }
        for (text, what) in [(&finding.says, "message"), (&finding.remedy, "remedy")] {
            if text.trim().is_empty() || !text.trim_end().ends_with('.') || text.contains("  ") {
                let _ = writeln!(silent, "{rule}: {what}: {text:?}");
            }
        }
    }
    assert!(silent.is_empty(), "{silent}");
}

/// The value of an arithmetic as printed; `None` where it is words.
fn evaluate(text: &str) -> Option<f64> {
    let mut plain = text.replace(',', "");
    for (written, meant) in [
        (" ohm per 1000 ft", ""),
        ("√3", "1.7320508075688772"),
        ("²", "^"),
        ("×", "*"),
    ] {
        plain = plain.replace(written, meant);
    }
    let mut tokens = Vec::new();
    for word in plain
        .replace('(', " ( ")
        .replace(')', " ) ")
        .replace('^', " ^ ")
        .split_whitespace()
    {
        match word {
            "A" | "V" | "W" | "kW" | "ft" | "VA" | "%" | "MBH" => {}
            "*" | "/" | "+" | "(" | ")" | "^" => tokens.push(word.to_owned()),
            number => {
                number.parse::<f64>().ok()?;
                tokens.push(number.to_owned());
            }
        }
    }
    let mut at = 0;
    let value = sum(&tokens, &mut at)?;
    (at == tokens.len() && tokens.len() > 1).then_some(value)
}

fn sum(tokens: &[String], at: &mut usize) -> Option<f64> {
    let mut total = product(tokens, at)?;
    while tokens.get(*at).is_some_and(|token| token == "+") {
        *at += 1;
        total += product(tokens, at)?;
    }
    Some(total)
}

fn product(tokens: &[String], at: &mut usize) -> Option<f64> {
    let mut total = factor(tokens, at)?;
    while let Some(sign) = tokens.get(*at).filter(|t| *t == "*" || *t == "/") {
        *at += 1;
        let next = factor(tokens, at)?;
        total = if sign == "*" {
            total * next
        } else {
            total / next
        };
    }
    Some(total)
}

fn factor(tokens: &[String], at: &mut usize) -> Option<f64> {
    let token = tokens.get(*at)?;
    *at += 1;
    let value = if token == "(" {
        let inner = sum(tokens, at)?;
        (tokens.get(*at)? == ")").then_some(())?;
        *at += 1;
        inner
    } else {
        token.parse().ok()?
    };
    if tokens.get(*at).is_some_and(|token| token == "^") {
        *at += 1;
        return Some(value * value);
    }
    Some(value)
}

#[test]
fn the_evaluator_reads_what_is_printed() {
    for (text, value) in [
        ("1.25 × 24 A + 1.4 A", 31.4),
        ("1.15 × (24 A + 1.4 A)", 29.21),
        (
            "2 × 25.4 A × 300 ft × 1.24 ohm per 1,000 ft / 1,000",
            18.8976,
        ),
        ("5 kW × (208 V / 240 V)²", 3.7556),
        ("50,000 W / (208 V × √3)", 138.79),
    ] {
        let found = evaluate(text).unwrap_or(f64::NAN);
        assert!((found - value).abs() < 0.005, "{text}: {found}");
    }
    assert_eq!(evaluate("nameplate"), None);
    assert_eq!(evaluate("60 A"), None);
}

/// Printed values are rounded, and so are the numbers that they come from.
fn agrees(printed: &str, computed: f64) -> bool {
    let number = printed
        .split_whitespace()
        .next()
        .unwrap_or("")
        .replace(',', "");
    let Ok(number) = number.parse::<f64>() else {
        return true;
    };
    (number - computed).abs() <= 0.06_f64.max(computed.abs() * 0.002)
}

#[test]
fn the_arithmetic_that_is_printed_comes_out_as_it_says() {
    let mut wrong = String::new();
    let mut evaluated = 0;
    for (rule, outcome) in all() {
        let mut lines: Vec<(String, String)> = outcome
            .working
            .iter()
            .map(|step| (step.value.to_string(), step.how.clone()))
            .collect();
        if let Some(limit) = outcome.finding().and_then(|finding| finding.limit.as_ref()) {
            lines.push((limit.value.to_string(), limit.how.clone()));
        }
        for (value, how) in lines {
            // `1.75 × 24 A + 1.4 A = 43.4 A, to a standard rating`.
            let (arithmetic, result) = match how.split_once(" = ") {
                Some((arithmetic, result)) => (arithmetic.to_owned(), result.to_owned()),
                None => (how.clone(), value),
            };
            let Some(computed) = evaluate(&arithmetic) else {
                continue;
            };
            evaluated += 1;
            if !agrees(&result, computed) {
                let _ = writeln!(wrong, "{rule}: {arithmetic} is {computed}, not {result}");
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(
        evaluated >= 25,
        "only {evaluated} lines of arithmetic were read"
    );
}
