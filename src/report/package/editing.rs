//! An edit in steps: what is left out of the author's sheets is known before
//! our own sheets are written, so that they can say so.

use super::fault::CannotEdit;
use super::sheet::Looks;
use super::styles::Styles;
use super::{CellLook, Edited, MarkLook, Package, SheetEdit, graft, sheet, strip};

/// A workbook of an author's that is being edited. What an earlier marking
/// left is out of it.
pub struct Editing<'a> {
    package: Package<'a>,
    styles: Styles,
    looks: Looks,
    edited: Edited,
}

impl<'a> Editing<'a> {
    /// # Errors
    /// Where it cannot be edited safely; so for all of these.
    pub fn begin(
        original: &'a [u8],
        cells: &[CellLook],
        marks: &[MarkLook],
    ) -> Result<Self, CannotEdit> {
        let mut package = Package::open(original)?;
        strip::strip(&mut package)?;
        let mut styles = Styles::read(
            &mut package.archive,
            &mut package.workbook,
            &mut package.types,
        )?;
        let looks = Looks::give(&mut styles, cells, marks)?;
        Ok(Self {
            package,
            styles,
            looks,
            edited: Edited::default(),
        })
    }

    /// Names of all sheets of the author's, chart sheets and hidden ones
    /// included.
    pub fn sheet_names(&self) -> Vec<String> {
        let sheets = self.package.workbook.sheets.iter();
        sheets.map(|sheet| sheet.name.clone()).collect()
    }

    /// Writes into the author's sheets, and says what was left out. The bytes
    /// come last.
    pub fn sheets(&mut self, sheets: &[SheetEdit]) -> Result<&Edited, CannotEdit> {
        let (mut ends, mut under_ours) = (Vec::new(), Vec::new());
        for edit in sheets {
            let said = sheet::edit(&mut self.package, edit, &self.looks, &mut self.edited)?;
            ends.extend(said.end.map(|end| (edit.name.clone(), end)));
            under_ours.push((edit.name.clone(), said.under_ours));
        }
        self.package.workbook.print_up_to(&ends)?;
        self.package.workbook.keep(&under_ours)?;
        Ok(&self.edited)
    }

    /// Puts the sheets of a workbook behind the author's, the one at place
    /// `active` in front when the file is opened.
    pub fn finish(mut self, appended: Option<&[u8]>, active: usize) -> Result<Edited, CannotEdit> {
        if let Some(appended) = appended {
            graft::graft(&mut self.package, &mut self.styles, appended, active)?;
        }
        self.styles.write(&mut self.package.archive)?;
        self.edited.bytes = self.package.save()?;
        Ok(self.edited)
    }
}
