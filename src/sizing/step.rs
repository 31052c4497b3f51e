//! A value together with how it came about.

use crate::tables::Source;
use std::fmt;

/// One step of an arithmetic: `mca`, `22.5 A`, `1.25 × 18 A`.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Step {
    /// A stable key in kebab case.
    pub what: &'static str,
    /// The value with its unit.
    pub value: String,
    /// The numbers that it came from; empty for a value that was read.
    pub how: String,
    /// `None` for arithmetic that needs no source.
    pub source: Option<Source>,
}

impl Step {
    pub fn new(
        what: &'static str,
        value: impl fmt::Display,
        how: impl Into<String>,
        source: impl Into<Option<Source>>,
    ) -> Self {
        Self {
            what,
            value: value.to_string(),
            how: how.into(),
            source: source.into(),
        }
    }
}

/// A value and its steps, the last of which gives the value.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Worked<T> {
    pub value: T,
    pub steps: Vec<Step>,
}

impl<T> Worked<T> {
    pub fn new(value: T, steps: Vec<Step>) -> Self {
        Self { value, steps }
    }

    /// Takes the value and appends the steps to `steps`.
    pub fn into_value(self, steps: &mut Vec<Step>) -> T {
        steps.extend(self.steps);
        self.value
    }
}

/// `18 A + 2.5 A`; `0 A` for none.
pub(super) fn sum_of<T: fmt::Display>(items: &[T]) -> String {
    if items.is_empty() {
        return "0".to_owned();
    }
    items
        .iter()
        .map(T::to_string)
        .collect::<Vec<_>>()
        .join(" + ")
}
