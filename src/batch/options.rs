//! What is asked of a batch, and what comes of it.

use super::outputs::NotOurs;
use super::shard::Shard;
use super::since::Since;
use crate::findings::{Acceptance, Severity};
use crate::intake::job::JobPer;
use crate::intake::schema::Schemas;
use crate::practice::Practice;
use crate::report::ReportError;
use crate::report::drawing::Drawings;
use crate::takeoff::Prices;
use jiff::civil::Date;
use std::fmt;
use std::path::PathBuf;
use std::sync::Arc;

/// What to audit, and how.
#[derive(Clone, Debug)]
pub struct Options {
    pub paths: Vec<PathBuf>,
    pub out: PathBuf,
    pub force: bool,
    pub job_per: Option<JobPer>,
    /// Headings and the fields that they mean, the user's own among them.
    pub schemas: Arc<Schemas>,
    /// The only clock.
    pub as_of: Date,
    pub practice: Practice,
    /// The text that the practice was read from; empty for the defaults.
    pub profile: String,
    /// Audit this part of the source folders alone.
    pub shard: Option<Shard>,
    /// Audit every job, also those that are unchanged since the output folder
    /// was written.
    pub afresh: bool,
    /// Take unchanged jobs from this audit's folder too.
    pub reuse: Option<PathBuf>,
    /// Without them only the lists are written, and workbooks of earlier runs
    /// stay as they are.
    pub workbooks: bool,
    /// The user's own price list; empty where none was given.
    pub prices: Prices,
    /// Systems whose bus is drawn.
    pub drawings: Drawings,
    pub review: Review,
}

/// What is known of the findings beside the schedules.
#[derive(Clone, Debug, Default)]
pub struct Review {
    /// Findings that somebody answers for.
    pub accepted: Vec<Acceptance>,
    /// The earlier audit that this one is held against.
    pub since: Option<Since>,
    /// The least severity that is listed.
    pub least: Option<Severity>,
}

impl Review {
    pub(super) fn least(&self) -> Severity {
        self.least.unwrap_or(Severity::Note)
    }
}

/// Why nothing was audited.
#[derive(Debug)]
pub enum BatchError {
    Folder(NotOurs),
    Output(ReportError),
}

impl fmt::Display for BatchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Folder(reason) => f.write_str(&reason.0),
            Self::Output(error) => error.fmt(f),
        }
    }
}

impl From<ReportError> for BatchError {
    fn from(error: ReportError) -> Self {
        Self::Output(error)
    }
}

impl From<std::io::Error> for BatchError {
    fn from(error: std::io::Error) -> Self {
        Self::Output(ReportError::from(error))
    }
}

/// A batch that was audited.
#[derive(Debug)]
pub struct Batch {
    /// The summary for the terminal.
    pub summary: String,
    pub unread: usize,
    /// Sentences for standard error: files not read, files kept.
    pub warnings: Vec<String>,
    pub worst: Option<Severity>,
}

impl Batch {
    /// Something could not be read or written.
    pub fn is_incomplete(&self) -> bool {
        self.unread > 0
    }
}
