//! Where a value stood: file, sheet, row, column, and the text as written.
//!
//! A located value carries eight bytes of place and no text: a table of a
//! million rows must not hold a million strings. The text is kept once, in
//! the job's [`Sources`], and found by the cell.

use super::field::{FieldName, TableKind};
use serde::{Deserialize, Serialize};
use std::fmt;

/// A row counted from zero, as programs count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct RowIndex(pub u32);

/// A row counted from one, as a spreadsheet shows it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowNumber(pub u32);

/// A column counted from zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ColIndex(pub u16);

impl From<RowIndex> for RowNumber {
    fn from(row: RowIndex) -> Self {
        // The one place where zero-based becomes one-based.
        Self(row.0.saturating_add(1))
    }
}

impl fmt::Display for RowNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for ColIndex {
    /// The letters of a spreadsheet: `A`, `Z`, `AA`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut letters = Vec::with_capacity(3);
        let mut rest = u32::from(self.0) + 1;
        while rest > 0 {
            rest -= 1;
            letters.push(char::from(b'A' + (rest % 26) as u8));
            rest /= 26;
        }
        letters
            .iter()
            .rev()
            .try_for_each(|letter| write!(f, "{letter}"))
    }
}

/// `C7`, as a spreadsheet names a cell.
pub fn a1(row: RowIndex, column: ColIndex) -> String {
    format!("{column}{}", RowNumber::from(row))
}

/// A cell of a table that was read. `table` indexes [`Sources::tables`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CellId {
    pub table: u32,
    pub row: RowIndex,
    pub column: ColIndex,
}

/// What a finding or an outcome is pinned to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// The job as a whole.
    Job,
    /// A file of the job: index into [`Sources::files`].
    File(u32),
    /// The heading of a table: index into [`Sources::tables`].
    Table(u32),
    Cell(CellId),
}

impl From<CellId> for Place {
    fn from(cell: CellId) -> Self {
        Self::Cell(cell)
    }
}

/// A value and the cell that it came from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Located<T> {
    pub value: T,
    pub at: CellId,
}

impl<T> Located<T> {
    pub fn new(value: T, at: CellId) -> Self {
        Self { value, at }
    }
}

/// One cell of a schedule, in the four states that a cell can be in.
#[derive(Clone, Debug, PartialEq)]
pub enum Field<T> {
    /// A value that was understood.
    Given(Located<T>),
    /// Nothing there: the cell is empty, or holds a dash or `N/A`. `None`
    /// where the table has no such column at all.
    Blank(Option<CellId>),
    /// To be determined (`TBD`, `?`): a question, never a default.
    Unknown(CellId),
    /// Provided elsewhere (`NIC`, `BY OTHERS`, `EXIST`): there, not audited.
    Elsewhere(CellId),
    /// Text that could not be understood: reported as a reading fault.
    Unreadable(CellId),
}

impl<T> Default for Field<T> {
    fn default() -> Self {
        Self::Blank(None)
    }
}

impl<T> Field<T> {
    pub fn given(value: T, at: CellId) -> Self {
        Self::Given(Located { value, at })
    }

    pub fn get(&self) -> Option<&T> {
        match self {
            Self::Given(located) => Some(&located.value),
            _ => None,
        }
    }

    pub fn copied(&self) -> Option<T>
    where
        T: Copy,
    {
        self.get().copied()
    }

    /// The cell, empty or not; `None` where there is no such column.
    pub fn at(&self) -> Option<CellId> {
        match self {
            Self::Given(located) => Some(located.at),
            Self::Blank(at) => *at,
            Self::Unknown(at) | Self::Elsewhere(at) | Self::Unreadable(at) => Some(*at),
        }
    }

    pub fn is_given(&self) -> bool {
        matches!(self, Self::Given(_))
    }

    /// The table has no such column.
    pub fn no_column(&self) -> bool {
        matches!(self, Self::Blank(None))
    }

    /// Empty, or a word for nothing; not unknown, elsewhere or unreadable.
    pub fn is_blank(&self) -> bool {
        matches!(self, Self::Blank(_))
    }

    pub fn is_elsewhere(&self) -> bool {
        matches!(self, Self::Elsewhere(_))
    }

    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Field<U> {
        match self {
            Self::Given(located) => Field::given(f(located.value), located.at),
            Self::Blank(at) => Field::Blank(at),
            Self::Unknown(at) => Field::Unknown(at),
            Self::Elsewhere(at) => Field::Elsewhere(at),
            Self::Unreadable(at) => Field::Unreadable(at),
        }
    }

    /// This where something stands in it, else `other`. Used where rows of
    /// one identity are merged.
    pub fn or(self, other: Self) -> Self {
        match (&self, &other) {
            (Self::Blank(None), _) => other,
            (Self::Blank(Some(_)), Self::Blank(_)) => self,
            (Self::Blank(Some(_)), _) => other,
            _ => self,
        }
    }
}

/// A file of a job.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceFile {
    /// Relative to the folder that was named, with `/` between its parts.
    pub path: String,
    /// Bytes of the file, for the reader of `read`.
    pub bytes: u64,
}

/// How one column of a table was understood.
#[derive(Clone, Debug, PartialEq)]
pub struct ColumnMap {
    pub column: ColIndex,
    /// The heading as written, the rows of a tall heading joined by a space.
    pub heading: String,
    /// Every field that this column feeds; empty where it is not recognised.
    pub fields: Vec<FieldName>,
    /// How sure, 0 to 1.
    pub score: f64,
}

/// A row that is not data, and why.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct RowLeftOut {
    pub row: RowIndex,
    pub reason: String,
}

/// A table that was found in a file.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceTable {
    /// Index into [`Sources::files`].
    pub file: u32,
    /// Name of the sheet; `None` for text files.
    pub sheet: Option<String>,
    /// The main kind of the table.
    pub kind: TableKind,
    /// All kinds that its rows carry: a wide row holds several.
    pub kinds: Vec<TableKind>,
    /// Rows of the heading, first and last; equal for a one-row heading.
    pub header: (RowIndex, RowIndex),
    /// The table, by its number, that cells of this sheet were gathered into:
    /// then this is a place for them alone, without columns or rows.
    pub part_of: Option<u32>,
    pub columns: Vec<ColumnMap>,
    pub rows_taken: u32,
    pub rows_left_out: Vec<RowLeftOut>,
    /// The sheet is hidden in the workbook: read all the same, and said.
    pub hidden: bool,
}

impl SourceTable {
    /// The first cell of the heading.
    pub fn heading_cell(&self) -> (RowIndex, ColIndex) {
        let column = self.columns.first().map_or(ColIndex(0), |c| c.column);
        (self.header.0, column)
    }

    /// Whether a column of this table feeds `field`.
    pub fn has(&self, field: FieldName) -> bool {
        self.columns.iter().any(|c| c.fields.contains(&field))
    }
}

/// A place spelled out for people.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Address {
    pub file: String,
    /// Empty for text files and for a whole file.
    pub sheet: String,
    /// Empty for a whole file.
    pub cell: String,
}

/// Files, tables and texts of one job.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sources {
    pub files: Vec<SourceFile>,
    pub tables: Vec<SourceTable>,
    texts: Texts,
}

#[derive(Clone, Debug, Default, PartialEq)]
struct Texts {
    cells: Vec<(CellId, u32, u32)>,
    buffer: String,
    sorted: bool,
}

impl Sources {
    /// Keeps the text of a cell. Call [`Sources::seal`] once after the last.
    pub fn keep_text(&mut self, at: CellId, text: &str) {
        let start = self.texts.buffer.len() as u32;
        self.texts.buffer.push_str(text);
        self.texts
            .cells
            .push((at, start, self.texts.buffer.len() as u32));
        self.texts.sorted = false;
    }

    /// Sorts the texts, so that they can be found.
    pub fn seal(&mut self) {
        self.texts.cells.sort_by_key(|(cell, ..)| *cell);
        self.texts.cells.dedup_by_key(|(cell, ..)| *cell);
        self.texts.sorted = true;
    }

    /// The text as it was written in the cell; empty where nothing was kept.
    pub fn text(&self, at: CellId) -> &str {
        debug_assert!(
            self.texts.sorted || self.texts.cells.is_empty(),
            "seal() first"
        );
        match self
            .texts
            .cells
            .binary_search_by_key(&at, |(cell, ..)| *cell)
        {
            Ok(found) => {
                let (_, start, end) = self.texts.cells[found];
                &self.texts.buffer[start as usize..end as usize]
            }
            Err(_) => "",
        }
    }

    /// Spells a place out: the cell itself, the first heading cell of a
    /// table, the file alone, or nothing for the job.
    pub fn address(&self, place: Place) -> Address {
        let of = |file: u32| {
            let path = self
                .files
                .get(file as usize)
                .map_or("", |f| f.path.as_str());
            path.to_owned()
        };
        let in_table = |table: u32, cell: Option<(RowIndex, ColIndex)>| {
            let Some(source) = self.tables.get(table as usize) else {
                return Address {
                    file: String::new(),
                    sheet: String::new(),
                    cell: String::new(),
                };
            };
            let (row, column) = cell.unwrap_or_else(|| source.heading_cell());
            Address {
                file: of(source.file),
                sheet: source.sheet.clone().unwrap_or_default(),
                cell: a1(row, column),
            }
        };
        match place {
            Place::Job => Address {
                file: String::new(),
                sheet: String::new(),
                cell: String::new(),
            },
            Place::File(file) => Address {
                file: of(file),
                sheet: String::new(),
                cell: String::new(),
            },
            Place::Table(table) => in_table(table, None),
            Place::Cell(cell) => in_table(cell.table, Some((cell.row, cell.column))),
        }
    }

    /// Index of the file that a place lies in.
    pub fn file_of(&self, place: Place) -> Option<u32> {
        match place {
            Place::Job => None,
            Place::File(file) => Some(file),
            Place::Table(table) => self.tables.get(table as usize).map(|t| t.file),
            Place::Cell(cell) => self.tables.get(cell.table as usize).map(|t| t.file),
        }
    }

    /// Heading of the column that a cell stands in, as written.
    pub fn heading(&self, at: CellId) -> &str {
        self.tables
            .get(at.table as usize)
            .and_then(|t| t.columns.iter().find(|c| c.column == at.column))
            .map_or("", |c| c.heading.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_lettered_as_a_spreadsheet_letters_them() {
        for (index, letters) in [
            (0, "A"),
            (25, "Z"),
            (26, "AA"),
            (701, "ZZ"),
            (702, "AAA"),
            (16383, "XFD"),
        ] {
            assert_eq!(ColIndex(index).to_string(), letters);
        }
        assert_eq!(a1(RowIndex(6), ColIndex(2)), "C7");
    }

    #[test]
    fn a_cell_gives_back_its_text() {
        let cell = |row, column| CellId {
            table: 0,
            row: RowIndex(row),
            column: ColIndex(column),
        };
        let mut sources = Sources::default();
        sources.keep_text(cell(4, 1), "30A/2P");
        sources.keep_text(cell(2, 1), "~200 ft");
        sources.seal();
        assert_eq!(sources.text(cell(2, 1)), "~200 ft");
        assert_eq!(sources.text(cell(4, 1)), "30A/2P");
        assert_eq!(sources.text(cell(9, 9)), "");
    }

    #[test]
    fn merging_prefers_what_was_written() {
        let at = CellId {
            table: 0,
            row: RowIndex(0),
            column: ColIndex(0),
        };
        let given = Field::given(1, at);
        assert_eq!(Field::Blank(Some(at)).or(given.clone()), given);
        assert_eq!(
            Field::<i32>::Blank(None).or(Field::Blank(Some(at))),
            Field::Blank(Some(at))
        );
        assert_eq!(given.clone().or(Field::given(2, at)), given);
    }
}
