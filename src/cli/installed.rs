//! The typefaces installed on the machine. They are looked for only when one is asked for by name, or when a character
//! is missing and something must be suggested.

use std::fmt;
use std::sync::OnceLock;

use fontdb::{Database, Family, ID, Query};

use crate::lettering::Typeface;
use crate::limits::ART_BYTES;

/// Most typefaces that are opened in search of a character.
const SEARCHED: usize = 2_000;

/// The machine's fonts, once they are known.
#[derive(Default)]
pub struct Installed(OnceLock<Database>);

impl fmt::Debug for Installed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Installed").finish_non_exhaustive()
    }
}

impl Installed {
    fn known(&self) -> &Database {
        // Looking through a machine's fonts takes a second, and most designs ask for none.
        self.0.get_or_init(|| {
            let mut database = Database::new();
            database.load_system_fonts();
            database
        })
    }

    /// The file of a family's regular face, and the face's number in it.
    pub fn named(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        let query = Query { families: &[Family::Name(family)], ..Query::default() };
        self.bytes(self.known().query(&query)?)
    }

    /// The first family, in order of name, that can draw all these characters.
    pub fn with(&self, characters: &[char]) -> Option<String> {
        let named = self.known().faces().filter_map(|face| Some((face.families.first()?.0.clone(), face.id)));
        let mut named: Vec<(String, ID)> = named.collect();
        // In order of name, since the system's own order changes from one start to the next.
        named.sort_by(|a, b| a.0.cmp(&b.0));
        named.dedup_by(|a, b| a.0 == b.0);
        let draws = |id: ID| {
            let typeface = self.bytes(id).and_then(|(bytes, face)| Typeface::from_collection(bytes, face, "").ok());
            typeface.is_some_and(|typeface| typeface.has(characters))
        };
        named.into_iter().take(SEARCHED).find(|(_, id)| draws(*id)).map(|(family, _)| family)
    }

    fn bytes(&self, id: ID) -> Option<(Vec<u8>, u32)> {
        let fits = |bytes: &[u8], face| (bytes.len() <= ART_BYTES).then(|| (bytes.to_vec(), face));
        self.known().with_face_data(id, fits).flatten()
    }
}
