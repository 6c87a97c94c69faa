//! Where the files of families are kept. What is built, taken over and joined is worked out here; only the edges know disks, as
//! they alone do behind [`crate::project::Project`].

use crate::output::OutputFile;

/// A folder with the files of a family, as a build left it. Names are relative to it, with `/` between parts. Variants are worked
/// on side by side and ask for files at the same time.
pub trait Folder: Sync {
    /// A file as it is; none where there is none, or one larger than any that is written.
    fn read(&self, name: &str) -> Option<Vec<u8>>;

    /// Begins to fill a folder that is to take the place of this one.
    ///
    /// # Errors
    /// Why it cannot, in words.
    fn stage(&self) -> Result<Box<dyn Staged + '_>, String>;
}

/// A folder that is being filled. Nothing is to be seen of it until it is finished.
pub trait Staged: Sync {
    /// Writes a file.
    ///
    /// # Errors
    /// Why it cannot, in words.
    fn put(&self, name: &str, bytes: &[u8]) -> Result<(), String>;

    /// Takes a file over from the former folder as it is.
    ///
    /// # Errors
    /// Why it cannot, in words.
    fn keep(&self, name: &str) -> Result<(), String>;

    /// Writes these last files and has the folder take the place of the former one.
    ///
    /// # Errors
    /// Why it cannot, in words; the former folder is as it was.
    fn finish(self: Box<Self>, last: &[OutputFile]) -> Result<(), String>;
}

/// A store of files that any number of builds share. Nobody may see a part of a file, and anyone may empty it at any time.
pub trait Store: Sync {
    /// A file as it is; none where there is none, or one larger than any that is written.
    fn read(&self, name: &str) -> Option<Vec<u8>>;

    /// Its size in bytes, which costs less than to read it; none where there is none.
    fn size(&self, name: &str) -> Option<u64>;

    /// Writes a file, over one of the same name.
    ///
    /// # Errors
    /// Why it cannot, in words.
    fn write(&self, name: &str, bytes: &[u8]) -> Result<(), String>;
}
