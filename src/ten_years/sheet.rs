//! A table's rows as cells, and a die that always falls the same way.

use crate::book_files::source::MemoryFiles;

/// Rows under a header, as in a file of the export.
#[derive(Debug, Clone)]
pub(super) struct Sheet {
    header: Vec<String>,
    pub(super) rows: Vec<Vec<String>>,
}

impl Sheet {
    /// The rows of a table of the demo.
    pub(super) fn of(files: &MemoryFiles, table: &str) -> Sheet {
        let bytes = files.get(&format!("{table}.csv")).map(Vec::as_slice).unwrap_or_default();
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(bytes);
        let mut rows =
            reader.records().filter_map(Result::ok).map(|row| row.iter().map(str::to_owned).collect());
        let header = rows.next().unwrap_or_default();
        Sheet { header, rows: rows.collect() }
    }

    /// The same columns, no rows.
    pub(super) fn blank(&self) -> Sheet {
        Sheet { header: self.header.clone(), rows: Vec::new() }
    }

    /// Adds a row: the other one with some cells changed, or an empty one.
    pub(super) fn add(&mut self, like: Option<&[String]>, cells: &[(&str, String)]) {
        let mut row = like.map_or_else(|| vec![String::new(); self.header.len()], <[String]>::to_vec);
        for (name, value) in cells {
            if let Some(place) = self.place(name) {
                row[place].clone_from(value);
            }
        }
        self.rows.push(row);
    }

    /// A cell of a row.
    pub(super) fn cell<'a>(&self, row: &'a [String], name: &str) -> &'a str {
        self.place(name).map_or("", |place| row[place].as_str())
    }

    /// A cell that holds a number, 0 where it holds none.
    pub(super) fn number(&self, row: &[String], name: &str) -> i64 {
        self.cell(row, name).parse().unwrap_or(0)
    }

    fn place(&self, name: &str) -> Option<usize> {
        self.header.iter().position(|column| column == name)
    }

    /// Puts the rows in the place of the table's file.
    pub(super) fn into_files(self, files: &mut MemoryFiles, table: &str) {
        let mut writer = csv::Writer::from_writer(Vec::new());
        // Writing to memory does not fail.
        let _ = writer.write_record(&self.header);
        for row in self.rows {
            let _ = writer.write_record(row);
        }
        files.insert(format!("{table}.csv"), writer.into_inner().unwrap_or_default());
    }
}

/// Numbers that look thrown but follow from the seed alone (the `SplitMix64` sequence of Steele, Lea and Flood 2014).
#[derive(Debug)]
pub(super) struct Dice(u64);

impl Dice {
    pub(super) fn new(seed: u64) -> Dice {
        Dice(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number from 0 to one below the number given.
    pub(super) fn below(&mut self, end: i64) -> i64 {
        let end = u64::try_from(end).unwrap_or(1).max(1);
        i64::try_from(self.next() % end).unwrap_or(0)
    }

    /// One of the list.
    pub(super) fn pick<T: Copy>(&mut self, list: &[T]) -> T {
        let count = i64::try_from(list.len()).unwrap_or(1);
        list[usize::try_from(self.below(count)).unwrap_or(0)]
    }

    /// Whether it happens, so many times in a hundred.
    pub(super) fn happens(&mut self, in_hundred: i64) -> bool {
        self.below(100) < in_hundred
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_falls_the_same_way() {
        // First number of the published sequence for seed 0.
        assert_eq!(Dice::new(0).next(), 0xe220_a839_7b1d_cdaf);
        let throw = |seed| (0..50).scan(Dice::new(seed), |dice, _| Some(dice.below(6))).collect::<Vec<_>>();
        assert_eq!(throw(7), throw(7));
        assert_ne!(throw(7), throw(8));
        assert!(throw(7).iter().all(|face| (0..6).contains(face)));
    }
}
