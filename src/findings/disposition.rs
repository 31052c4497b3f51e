//! What a reviewer would write on the submittal.

use std::fmt;

/// The first that applies. Never an approval: the reviewer signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Disposition {
    /// Nothing in it could be read.
    NotAudited,
    /// A `fix` stands.
    ReviseAndResubmit,
    /// A table is missing, or for some subject the protection against MOP
    /// and MCA, the supply circuit or the chain could not be checked.
    AuditedInPart,
    /// A `verify` stands.
    MakeCorrectionsNoted,
    NoExceptionsNoted,
}

impl Disposition {
    pub const ALL: [Self; 5] = [
        Self::NotAudited,
        Self::ReviseAndResubmit,
        Self::AuditedInPart,
        Self::MakeCorrectionsNoted,
        Self::NoExceptionsNoted,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::NotAudited => "not audited",
            Self::ReviseAndResubmit => "revise and resubmit",
            Self::AuditedInPart => "audited in part",
            Self::MakeCorrectionsNoted => "make corrections noted",
            Self::NoExceptionsNoted => "no exceptions noted",
        }
    }
}

impl Disposition {
    /// Its name, and that findings were accepted where any were.
    pub fn with_accepted(self, accepted: usize) -> String {
        match accepted {
            0 => self.name().to_owned(),
            _ => format!("{}, with accepted exceptions", self.name()),
        }
    }
}

impl fmt::Display for Disposition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
