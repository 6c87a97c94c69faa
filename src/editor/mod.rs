//! What an editor asks about a design. Every answer is a pure function of what was read and a place in it, and never
//! fails: where nothing is known, the answer is empty. One file a feature; `src/cli/serve_editor` speaks the protocol.
//!
//! Two things are known of a text that is being typed: at once a [`View`], all that can be said without working
//! anything out, and after a pause an [`Insight`], all that is known of the finished dial.

mod colours;
mod completion;
mod context;
mod definition;
mod diagnostics;
mod fixes;
mod folding;
mod formatting;
mod hints;
mod hover;
mod insight;
mod mentions;
mod outline;
mod picture;
mod rename;
pub mod text;
mod tokens;
mod view;

pub use colours::{colours, presentation};
pub use completion::{Snippets, completion};
pub use definition::{Target, definition, references, target};
pub use diagnostics::{Notice, notices};
pub use fixes::{Fix, fix_all, fixes};
pub use folding::folding;
pub use formatting::formatting;
pub use hints::hints;
pub use hover::{Pictures, hover};
pub use insight::Insight;
pub use outline::outline;
pub use rename::{FileEdits, prepare_rename, rename};
pub use text::Encoding;
pub use tokens::{Class, Token, classes, legend, tokens};
pub use view::{Places, Sheet, View};
