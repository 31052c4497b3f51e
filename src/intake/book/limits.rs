//! How much of a file is read before it is refused.

/// Bounds that keep one file from filling memory or time.
///
/// The defaults leave room for a table of a million rows and refuse what no
/// schedule needs. All are counts or bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Limits {
    /// Bytes of the file itself.
    pub file_bytes: u64,
    /// Bytes of a file of a kind whose library builds whole sheets in memory
    /// (XLS).
    pub dense_file_bytes: u64,
    /// Bytes of all parts of a package, decompressed.
    pub unpacked_bytes: u64,
    /// Decompressed over compressed bytes of one part. Parts of less than
    /// [`Limits::RATIO_FROM`] are not held to it: small parts of a real
    /// workbook compress beyond any bound.
    pub ratio: u64,
    /// Parts of a package.
    pub entries: u64,
    pub sheets: u64,
    /// Rows of one sheet or text file.
    pub rows: u64,
    /// Columns of one sheet or text file.
    pub columns: u64,
    /// Cells with a value, over all sheets.
    pub cells: u64,
    /// Cells that a library would hold for a sheet that it builds densely,
    /// empty ones counted.
    pub dense_cells: u64,
    /// Bytes of text in cells, over all sheets.
    pub text_bytes: u64,
    /// Merged ranges of one sheet.
    pub merges: u64,
}

impl Limits {
    /// Bytes of a part below which its ratio is not looked at.
    pub const RATIO_FROM: u64 = 32 << 20;
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            file_bytes: 512 << 20,
            dense_file_bytes: 64 << 20,
            unpacked_bytes: 1 << 30,
            ratio: 200,
            entries: 10_000,
            sheets: 1_000,
            rows: 1_048_576 * 2,
            columns: 16_384,
            cells: 30_000_000,
            dense_cells: 8_000_000,
            text_bytes: 512 << 20,
            merges: 200_000,
        }
    }
}
