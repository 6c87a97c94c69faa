//! Every bound on input, in one place. `src/reference/topics/limits.md` lists the same figures.

/// Largest source file, in bytes.
pub const FILE_BYTES: usize = 4 * 1024 * 1024;
/// How deep brackets may nest.
pub const NESTING: usize = 64;
/// How deep `with` may chain.
pub const WITH_DEPTH: usize = 16;
/// Evaluated expressions in one design.
pub const EVALUATIONS: usize = 2_000_000;
/// Steps of work that are done for one dial, each about a nanosecond of a processor's work: see [`crate::work`].
pub const WORK: u64 = 6_000_000_000;
/// Longest text that values are put into, in bytes.
pub const TEXT_BYTES: usize = 64 * 1024;
/// Longest list, and most copies that `repeated` makes.
pub const LIST_LENGTH: usize = 1_000;
/// Largest table that a design takes columns of, in bytes. Of rows it may have [`LIST_LENGTH`].
pub const TABLE_BYTES: usize = 1024 * 1024;
/// Most digits that a number is written with.
pub const DIGITS: u32 = 20;
/// Longest side of anything drawn, in millimetres.
pub const SIZE_MM: f64 = 10_000.0;
/// Longest length that anything is made with, in millimetres: what lies within [`SIZE_MM`] of the axis is no longer.
pub const LENGTH_MM: f64 = 2.0 * SIZE_MM;
/// Path segments in one region.
pub const SEGMENTS: usize = 200_000;
/// Dials in one run, spares included.
pub const RUN_DIALS: usize = 10_000;
/// Parts of one stock that a layout is searched for; more are laid by patterns alone.
pub const SEARCHED_PARTS: usize = 400;
/// Most tries to save a board that can be asked for.
pub const EFFORT: i64 = 10_000;
/// Variants in one family.
pub const VARIANTS: usize = 10_000;
/// Variants that can be worked on at once.
pub const JOBS: i64 = 256;
/// Shards of one build.
pub const SHARDS: u32 = 10_000;
/// Findings of a family that are printed for people; its table names them all.
pub const FAMILY_FINDINGS_SHOWN: usize = 100;
/// Variants of a family that a build prints a line of; its table has them all.
pub const VARIANTS_SHOWN: usize = 24;
/// Largest file of ours that a build reads again, in bytes.
pub const RECORD_BYTES: usize = 1024 * 1024 * 1024;
/// Largest artwork file, in bytes.
pub const ART_BYTES: usize = 32 * 1024 * 1024;
/// Most pixels of a picture.
pub const PICTURE_PIXELS: usize = 25_000_000;
/// Most memory of a picture's pixels as the file holds them, in bytes.
pub const PICTURE_BYTES: usize = 200 * 1024 * 1024;
/// Most pixels of a scan that is measured: A3 at 600 to the inch.
pub const SCAN_PIXELS: usize = 70_000_000;
/// Most memory of a scan's pixels as the file holds them, in bytes.
pub const SCAN_BYTES: usize = 420 * 1024 * 1024;
/// Largest file of a scan, in bytes.
pub const SCAN_FILE_BYTES: usize = 512 * 1024 * 1024;
/// Scans of one run, and runs of one diary.
pub const SCANS: usize = 200;
/// Combinations of stops that one reading is proven at.
pub const COMBINATIONS: usize = 10_000;
/// How deep an expression may grow, brackets and chains of operators together (`a + b + c` is two deep). Keeps
/// every walk over a tree far from the end of the stack.
pub const EXPRESSION_DEPTH: usize = 256;
/// Changes that `diff` prints for people; programs are told all.
pub const CHANGES_SHOWN: usize = 500;
/// How deep folders are searched for files of the language.
pub const FOLDER_DEPTH: usize = 64;
/// Most sides of a polygon, points of a star and lobes of a scallop.
pub const SIDES: u32 = 360;
/// Elements, attributes' texts and comments in a drawing.
pub const DRAWING_NODES: u32 = 800_000;
/// Longest arc and largest page, circle and rectangle of a drawing, in its own units: its reader makes the more curves of an arc the
/// larger it is, without end. Of arcs it may have [`SEGMENTS`].
pub const DRAWING_SIZE: f64 = 1e9;
/// Largest message of an editor, in bytes: many times the largest design.
pub const MESSAGE_BYTES: u64 = 64 * 1024 * 1024;
/// Longest line of the header of an editor's message, in bytes.
pub const MESSAGE_HEADER_BYTES: u64 = 4096;
/// Designs that are looked through for one that shares an editor's file.
pub const SHARING_DESIGNS: usize = 200;
/// All headers of a request to the live page, names and values, in bytes.
pub const REQUEST_HEADER_BYTES: usize = 16 * 1024;
/// The address of a request to the live page, in bytes.
pub const REQUEST_ADDRESS_BYTES: usize = 8 * 1024;
/// What a request to the live page wants written, in bytes.
pub const REQUEST_BYTES: usize = 4096;
/// Designs that one question of `seek` looks at.
pub const DESIGNS_SOUGHT: usize = 4000;
/// Combinations of counts and choices that are gone through where lengths and the like are free as well.
pub const COMBINATIONS_SOUGHT: usize = 64;
/// Params that are free at once, counts and choices left out.
pub const FREE_PARAMS: usize = 6;
/// Values that a trade is worked out for.
pub const TRADED: usize = 50;
