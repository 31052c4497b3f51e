//! A part of a batch: the source folders whose turn it is, told from their
//! relative path alone, before a file is read.
//!
//! Jobs never reach across folders, so a folder is never split; where each
//! file is a job, as asked for with `--job-per file`, files are dealt out.

use super::discover::{Discovery, folder_of};
use crate::intake::job::JobPer;
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// The `part`-th of `of` parts, counted from one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shard {
    part: u32,
    of: u32,
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.part, self.of)
    }
}

impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "expected K/N, the K-th of N parts, as 2/8".to_owned();
        let (part, of) = text.split_once('/').ok_or_else(wrong)?;
        let (part, of): (u32, u32) = match (part.parse(), of.parse()) {
            (Ok(part), Ok(of)) => (part, of),
            _ => return Err(wrong()),
        };
        match part {
            0 => Err(wrong()),
            part if part > of => Err(format!("there is no part {part} of {of}")),
            part => Ok(Self { part, of }),
        }
    }
}

impl Shard {
    /// Name of its own folder, beside those of the other parts.
    pub fn folder(self) -> String {
        format!("audited-{}-of-{}", self.part, self.of)
    }

    /// Leaves of what was found what this part audits.
    pub(super) fn keep(self, found: &mut Discovery, per: JobPer) {
        found.candidates.retain(|candidate| match per {
            JobPer::File => self.takes(&candidate.relative),
            JobPer::Facts | JobPer::Folder => self.takes(&candidate.folder),
        });
        found.unread.retain(|(path, _)| self.takes(folder_of(path)));
        found.others.retain(|folder, _| self.takes(folder));
    }

    /// The first eight bytes of SHA-256 of the path, as a number, decide.
    fn takes(self, path: &str) -> bool {
        let hash = Sha256::digest(path.as_bytes());
        let number = hash
            .iter()
            .take(8)
            .fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
        number % u64::from(self.of) == u64::from(self.part - 1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_folder_is_in_one_part() {
        let folders: Vec<String> = (0..200).map(|n| format!("season/job {n}")).collect();
        for of in [1, 2, 3, 8] {
            let parts: Vec<Shard> = (1..=of).map(|part| Shard { part, of }).collect();
            for folder in &folders {
                let takes = parts.iter().filter(|part| part.takes(folder)).count();
                assert_eq!(takes, 1, "{folder} of {of}");
            }
            for part in parts {
                let share = folders.iter().filter(|folder| part.takes(folder)).count();
                assert!(share * of as usize > 120, "{share} folders in {part}");
            }
        }
    }

    /// The split is told from SHA-256 alone, so that all machines agree: that
    /// of "abc" begins with ba7816bf8f01cfea (FIPS 180-2, appendix B.1), which
    /// leaves 2 when divided by 7, and that of nothing with e3b0c44298fc1c14
    /// (from memory), which leaves 1.
    #[test]
    fn the_split_is_that_of_the_published_hash() {
        assert_eq!(0xba78_16bf_8f01_cfea_u64 % 7, 2);
        assert!(Shard { part: 3, of: 7 }.takes("abc"));
        assert_eq!(0xe3b0_c442_98fc_1c14_u64 % 7, 1);
        assert!(Shard { part: 2, of: 7 }.takes(""));
    }

    #[test]
    fn parts_are_written_as_two_numbers() {
        assert_eq!("2/8".parse(), Ok(Shard { part: 2, of: 8 }));
        assert_eq!(Shard { part: 2, of: 8 }.folder(), "audited-2-of-8");
        for wrong in ["", "2", "0/3", "4/3", "1/0", "a/3", "1/3/3", "-1/3"] {
            assert!(wrong.parse::<Shard>().is_err(), "{wrong}");
        }
    }
}
