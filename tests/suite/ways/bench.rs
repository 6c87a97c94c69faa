//! Ways to fail: what the bench glues, measures and pays.

use dialwright::diagnostics::Finding::*;

use super::By::*;
use super::Fault::*;
use super::Twin::*;
use super::{CLIENT, MAKER, MAKER_AND_SHOP, PLAYER, SHOP, Way};

pub const WAYS: &[Way] = &[
    Way {
        says: "the glue of a magnet gives way before the magnet's pull",
        suffers: PLAYER,
        told: Finding(GlueTooWeak),
        computed: "audit/holding/judge.rs",
        fault: Ui("glue-too-weak"),
        twin: With("magnets(pasted)", "magnets(disc)"),
        rests_on: "by hand; twice the pull is common practice, no source; 16 CFR 1500.53 (from memory)",
    },
    Way {
        says: "there is no glue for a joint",
        suffers: SHOP,
        told: Finding(NoAdhesive),
        computed: "check/assemble/stack.rs",
        fault: Ui("no-adhesive"),
        twin: Dial("tests/dials/05-four-layers.dial"),
        rests_on: "by hand",
    },
    Way {
        says: "a magnet is glued in with the wrong pole up",
        suffers: SHOP,
        told: Line("Never let the two come together"),
        computed: "plan/magnets.rs",
        fault: Test("tests/suite/holding.rs", "a_half_turned_over_repels_from_its_other_side"),
        twin: Beside,
        rests_on: "by hand; the test by repulsion alone is common practice, no source",
    },
    Way {
        says: "magnets jump together before the glue has cured",
        suffers: SHOP,
        told: Line("a magnet in wet glue jumps to its partner"),
        computed: "plan/magnets.rs",
        fault: Test("tests/suite/holding.rs", "the_glue_bench_is_told_what_is_seen"),
        twin: Beside,
        rests_on: "common practice, no source",
    },
    Way {
        says: "a point or a unit has slipped in the shop's figures",
        suffers: MAKER_AND_SHOP,
        told: Finding(UnlikelyFigure),
        computed: "check/assemble/likely.rs",
        fault: Ui("unlikely-figure"),
        twin: Dial("tests/dials/12-two-stocks.dial"),
        rests_on: "IEC 60404-8-1 (from memory) for magnets; else common practice, no source",
    },
    Way {
        says: "results rest on figures that nobody measured",
        suffers: MAKER,
        told: Finding(NominalFigures),
        computed: "check/assemble/shop.rs",
        fault: Ui("nominal-figures"),
        twin: Dial("examples/saltmarsh/crew.dial"),
        rests_on: "common practice, no source",
    },
    Way {
        says: "readings of a ladder do not rise",
        suffers: SHOP,
        told: Finding(BadReading),
        computed: "check/assemble/shop.rs",
        fault: Ui("bad-reading-3"),
        twin: With("0.40mm", "0.80mm"),
        rests_on: "by hand",
    },
    Way {
        says: "one reading of a card stands out",
        suffers: SHOP,
        told: Finding(ReadingStandsOut),
        computed: "statistics/outlier.rs",
        fault: Test("tests/suite/coupon.rs", "readings_that_stand_out_are_refused"),
        twin: Beside,
        rests_on: "Grubbs 1969, table 1; Lund 1975",
    },
    Way {
        says: "a ladder of depths is no line",
        suffers: SHOP,
        told: Finding(LadderBends),
        computed: "coupon/measure.rs",
        fault: Test("src/design/pass_depths.rs", "a_ladder_that_bends_is_taken_as_read"),
        twin: Beside,
        rests_on: "common practice, no source",
    },
    Way {
        says: "a price or a time is shown that rests on a guess",
        suffers: CLIENT,
        told: Line("not known"),
        computed: "output/quote.rs",
        fault: Test("tests/suite/quote.rs", "what_is_not_stated_is_never_guessed"),
        twin: Beside,
        rests_on: "lengths and areas by shapely, sums by a plain script, in tests/data/quote.py",
    },
    Way {
        says: "the run is not ready when it is wanted",
        suffers: CLIENT,
        told: Line("Begin at the latest"),
        computed: "output/run_sheet/mod.rs",
        fault: Test("tests/suite/run_sheet.rs", "a_run_that_is_wanted_says_when_each_step_must_begin"),
        twin: Beside,
        rests_on: "by the calendar (ISO 8601)",
    },
    Way {
        says: "too few dials are left after what fails",
        suffers: CLIENT,
        told: Line("too many were made: they stand in for what fails here"),
        computed: "output/run_sheet/mod.rs",
        fault: Test("tests/suite/plan.rs", "spares_are_made_and_boards_added"),
        twin: Beside,
        rests_on: "common practice, no source",
    },
];
