//! Compound files (MS-CFB), read just far enough to list and gather their
//! streams as calamine does.

/// A compound file, read just far enough to list and gather its streams.
pub(super) struct Compound<'a> {
    bytes: &'a [u8],
    sector: usize,
    fat: Vec<u32>,
    pub entries: Vec<Entry>,
}

pub(super) struct Entry {
    pub name: String,
    pub start: u32,
    size: u32,
    /// Its first byte in the file.
    pub at: usize,
    /// Neighbours in the tree of its storage, and the root of its own.
    left: u32,
    right: u32,
    child: u32,
}

/// Streams below this size live in the root's own stream (MS-CFB 2.2; the
/// header repeats it, calamine does not look there).
pub(super) const SMALL: u32 = 4_096;

pub(super) fn u16_at(bytes: &[u8], at: usize) -> Option<u16> {
    let two = bytes.get(at..at.checked_add(2)?)?;
    Some(u16::from_le_bytes([*two.first()?, *two.get(1)?]))
}

pub(super) fn u32_at(bytes: &[u8], at: usize) -> Option<u32> {
    let (low, high) = (u16_at(bytes, at)?, u16_at(bytes, at.checked_add(2)?)?);
    Some(u32::from(high) << 16 | u32::from(low))
}

impl<'a> Compound<'a> {
    pub fn open(bytes: &'a [u8]) -> Option<Self> {
        let shift = u16_at(bytes, 30)?;
        if shift != 9 && shift != 12 {
            return None;
        }
        let mut file = Self {
            bytes,
            sector: 1 << shift,
            fat: Vec::new(),
            entries: Vec::new(),
        };
        let ids = file.sector / 4;
        let most = bytes.len() / file.sector + 1;
        // The first 109 sectors of the table stand in the header, the rest
        // in a chain of their own.
        let mut tables: Vec<u32> = (0..109).filter_map(|i| u32_at(bytes, 76 + i * 4)).collect();
        let mut next = u32_at(bytes, 68)?;
        while (next as usize) < most && tables.len() <= most + 109 {
            let sector = file.sector_at(next)?;
            tables.extend((0..ids - 1).filter_map(|i| u32_at(sector, i * 4)));
            next = u32_at(sector, (ids - 1) * 4)?;
        }
        for table in tables.into_iter().filter(|id| (*id as usize) < most) {
            if file.fat.len() > most + ids {
                break;
            }
            let sector = file.sector_at(table)?;
            let new: Vec<u32> = (0..ids).filter_map(|i| u32_at(sector, i * 4)).collect();
            file.fat.extend(new);
        }
        let directory = file.sectors(u32_at(bytes, 48)?)?;
        for id in directory {
            let at = (id as usize + 1) * file.sector;
            let places = file
                .sector_at(id)?
                .chunks_exact(128)
                .zip((at..).step_by(128));
            let new: Vec<Entry> = places.filter_map(|(bytes, at)| entry(bytes, at)).collect();
            file.entries.extend(new);
        }
        Some(file)
    }

    /// Whether each entry lies in the file itself, and not in a document that
    /// is embedded in it. All do where the tree cannot be followed.
    pub fn at_the_top(&self) -> Vec<bool> {
        let mut top = vec![false; self.entries.len()];
        let mut ahead: Vec<u32> = self
            .entries
            .first()
            .map(|root| root.child)
            .into_iter()
            .collect();
        while let Some(id) = ahead.pop() {
            let id = id as usize;
            // A tree that bites its tail is walked once.
            if let Some(entry) = self.entries.get(id)
                && let Some(seen) = top.get_mut(id)
                && !std::mem::replace(seen, true)
            {
                ahead.extend([entry.left, entry.right]);
            }
        }
        if top.contains(&true) {
            top
        } else {
            vec![true; self.entries.len()]
        }
    }

    fn sector_at(&self, id: u32) -> Option<&'a [u8]> {
        let start = (id as usize).checked_add(1)?.checked_mul(self.sector)?;
        let end = start.checked_add(self.sector)?.min(self.bytes.len());
        self.bytes.get(start..end)
    }

    /// The sectors from `start` on, end to end. `None` for a chain that bites
    /// its tail, which calamine would follow until memory ends.
    pub fn chain(&self, start: u32) -> Option<Vec<u8>> {
        let sectors = self.sectors(start)?;
        let parts = sectors.iter().filter_map(|id| self.sector_at(*id));
        Some(parts.flatten().copied().collect())
    }

    fn sectors(&self, start: u32) -> Option<Vec<u32>> {
        let mut all = Vec::new();
        let mut id = start;
        while self.sector_at(id).is_some() {
            if all.len() * self.sector > self.bytes.len() {
                return None;
            }
            all.push(id);
            match self.fat.get(id as usize) {
                Some(next) => id = *next,
                None => break,
            }
        }
        Some(all)
    }

    /// The content of a stream and what may follow it in its last sector.
    pub fn stream(&self, entry: &Entry) -> Option<Vec<u8>> {
        if entry.size >= SMALL {
            return self.chain(entry.start);
        }
        let root = self.entries.first()?;
        let container = self.chain(root.start)?;
        let table = self.chain(u32_at(self.bytes, 60)?)?;
        let mut all = Vec::new();
        let mut id = entry.start as usize;
        while let Some(piece) = container.get(id * 64..(id + 1) * 64) {
            if all.len() > SMALL as usize {
                break;
            }
            all.extend_from_slice(piece);
            match u32_at(&table, id * 4) {
                Some(next) => id = next as usize,
                None => break,
            }
        }
        Some(all)
    }
}

fn entry(bytes: &[u8], at: usize) -> Option<Entry> {
    // The name ends at its first NUL, whatever length the entry states: so
    // the reader takes it.
    let units: Vec<u16> = (0..32)
        .map_while(|i| u16_at(bytes, i * 2).filter(|u| *u != 0))
        .collect();
    Some(Entry {
        name: String::from_utf16_lossy(&units),
        start: u32_at(bytes, 116)?,
        size: u32_at(bytes, 120)?,
        at,
        left: u32_at(bytes, 68)?,
        right: u32_at(bytes, 72)?,
        child: u32_at(bytes, 76)?,
    })
}
