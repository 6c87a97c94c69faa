//! Pages about what concerns no single word.

macro_rules! topics {
    ($($variant:ident = $name:literal, $says:literal;)+) => {
        /// What a page is about that concerns no single word. One without its page does not compile.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Topic {
            $(#[doc = $says] $variant,)+
        }

        impl Topic {
            /// All of them, in the order of the manual.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// Its name, as `explain` takes it.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)+ }
            }

            /// What it is about, to follow a colon.
            pub const fn says(self) -> &'static str {
                match self { $(Self::$variant => $says,)+ }
            }

            /// Its page, in Markdown.
            pub const fn page(self) -> &'static str {
                match self { $(Self::$variant => include_str!(concat!("topics/", $name, ".md")),)+ }
            }
        }
    };
}

topics! {
    Language = "language", "how a file is written: numbers, the frame, placement, defaults";
    Families = "families", "many dials from one file, and the best of them";
    Seeking = "seeking", "values of params found instead of tried";
    Adopting = "adopting", "a dial read from a drawing";
    Measuring = "measuring", "cards that measure your own shop";
    Scanning = "scanning", "finished parts measured on a scanner, and the diary of runs";
    Operations = "operations", "what each field of `operations.json` means";
    Rehearsing = "rehearsing", "what a folder of outputs will make, read back from its files";
    Viewing = "viewing", "the dial in the browser while it is written";
    Layout = "layout", "how `tidy` lays texts out";
    Changes = "changes", "what `diff` compares, and how git uses it";
    Repositories = "repositories", "logs for hosts, hooks, completions";
    WaysToFail = "ways-to-fail", "how a dial can fail, and what tells of it";
    Figures = "figures", "what the figures mean, how sure they are, and why some have no ±";
    Limits = "limits", "what input may be at most";
}
