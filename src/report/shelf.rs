//! What a batch needs again only at its end, out of memory until then: a
//! season of jobs is larger than memory should be.

use super::ReportError;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::PathBuf;
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Bytes that stay in memory, so that a small batch touches no disk.
const KEPT_BYTES: usize = 2 << 20;

/// Takes values and gives them back. Beyond some megabytes they lie in a
/// file without a name, which is gone when the program ends, however it does.
#[derive(Debug)]
pub struct Shelf {
    /// Where the file is made.
    folder: PathBuf,
    inner: Mutex<Inner>,
}

#[derive(Debug)]
struct Inner {
    /// Bytes that may still be kept in memory.
    room: usize,
    file: Spill,
}

#[derive(Debug)]
enum Spill {
    NotNeeded,
    /// And how long it is.
    Open(File, u64),
    /// No folder takes a file: all stays in memory.
    Refused,
}

/// Where a value lies on its shelf.
#[derive(Debug)]
pub struct Place(Lies);

#[derive(Debug)]
enum Lies {
    InMemory(Box<[u8]>),
    InFile { at: u64, length: usize },
}

impl Shelf {
    /// A shelf whose file is made in this folder, else in that of the system
    /// for such files.
    pub fn new(folder: impl Into<PathBuf>) -> Self {
        Self {
            folder: folder.into(),
            inner: Mutex::new(Inner {
                room: KEPT_BYTES,
                file: Spill::NotNeeded,
            }),
        }
    }

    /// Lets nothing stay in memory.
    #[cfg(test)]
    fn without_room(self) -> Self {
        self.lock().room = 0;
        self
    }

    fn lock(&self) -> MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Puts a value away. What the disk does not take stays in memory.
    ///
    /// # Errors
    /// Where the value cannot be written down.
    pub fn put<T: Serialize>(&self, value: &T) -> Result<Place, ReportError> {
        let bytes = postcard::to_stdvec(value).map_err(|error| unknown(&error))?;
        let mut inner = self.lock();
        if let Some(room) = inner.room.checked_sub(bytes.len()) {
            inner.room = room;
            return Ok(Place(Lies::InMemory(bytes.into())));
        }
        Ok(Place(match inner.spill(&self.folder, &bytes) {
            Some(at) => Lies::InFile {
                at,
                length: bytes.len(),
            },
            None => Lies::InMemory(bytes.into()),
        }))
    }

    /// The value that was put there.
    ///
    /// # Errors
    /// Where the file cannot be read.
    pub fn get<T: DeserializeOwned>(&self, place: &Place) -> Result<T, ReportError> {
        let value = |bytes: &[u8]| postcard::from_bytes(bytes).map_err(|error| unknown(&error));
        match &place.0 {
            Lies::InMemory(bytes) => value(bytes),
            Lies::InFile { at, length } => {
                let mut bytes = vec![0; *length];
                self.lock().read(*at, &mut bytes)?;
                value(&bytes)
            }
        }
    }
}

fn unknown(error: &postcard::Error) -> ReportError {
    ReportError::Unknown(format!("what was put away cannot be used: {error}"))
}

impl Inner {
    /// Appends to the file; `None` where the disk takes no more.
    fn spill(&mut self, folder: &std::path::Path, bytes: &[u8]) -> Option<u64> {
        if let Spill::NotNeeded = self.file {
            let file = tempfile::tempfile_in(folder);
            self.file = match file.or_else(|_| tempfile::tempfile()) {
                Ok(file) => Spill::Open(file, 0),
                Err(_) => Spill::Refused,
            };
        }
        let Spill::Open(file, length) = &mut self.file else {
            return None;
        };
        let at = *length;
        file.seek(SeekFrom::Start(at)).ok()?;
        // What a full disk took of it is written over by the next value.
        file.write_all(bytes).ok()?;
        *length += bytes.len() as u64;
        Some(at)
    }

    fn read(&mut self, at: u64, bytes: &mut [u8]) -> io::Result<()> {
        match &mut self.file {
            Spill::Open(file, _) => {
                file.seek(SeekFrom::Start(at))?;
                file.read_exact(bytes)
            }
            Spill::NotNeeded | Spill::Refused => Err(io::ErrorKind::NotFound.into()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values() -> Vec<Vec<String>> {
        let texts = |n: usize| (0..n).map(|at| format!("text {at}")).collect();
        (0..40).map(texts).collect()
    }

    fn all_come_back(shelf: &Shelf) {
        let places: Vec<Place> = values().iter().map(|v| shelf.put(v).unwrap()).collect();
        // In any order, as often as one likes.
        for _ in 0..2 {
            for (place, value) in places.iter().zip(values()).rev() {
                assert_eq!(shelf.get::<Vec<String>>(place).unwrap(), value);
            }
        }
    }

    #[test]
    fn values_come_back_from_memory_and_from_disk() {
        let folder = tempfile::tempdir().unwrap();
        let in_memory = Shelf::new(folder.path());
        all_come_back(&in_memory);
        assert!(matches!(in_memory.lock().file, Spill::NotNeeded));
        let on_disk = Shelf::new(folder.path()).without_room();
        all_come_back(&on_disk);
        assert!(matches!(on_disk.lock().file, Spill::Open(_, length) if length > 0));
    }

    #[test]
    fn the_file_has_no_name() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::new(folder.path()).without_room();
        all_come_back(&shelf);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
    }

    #[test]
    fn what_no_disk_takes_stays_in_memory() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::new(folder.path()).without_room();
        shelf.lock().file = Spill::Refused;
        all_come_back(&shelf);
        let elsewhere = Shelf::new(folder.path().join("missing")).without_room();
        all_come_back(&elsewhere);
    }
}
