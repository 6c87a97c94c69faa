//! How far the pockets of parts that are turned over stray, and what is done about it where readings have no room for it.

use crate::audit::tolerance::overrun;
use crate::audit::{Audit, ReadingCheck, audit};
use crate::design::{Assumption, Centred, Centring, Design, Room};
use crate::diagnostics::Problems;
use crate::parallel::side_by_side;
use crate::plan::{Effort, OutlineCache, Plan, least_centred, plan_with};
use crate::units::{Length, plain};

/// Audit, plan and centring of one design.
pub(super) struct Examined {
    pub(super) audit: Audit,
    pub(super) centring: Centring,
    pub(super) plan: Option<Plan>,
    /// What was found about the plan; what was found about the dial stands in the audit.
    pub(super) problems: Problems,
}

/// Audit and plan, side by side. The plan wants to know whether readings have room for parts that are turned over one by one,
/// which the audit tells; how far those stray is known only from the plan. So both begin with what is expected of the parts,
/// and the plan is made again where readings lack the room.
pub(super) fn examined(design: &Design, effort: Effort) -> Examined {
    let cache = OutlineCache::default();
    let expected = centring(design, None, None, &cache);
    let planned = |centring: &Centring| plan_with(Centred { design, centring }, effort, &cache);
    // Planned for what is expected while the audit runs. Only where a reading has no room for it is everything
    // planned once more, with boards turned whole.
    let (audit, mut made) = side_by_side(|| audit(design), || planned(&expected));
    let lacks = lacking(design, &audit.reading_check, &expected);
    if lacks.is_some() {
        made = planned(&Centring { lacks, ..expected });
    }
    let (plan, problems) = made;
    let centring = centring(design, lacks, plan.as_ref(), &cache);
    Examined { audit: audit.within(centring.within(&design.spreads)), centring, plan, problems }
}

/// The room that readings lack where parts are turned over in their openings, a turned board takes less, and there is a
/// layer whose board may be turned for it.
fn lacking(design: &Design, readings: &ReadingCheck, expected: &Centring) -> Option<Room> {
    let on_board = design.spreads.centring();
    // Where turning the board would be no better, nothing is gained by it.
    let strays = expected.strays.filter(|strays| strays.as_mm() > on_board.as_mm())?;
    let lacks = Some(overrun(readings, strays)?);
    let turned = Centring { lacks, ..Centring::default() };
    lacks.filter(|_| design.layers.iter().any(|layer| turned.turns_board_of(layer).is_some()))
}

/// Where the shop states no centring of the pockets, the play of a part that is turned over gives it: a place drawn evenly
/// from a disc strays by half its radius along each axis, as its standard deviation.
fn centring(design: &Design, lacks: Option<Room>, plan: Option<&Plan>, cache: &OutlineCache) -> Centring {
    let none = Centring { lacks, ..Centring::default() };
    // The shop has measured it, and that counts whatever the plan expects.
    if design.spreads.concentricity.is_some() {
        return none;
    }
    let Some((layer, play)) = least_centred(Centred { design, centring: &none }, plan, cache) else { return none };
    // The play is the farthest a part may come to lie off; half of it is taken for the standard deviation of a
    // pocket's centre.
    let (shift, strays) = (play.shift.as_mm(), Length::mm(play.shift.as_mm() / 2.0));
    let assumption = Assumption {
        what: "concentricity of the pockets".to_owned(),
        taken: format!("{}mm", plain(strays.as_mm(), 3)),
        why: format!("`{}` may lie up to {}mm off its place once it is turned over", layer.name, plain(shift, 3)),
        origin: layer.origin,
    };
    Centring { strays: Some(strays), assumption: Some(assumption), lacks }
}
