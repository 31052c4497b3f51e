//! Words that several families put together in the same way.

/// `FC-1, FC-2, FC-3`; of more than `most` the first ones, `and 12 more`, so
/// that a message stays readable whatever the job.
pub(super) fn list(items: impl IntoIterator<Item = String>, most: usize) -> String {
    let mut shown = Vec::new();
    let mut more = 0_usize;
    for item in items {
        if shown.len() < most {
            shown.push(item);
        } else {
            more += 1;
        }
    }
    let mut text = shown.join(", ");
    if more > 0 {
        text.push_str(&format!(" and {more} more"));
    }
    text
}

/// `1 run`, `3 runs`.
pub(super) fn count(number: usize, one: &str, many: &str) -> String {
    if number == 1 {
        format!("1 {one}")
    } else {
        format!("{number} {many}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_are_cut_and_say_so() {
        let items = |n: usize| (0..n).map(|i| format!("FC-{i}"));
        assert_eq!(list(items(2), 2), "FC-0, FC-1");
        assert_eq!(list(items(4), 2), "FC-0, FC-1 and 2 more");
        assert_eq!(count(1, "run", "runs"), "1 run");
        assert_eq!(count(0, "run", "runs"), "0 runs");
    }
}
