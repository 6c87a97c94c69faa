//! The name of every finding, and the page that explains it.

macro_rules! findings {
    ($($variant:ident = $name:literal,)+) => {
        /// Which finding a diagnostic is. The page of each lies in `explain/`; one that lacks a page does not compile.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs, reason = "the page under explain/ is the documentation")]
        pub enum Finding { $($variant,)+ }

        impl Finding {
            /// All of them, in order of name.
            pub const ALL: &'static [Finding] = &[$(Finding::$variant,)+];

            /// Its name in words.
            pub const fn name(self) -> &'static str {
                match self { $(Finding::$variant => $name,)+ }
            }

            /// The page that explains it, in Markdown.
            pub const fn page(self) -> &'static str {
                match self { $(Finding::$variant => include_str!(concat!("explain/", $name, ".md")),)+ }
            }

            /// The finding of this name.
            pub fn named(name: &str) -> Option<Finding> {
                Finding::ALL.iter().copied().find(|finding| finding.name() == name)
            }
        }
    };
}

findings! {
    FlipAxisNotSymmetric = "flip-axis-not-symmetric",
    NoFlipAxis = "no-flip-axis",
    OpeningNarrowerThanKerf = "opening-narrower-than-kerf",
    PartLargerThanBoard = "part-larger-than-board",
    UnknownName = "unknown-name",
}
