//! A finding's id: the same in every revision of a job in which the same
//! thing is wrong with the same subject.

use sha2::{Digest, Sha256};

/// Twelve hexadecimal digits over job key, rule, subject key, field and
/// ordinal among equals. Never over a row, a file, a number or a text: a
/// finding whose numbers changed keeps its id.
pub fn finding_id(job: &str, rule: &str, subject: &str, field: &str, ordinal: u32) -> String {
    let mut hash = Sha256::new();
    for part in [job, rule, subject, field] {
        hash.update((part.len() as u64).to_le_bytes());
        hash.update(part.as_bytes());
    }
    hash.update(ordinal.to_le_bytes());
    let digest = hash.finalize();
    digest
        .iter()
        .take(6)
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_do_not_run_into_each_other() {
        let id = finding_id("a", "b", "c", "", 0);
        assert_eq!(id.len(), 12);
        assert_ne!(id, finding_id("ab", "", "c", "", 0));
        assert_ne!(id, finding_id("a", "b", "c", "", 1));
        assert_eq!(id, finding_id("a", "b", "c", "", 0));
    }
}
