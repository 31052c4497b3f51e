//! What a pure function said before. Schedules of a batch are of a few
//! templates: their headings and most of their values are the same from file
//! to file, and grammars are the dear part of reading them.

use super::schema::Schemas;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;

/// Texts that are remembered; a batch without end must not fill memory.
const MOST: usize = 1_000;
/// A longer text is prose, which does not come again.
const LONGEST: usize = 80;

/// Answers by text, for one thread. What is asked must depend on nothing
/// else.
#[derive(Debug)]
pub(in crate::intake) struct Memo<V>(RefCell<HashMap<String, V>>);

impl<V> Default for Memo<V> {
    fn default() -> Self {
        Self(RefCell::default())
    }
}

impl<V: Clone> Memo<V> {
    /// What was said of the text, or is said now.
    pub fn say(&self, text: &str, say: impl FnOnce() -> V) -> V {
        if text.len() > LONGEST {
            return say();
        }
        if let Some(said) = self.0.borrow().get(text) {
            return said.clone();
        }
        // Nothing is borrowed meanwhile: what is asked may ask again.
        let said = say();
        let mut known = self.0.borrow_mut();
        if known.len() >= MOST {
            known.clear();
        }
        known.insert(text.to_owned(), said.clone());
        said
    }
}

/// Answers that depend on the schemas too: those of other schemas are
/// forgotten.
#[derive(Debug)]
pub(in crate::intake) struct OfSchemas<V> {
    number: Cell<u64>,
    memo: Memo<V>,
}

impl<V> Default for OfSchemas<V> {
    fn default() -> Self {
        Self {
            number: Cell::default(),
            memo: Memo::default(),
        }
    }
}

impl<V: Clone> OfSchemas<V> {
    /// What was said of the text under these schemas, or is said now.
    pub fn say(&self, schemas: &Schemas, text: &str, say: impl FnOnce() -> V) -> V {
        if self.number.replace(schemas.number()) != schemas.number() {
            self.memo.0.borrow_mut().clear();
        }
        self.memo.say(text, say)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_is_asked_about_once() {
        let (memo, mut asked) = (Memo::default(), 0);
        for text in ["MCA", "MOP", "MCA", "MCA"] {
            let said = memo.say(text, || {
                asked += 1;
                text.len()
            });
            assert_eq!(said, 3);
        }
        assert_eq!(asked, 2);
        let prose = "x".repeat(LONGEST + 1);
        memo.say(&prose, || 1);
        assert_eq!(memo.say(&prose, || 2), 2);
    }

    #[test]
    fn memory_is_bounded() {
        let memo = Memo::default();
        for number in 0..MOST + 5 {
            memo.say(&number.to_string(), || number);
        }
        assert!(memo.0.borrow().len() <= MOST);
    }

    #[test]
    fn other_schemas_are_asked_anew() {
        let memo = OfSchemas::default();
        let own = Schemas::embedded();
        let others = own.with_headings("[headings]\n\"Stroom\" = \"unit.mca\"\n");
        let others = others.expect("valid");
        assert_eq!(memo.say(own, "Stroom", || 1), 1);
        assert_eq!(memo.say(own, "Stroom", || 2), 1);
        assert_eq!(memo.say(&others, "Stroom", || 3), 3);
        assert_eq!(memo.say(own, "Stroom", || 4), 4);
    }
}
