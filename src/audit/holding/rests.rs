//! Where a turn rests once the hand lets go: how far off its stops, and how far off its axis.

use crate::physics::dead_band::DeadBand;
use crate::physics::pattern::Pattern;
use crate::physics::{Clicks, Facing};
use crate::units::{Angle, Force, Length, Torque};

/// Torques of friction for which rests are worked out: even steps from the least to the greatest to be expected.
pub const LEVELS: u8 = 5;

/// The least and the greatest friction to be expected under a pull of the rings, beside that of the axis.
pub(super) type Felt<'f> = &'f dyn Fn(Force) -> (Torque, Torque);

/// Where a turn with clicks rests near one of its stops.
#[derive(Clone, Debug, PartialEq)]
pub struct StopRest {
    /// The stop.
    pub stop: Angle,
    /// Its dead band, as angles from the stop, at each of [`LEVELS`] frictions from the least to the greatest; none where
    /// nothing clicks, so that it stays wherever a hand leaves it.
    pub bands: Vec<Option<DeadBand>>,
}

impl StopRest {
    /// The dead band where friction stands so far between its least (0) and its greatest (1).
    pub fn band(&self, share: f64) -> Option<&DeadBand> {
        let last = f64::from(LEVELS - 1);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped")]
        let level = (share * last).round().clamp(0.0, last) as usize;
        self.bands.get(level)?.as_ref()
    }
}

/// The rests that serve the stops of a turn; none of those that no rest serves.
pub(super) fn stop_rests(pattern: &Pattern, felt: Felt) -> Vec<StopRest> {
    let level = |share: f64| {
        move |pull: Force| {
            let (least, most) = felt(pull);
            least + (most - least) * share
        }
    };
    let of = |(stop, rest): &(Angle, Option<crate::physics::clicks::Rest>)| {
        let bands = (0..LEVELS).map(|step| {
            let rest = rest.as_ref()?.point.at;
            let band = pattern.clicks.dead_band(rest, level(f64::from(step) / f64::from(LEVELS - 1)))?;
            let off = Angle::degrees(crate::design::pose::wrapped((rest - *stop).as_degrees()));
            let about = |(from, to): (Angle, Angle)| (from + off, to + off);
            Some(DeadBand { stays: about(band.stays), comes: about(band.comes) })
        });
        StopRest { stop: *stop, bands: bands.collect() }
    };
    pattern.verdict.stops.iter().map(of).collect()
}

/// How far off the axis the halves of a turn may rest, beside the play of its magnets in their pockets.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OffAxis {
    /// How far off friction holds it that was shoved there, at its least and at its greatest; none where it holds it anywhere
    /// within the magnets' width.
    pub held: (Option<Length>, Option<Length>),
    /// How far off the one thumb that turns it pushes it and leaves it, at the least friction and at the greatest; none as
    /// before. Two fingers that turn it from both sides push it nowhere, so this is a bound.
    pub turned: (Option<Length>, Option<Length>),
    /// What the magnets cannot be shifted beyond: their width.
    pub reach: Length,
}

impl OffAxis {
    /// How far off it rests after it was turned, from the least to the greatest friction, where each is as likely as any
    /// other and so is each push from none to a whole thumb's: nothing where something reaches into the other half.
    pub fn range(&self) -> (Length, Length) {
        (self.turned.0.unwrap_or(self.reach), self.turned.1.unwrap_or(self.reach))
    }
}

/// What draws the halves of a turn together and back on the axis.
pub(super) struct Sideways<'a> {
    /// Each magnet on the axis below with each above, and whether they attract.
    pub(super) axis: &'a [(Facing, bool)],
    /// The rings, at one stop.
    pub(super) clicks: Option<(&'a Clicks, Angle)>,
}

impl Sideways<'_> {
    /// The force back on the axis over the pull, at this shift.
    fn ratio(&self, offset: Length) -> Option<f64> {
        let rings = self.clicks.map(|(clicks, stop)| clicks.shifted(stop, offset)).unwrap_or_default();
        let (mut pull, mut back) = (rings.0, rings.1);
        for (pair, attract) in self.axis {
            let beside = pair.beside(offset).ok()?;
            let sign = if *attract { 1.0 } else { -1.0 };
            (pull, back) = (pull + beside.pull * sign, back + beside.draw_back * sign);
        }
        (pull > Force::ZERO).then(|| back.as_newtons() / pull.as_newtons())
    }

    /// The least shifts at which it is drawn back by these shares of its pull; none where it never is within `reach`.
    pub(super) fn held<const N: usize>(&self, shares: [f64; N], reach: Length) -> [Option<Length>; N] {
        // Forces beside each other cost the most of all that is worked out here, so all shares are looked for in one coarse
        // table, and each is then found between two of its places by the rule of false position. Off the middle the force
        // rises with the shift before all else, so that is soon exact.
        const STEPS: u32 = 8;
        const ROUNDS: u32 = 3;
        let mut rest = (1..=STEPS)
            .map_while(|step| {
                let at = reach * (f64::from(step) / f64::from(STEPS));
                Some((at, self.ratio(at)?))
            })
            .fuse();
        // As far as the largest share asks for it.
        let mut table = vec![(Length::ZERO, 0.0)];
        shares.map(|share| {
            while table.iter().skip(1).all(|(_, ratio)| *ratio < share) {
                table.push(rest.next()?);
            }
            let pairs = table.iter().zip(table.iter().skip(1));
            let (mut low, mut high) = pairs.map(|(one, next)| (*one, *next)).find(|(_, next)| next.1 >= share)?;
            for _ in 0..ROUNDS {
                let middle = low.0 + (high.0 - low.0) * ((share - low.1) / (high.1 - low.1)).clamp(0.0, 1.0);
                let found = (middle, self.ratio(middle)?);
                if found.1 >= share { high = found } else { low = found }
            }
            Some(low.0 + (high.0 - low.0) * ((share - low.1) / (high.1 - low.1)).clamp(0.0, 1.0))
        })
    }
}
