//! Worked examples: what each rule says of a small schedule with one fault
//! planted in it. The text beside this file is written by a test that builds
//! the schedules and runs the rules, and that fails where it is stale.

use std::sync::LazyLock;

/// What one rule says of one subject of a small schedule.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Example {
    pub rule: String,
    pub severity: String,
    pub subject: String,
    pub message: String,
    pub found: String,
    pub limit: String,
    /// Steps of the arithmetic, one line each.
    pub working: Vec<String>,
    pub remedy: String,
}

static EXAMPLES: LazyLock<Vec<Example>> = LazyLock::new(|| {
    // A text that is no JSON fails the test that writes it.
    serde_json::from_str(include_str!("examples.json")).unwrap_or_default()
});

/// The worked example of a rule.
pub fn example(rule: &str) -> Option<Example> {
    EXAMPLES
        .iter()
        .find(|example| example.rule == rule)
        .cloned()
}
