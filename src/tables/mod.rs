//! Published tables as data, each value with its source.
//!
//! Nothing is computed here. Where an edition differs, the value or the
//! section differs by row; a value that no public source confirmed says so.

pub mod conductors;
pub mod limits;
pub mod ratings;
pub mod sections;
#[cfg(test)]
mod tests;

pub use sections::{Topic, section};

use crate::schedule::Edition;
use std::fmt;

/// How a printed value is known to us.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Known {
    /// Read in a public secondary source.
    Published,
    /// Not seen confirmed.
    FromMemory,
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Source {
    /// A section of NFPA 70; `None` where its number in that edition is not
    /// known.
    Code {
        edition: Edition,
        section: Option<&'static str>,
        known: Known,
    },
    /// Another publication, named.
    Publication { name: &'static str, known: Known },
    /// Common practice of the trade, no source.
    Practice,
    /// What the unit's own nameplate says.
    Nameplate,
}

impl Source {
    /// The section of `topic` in the adopted edition.
    pub fn code(topic: Topic, edition: Edition) -> Self {
        Cite::published(topic).in_edition(edition)
    }

    pub fn from_memory(self) -> bool {
        matches!(
            self,
            Self::Code {
                known: Known::FromMemory,
                ..
            } | Self::Publication {
                known: Known::FromMemory,
                ..
            }
        )
    }
}

impl fmt::Display for Source {
    /// `NFPA 70-2020 440.22(A)`; what is from memory says so.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Code {
                edition,
                section: Some(section),
                ..
            } => write!(f, "{edition} {section}")?,
            Self::Code { edition, .. } => write!(f, "{edition}, section number not known")?,
            Self::Publication { name, .. } => f.write_str(name)?,
            Self::Practice => f.write_str("common practice, no source")?,
            Self::Nameplate => f.write_str("nameplate")?,
        }
        if self.from_memory() {
            f.write_str(" (from memory)")?;
        }
        Ok(())
    }
}

impl serde::Serialize for Source {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The citation that stands in a row of a table, before an edition is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cite {
    pub topic: Topic,
    pub known: Known,
}

impl Cite {
    pub const fn published(topic: Topic) -> Self {
        Self {
            topic,
            known: Known::Published,
        }
    }

    pub const fn from_memory(topic: Topic) -> Self {
        Self {
            topic,
            known: Known::FromMemory,
        }
    }

    /// The whole of the 2026 edition is from memory, whatever the row says.
    pub fn in_edition(self, edition: Edition) -> Source {
        let row = sections::row(self.topic);
        let known = if edition == Edition::Nec2026 {
            Known::FromMemory
        } else {
            self.known.max(row.known)
        };
        Source::Code {
            edition,
            section: row.in_edition(edition),
            known,
        }
    }
}

/// A value and the source that it was printed in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cited<T> {
    pub value: T,
    pub source: Source,
}

impl<T> Cited<T> {
    pub fn new(value: T, cite: Cite, edition: Edition) -> Self {
        Self {
            value,
            source: cite.in_edition(edition),
        }
    }
}
