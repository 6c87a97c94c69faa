//! Planted faults: each is found and named, and its sound twin is silent.

use super::designs::*;
use dialwright::audit::audit;
use dialwright::design::*;
use dialwright::diagnostics::Diagnostic;
use dialwright::geometry::Region;
use kurbo::Affine;

/// Names of the findings that stand, advice included.
fn found(design: &Design) -> Vec<&'static str> {
    let mut names: Vec<&str> = all_found(design).iter().map(|one| one.finding.name()).collect();
    // Every sound dial here has magnets, and every magnet its advice.
    names.retain(|name| *name != "magnet-hazard");
    names.sort_unstable();
    names.dedup();
    names
}

/// Everything found.
fn all_found(design: &Design) -> Vec<Diagnostic> {
    let audit = audit(design);
    audit.problems.iter().chain(audit.unsure(design).iter()).cloned().collect()
}

/// The sound dial that every fault is planted into: six labels, some room everywhere.
fn sound() -> Design {
    two_layers(6, |_| label(), circle(6.5).at(20.0, 0.0))
}

/// A letter-like label, 6 mm high.
fn label() -> Region {
    rectangle(1.2, 6.0).union(&rectangle(4.0, 1.2).shifted(1.4, 2.4))
}

fn with(change: impl FnOnce(&mut Design)) -> Design {
    let mut design = sound();
    change(&mut design);
    design
}

/// A mark replaced on a layer of the sound dial.
fn set(design: &mut Design, layer: usize, mark: usize, shape: Region) {
    design.layers[layer].marks[mark].shape = Shape::Region(shape);
}

fn ring_of(design: &mut Design) -> &mut Ring {
    &mut design.layers[0].rings[0]
}

fn slot(outline: Region, depth: Option<f64>) -> Option<Slot> {
    Some(Slot { outline, depth: depth.map(mm), origin: span(60) })
}

fn set_outlines(design: &mut Design, outline: &Region) {
    for layer in &mut design.layers {
        layer.outline = outline.clone();
    }
}

fn stops_of(design: &mut Design) -> &mut Vec<dialwright::units::Angle> {
    match &mut design.joints[0] {
        Joint::Turn(turn) => &mut turn.stops,
        Joint::Glue(_) => panic!("a turn is wanted"),
    }
}

fn seat(design: &mut Design, depth: f64) {
    let Joint::Turn(turn) = &mut design.joints[0] else { panic!("a turn is wanted") };
    let Pivot::Magnets { upper, .. } = &mut turn.pivot else { panic!("magnets are wanted") };
    upper.depth = Depth::Down(mm(depth).into());
    design.layers[1].marks[1].work = Work::Pocket { depth: Depth::Down(mm(depth).into()) };
}

fn pointer_dial(hand: Region, arrow: Region) -> Design {
    let stops = even(8);
    let base = layer("base", circle(35.0)).ringed(ring("wind", 29.0, &stops, |_| circle(2.5)));
    let base = base.with(pocket(Face::Front, 1.6, circle(4.1)));
    let hand = layer("hand", hand).with(mark("arrow", Work::Engrave { tone: 1.0, depth: None, ink: None }, arrow));
    let hand = hand.with(pocket(Face::Back, 1.6, circle(4.1)));
    let reading = Reading { how: ReadsHow::Beside, ..reads("wind", &["arrow"]) };
    design(vec![base, hand], vec![turns(0, &stops)], vec![reading])
}

/// Read on both sides: a ring below the turn from the front, one above it from behind, its labels so far round for each stop.
fn two_sided(laid: Laid, round: f64) -> Design {
    let stops = even(8);
    let tide = ring("tide", 24.0, &stops, |_| circle(2.5));
    let around: Vec<f64> = stops.iter().map(|stop| stop * round).collect();
    let toll = ring("toll", 14.0, &around, |_| circle(1.5));
    let base = layer("base", circle(34.0)).ringed(tide).with(window("hatch", circle(4.5).at(14.0, 0.0)));
    let cover = layer("cover", circle(34.0)).with(window("eye", circle(6.0).at(24.0, 0.0)));
    let cover = cover.ringed(Ring { face: Face::Back, laid, ..toll });
    let layers =
        vec![base.with(pocket(Face::Front, 1.6, circle(4.1))), cover.with(pocket(Face::Back, 1.6, circle(4.1)))];
    design(layers, vec![turns(0, &stops)], vec![reads("tide", &["eye"]), reads("toll", &["hatch"])])
}

fn arrow() -> Region {
    regular(3, 4.0).at(18.0, 0.0)
}

/// Four layers, the upper two glued, both with a window over the ring.
fn glued_dial(well: Region, eye: Region) -> Design {
    let stops = even(6);
    let numbers = layer("numbers", circle(30.0)).ringed(ring("oil", 20.0, &stops, |_| label()));
    let numbers = numbers.with(pocket(Face::Front, 1.6, circle(4.1)));
    let core = layer("core", circle(30.0)).with(window("well", well)).with(pocket(Face::Back, 1.6, circle(4.1)));
    let plate = layer("plate", circle(30.0)).with(window("eye", eye));
    design(vec![numbers, core, plate], vec![turns(0, &stops), glued()], vec![reads("oil", &["well", "eye"])])
}

/// A clear cover, painted but for a bare patch.
fn clear_dial(bare: Region) -> Design {
    with(|design| {
        let cover = &mut design.layers[1];
        cover.stock.clear = true;
        cover.marks[0] = mark("peep", Work::Bare, bare);
        cover.marks.push(mark("", Work::Paint { colour: [29, 59, 90] }, circle(29.0)));
    })
}

fn riveted(least: f64, most: f64) -> Design {
    with(|design| {
        let Joint::Turn(turn) = &mut design.joints[0] else { panic!("a turn is wanted") };
        turn.pivot = Pivot::Rivet(Rivet {
            name: "eyelet".into(),
            shank: mm(4.0),
            kind: Fastener::Rivet,
            heads: [Head { diameter: mm(7.0), height: mm(1.0) }; 2],
            grips: (mm(least), mm(most)),
            clearance: mm(0.2),
            cost: None,
            origin: None,
        });
    })
}

/// A ring on the lowest of three layers, under a hole in the layer with the ring that is read where one may be seen.
fn seen_past(holed: bool) -> Design {
    let stops = even(6);
    let lowest = layer("lowest", circle(30.0)).ringed(ring("under", 20.0, &stops, |_| circle(2.0)));
    let base = layer("base", circle(30.0)).ringed(ring("points", 20.0, &stops, |_| circle(2.0)));
    let base = base.with(pocket(Face::Front, 1.6, circle(4.1)));
    // Beside the label, within the window, over a label of the lowest layer that is turned there.
    let hole = circle(1.0).at(20.0, 0.0).shifted(if holed { 4.0 } else { 9.0 }, 0.0);
    let base = base.with(mark("", Work::Hole, hole));
    let lowest = Layer {
        rings: vec![ring("under", 20.0, &even(6).iter().map(|stop| stop + 11.5).collect::<Vec<_>>(), |_| circle(2.0))],
        ..lowest
    };
    let cover = layer("cover", circle(30.0)).with(window("peep", circle(6.5).at(20.0, 0.0)));
    let cover = cover.with(pocket(Face::Back, 1.6, circle(4.1)));
    design(vec![lowest, base, cover], vec![glued(), turns(1, &stops)], vec![reads("points", &["peep"])])
}

/// An opening over a wide one that lets every sight line through, so high over the ring.
fn high_opening(high: f64) -> Design {
    let stops = even(12);
    let base = layer("base", circle(36.0)).ringed(ring("points", 20.0, &stops, |_| circle(2.0)));
    let base = base.with(pocket(Face::Front, 1.6, circle(4.1)));
    let well = layer("well", circle(36.0)).with(window("wide", circle(12.0).at(20.0, 0.0)));
    let mut well = well.with(pocket(Face::Back, 1.6, circle(4.1)));
    well.stock.thickness = Measured::nominal(mm(high));
    let cover = layer("cover", circle(36.0)).with(window("peep", circle(4.5).at(20.0, 0.0)));
    design(vec![base, well, cover], vec![turns(0, &stops), glued()], vec![reads("points", &["wide", "peep"])])
}

/// Name of the finding, the dial with the fault, and its sound twin.
pub type Planted = (&'static str, &'static str, Design, Design);

fn readings() -> Vec<Planted> {
    let shifted = with(|design| ring_of(design).labels.rotate_right(1));
    let late = with(|design| {
        for label in &mut ring_of(design).labels {
            label.ink = label.ink.turned(25.0);
        }
    });
    let twelve = |radius: f64| two_layers(12, |_| circle(2.0), circle(radius).at(20.0, 0.0));
    let swapped = with(|design| ring_of(design).labels.swap(2, 4));
    let one_big = with(|design| {
        let label = &mut ring_of(design).labels[3];
        label.ink = rectangle(14.0, 3.0).at(20.0, 180.0);
    });
    let decorated = with(|design| design.layers[0].marks.push(engraving(circle(1.0).at(24.5, 0.0).shifted(2.5, 0.0))));
    let decorated_aside = with(|design| design.layers[1].marks.push(engraving(circle(1.0).at(20.0, 180.0))));
    let uneven = with(|design| *stops_of(design) = [0.0, 60.0, 120.0, 180.0, 240.0, 330.0].map(deg).to_vec());
    let nowhere = with(|design| set(design, 1, 0, circle(4.0).at(11.0, 30.0)));
    let under = with(|design| {
        design.layers.swap(0, 1);
        let Joint::Turn(turn) = &mut design.joints[0] else { panic!("a turn is wanted") };
        let Pivot::Magnets { lower, upper, .. } = &mut turn.pivot else { panic!("magnets are wanted") };
        (lower.face, upper.face) = (Face::Back, Face::Front);
    });
    let second = |radius: f64, bearing: f64| {
        with(|design| design.layers[1].marks.push(window("moon", circle(3.0).at(radius, bearing))))
    };
    let bitten = |from: f64| {
        with(|design| {
            let bite = circle(40.0).difference(&circle(from)).intersection(&rectangle(20.0, 100.0).shifted(0.0, -50.0));
            design.layers[1].outline = circle(30.0).difference(&bite);
        })
    };
    let small_cover = |radius: f64| with(|design| design.layers[1].outline = circle(radius));
    let unpainted = {
        let mut design = clear_dial(circle(6.5).at(20.0, 0.0));
        design.layers[1].marks.retain(|mark| !matches!(mark.work, Work::Paint { .. }));
        design
    };
    let other_label = two_layers(6, |_| label(), circle(6.5).at(20.0, 60.0));
    vec![
        ("reading-wrong", "labels shifted by one place", shifted, sound()),
        ("reading-wrong", "two labels swapped", swapped, sound()),
        ("reading-wrong", "the window stands over the next label", other_label, sound()),
        ("reading-hidden", "every label 25 degrees late", late, sound()),
        ("reading-hidden", "one label too wide", one_big, sound()),
        ("reading-hidden", "one stop off its label", uneven, sound()),
        ("reading-hidden", "the window over bare wood", nowhere, sound()),
        ("reading-shared", "the window wide enough for three", twelve(9.0), twelve(4.5)),
        ("reading-shared", "a mark beside the label", decorated, decorated_aside),
        ("reading-shared", "a label beneath a hole in the ring's layer", seen_past(true), seen_past(false)),
        ("shows-elsewhere", "a second opening over the ring", second(20.0, 180.0), second(11.0, 180.0)),
        ("shows-elsewhere", "a bite in the rim", bitten(18.0), bitten(26.0)),
        ("shows-elsewhere", "a cover smaller than the ring", small_cover(21.0), small_cover(26.0)),
        (
            "shows-elsewhere",
            "a clear cover that nothing is painted on",
            unpainted,
            clear_dial(circle(6.5).at(20.0, 0.0)),
        ),
        ("reading-covered", "the window under the ring", under, sound()),
    ]
}

fn readings_of_other_kinds() -> Vec<Planted> {
    let pointer = || pointer_dial(circle(23.0), arrow());
    let turned_pointer = pointer_dial(circle(23.0), arrow().turned(30.0));
    let wide_hand = pointer_dial(circle(27.5), arrow());
    let window = || circle(6.5).at(20.0, 0.0);
    let glued_off = glued_dial(window(), circle(6.5).at(20.0, 18.0));
    let clear_small = clear_dial(circle(2.5).at(20.0, 0.0));
    let frosted = || {
        let mut design = clear_dial(window());
        design.layers[1].marks.push(engraving(rectangle(8.0, 1.0).at(20.0, 0.0)));
        design
    };
    let tight = two_layers(6, |_| circle(3.0), circle(3.3).at(20.0, 0.0));
    let many = with(|design| {
        let stops: Vec<f64> = (0..120).map(|at| f64::from(at) * 3.0).collect();
        *stops_of(design) = stops.iter().map(|stop| deg(*stop)).collect();
        for at in 2..4 {
            design.layers.push(layer(&format!("top{at}"), circle(30.0)).with(super::designs::window("", window())));
            design.joints.push(turns(at - 1, &stops));
        }
    });
    let both_sides = || two_sided(Laid::ByStops, -1.0);
    vec![
        ("reading-wrong", "the pointer 30 degrees off", turned_pointer, pointer()),
        ("reading-hidden", "the hand covers the labels", wide_hand, pointer()),
        ("reading-hidden", "the second of two windows off", glued_off, glued_dial(window(), window())),
        ("reading-hidden", "the bare patch too small", clear_small, clear_dial(window())),
        ("reading-hidden", "engraving over the bare patch", frosted(), clear_dial(window())),
        ("reading-wrong", "a ring above its turn laid as one below it", two_sided(Laid::ByStops, 1.0), both_sides()),
        ("rings-run-apart", "a ring that counts back behind", two_sided(Laid::Round, 1.0), both_sides()),
        ("reading-aslant", "an opening 15 mm over its ring", high_opening(15.0), high_opening(3.0)),
        ("reading-unsure", "0.3 mm of room", tight, sound()),
        ("too-many-stops", "three turns of 120 stops", many, sound()),
    ]
}

fn fits() -> Vec<Planted> {
    let in_slot = |outline: Region, depth: Option<f64>| with(|design| design.slot = slot(outline, depth));
    let hexagon = |slot_radius: f64, count: usize| {
        with(|design| {
            set_outlines(design, &regular(6, 33.0));
            design.slot = slot(circle(slot_radius), None);
            if count != 6 {
                *stops_of(design) = even(count).into_iter().map(deg).collect();
            }
        })
    };
    let square_ring = |side: f64| {
        let stops = even(4);
        let mut design = two_layers(4, |_| label(), circle(6.5).at(20.0, 0.0));
        *stops_of(&mut design) = stops.into_iter().map(deg).collect();
        set_outlines(&mut design, &rectangle(side, side));
        design.slot = slot(rectangle(66.0, 66.0), None);
        design
    };
    let off = |by: f64| {
        with(|design| {
            let outline = regular(6, 33.0).shifted(by, 0.0);
            design.layers[1].outline = outline;
            design.layers[0].outline = regular(6, 33.0);
        })
    };
    let disc_off = with(|design| design.layers[0].outline = circle(30.0).shifted(0.0, 0.4));
    vec![
        ("too-big-for-slot", "a slot 0.1 mm small", in_slot(circle(29.9), None), in_slot(circle(30.1), None)),
        (
            "too-big-for-slot",
            "a square slot too low",
            in_slot(rectangle(62.0, 59.0), None),
            in_slot(rectangle(62.0, 60.5), None),
        ),
        ("too-big-for-slot", "corners out of a round slot", hexagon(32.8, 6), hexagon(33.1, 6)),
        ("too-thick-for-slot", "5.9 mm in 5.8 mm", in_slot(circle(31.0), Some(5.8)), in_slot(circle(31.0), Some(6.0))),
        ("turns-outside-slot", "a square in a square", square_ring(64.0), {
            let mut roomy = square_ring(64.0);
            roomy.slot = slot(rectangle(92.0, 92.0), None);
            roomy
        }),
        ("off-axis", "an outline 0.3 mm off", off(0.3), off(0.0)),
        ("off-axis", "a disc 0.4 mm off", disc_off, sound()),
        ("not-flush", "an outline 0.3 mm off", off(0.3), off(0.0)),
        ("not-flush", "ten stops on a hexagon", hexagon(34.0, 10), hexagon(34.0, 6)),
    ]
}

fn webs_and_floors() -> Vec<Planted> {
    let window_at = |radius: f64| with(|design| design.layers[0].marks.push(window("", circle(2.0).at(radius, 30.0))));
    let two_windows = |apart: f64| {
        with(|design| {
            design.layers[0].marks.push(window("", circle(1.0).at(11.0, 30.0)));
            design.layers[0].marks.push(window("", circle(1.0).at(11.0, 30.0).shifted(2.0 + apart, 0.0)));
        })
    };
    let back_pocket = |radius: f64, depth: f64| {
        with(|design| design.layers[0].marks.push(pocket(Face::Back, depth, circle(2.0).at(radius, 30.0))))
    };
    let bitten = |deep: f64| {
        with(|design| {
            let bite = rectangle(20.0, 2.0).at(30.0, 90.0).shifted(10.0 - deep, 0.0);
            design.layers[0].marks.push(window("", circle(2.0).at(25.0, 90.0).shifted(-4.0, 0.0)));
            design.layers[0].marks.push(mark("", Work::Hole, bite));
            ring_of(design).labels.clear();
            design.readings.clear();
        })
    };
    let over = |depth: Option<f64>, face: Face| {
        with(|design| {
            set(design, 1, 1, circle(4.1));
            let work = Work::Engrave { tone: 1.0, depth: depth.map(mm), ink: None };
            design.layers[1].marks.push(Mark { face, ..mark("", work, circle(2.0)) });
        })
    };
    let both = |depth: f64| {
        with(|design| {
            design.layers[0].marks.push(pocket(Face::Front, depth, circle(2.0).at(20.0, 30.0)));
            design.layers[0].marks.push(pocket(Face::Back, 1.0, circle(2.0).at(20.0, 30.0)));
        })
    };
    let same_face = |apart: f64| {
        with(|design| {
            design.layers[0].marks.push(pocket(Face::Back, 0.6, circle(2.0).at(20.0, 30.0)));
            design.layers[0].marks.push(pocket(Face::Back, 0.6, circle(2.0).at(20.0, 30.0).shifted(apart, 0.0)));
        })
    };
    let holed_by = |x: f64| with(|design| design.layers[1].marks.push(mark("", Work::Hole, circle(2.5).at(x, 90.0))));
    let slotted = |to: f64| {
        with(|design| {
            // Between two labels, so that it lays none of them bare.
            let slot = rectangle(3.0, 30.0).shifted(0.0, -15.0 - to).turned(30.0);
            design.layers[1].outline = circle(30.0).difference(&slot);
        })
    };
    vec![
        ("web-too-thin", "a window 0.9 mm from the edge", window_at(27.1), window_at(26.0)),
        ("web-too-thin", "two windows 1.2 mm apart", two_windows(1.2), two_windows(1.6)),
        ("web-too-thin", "a pocket 1 mm from the edge", back_pocket(27.0, 1.0), back_pocket(26.0, 1.0)),
        ("web-too-thin", "a bite that nearly meets a window", bitten(6.0), bitten(4.0)),
        ("pocket-too-deep", "3 mm in a board of 2.95 mm", back_pocket(20.0, 3.0), back_pocket(20.0, 2.0)),
        ("floor-too-thin", "0.7 mm left", back_pocket(20.0, 2.25), back_pocket(20.0, 2.1)),
        ("floor-too-thin", "engraved over to 0.7 mm", over(Some(0.7), Face::Front), over(Some(0.4), Face::Front)),
        ("pockets-meet", "2.1 and 1 mm of 2.95 mm", both(2.1), both(1.0)),
        ("pockets-overlap", "3 mm apart", same_face(3.0), same_face(5.0)),
        ("pocket-broken", "a hole over its wall", holed_by(6.0), holed_by(9.0)),
        ("pocket-broken", "a slot in the edge through it", slotted(3.0), slotted(15.0)),
        ("magnet-proud", "a pocket of 1.2 mm", with(|design| seat(design, 1.2)), with(|design| seat(design, 1.55))),
        ("pocket-off-centre", "0.3 mm off", with(|design| set(design, 0, 0, circle(4.1).shifted(0.3, 0.0))), sound()),
        ("magnet-too-wide", "a pocket of 7.8 mm", with(|design| set(design, 0, 0, circle(3.9))), sound()),
        ("magnet-without-pocket", "no pocket below", with(|design| drop(design.layers[0].marks.remove(0))), sound()),
        ("rivet-does-not-grip", "5.9 mm in 3 to 4 mm", riveted(3.0, 4.0), riveted(5.0, 6.5)),
    ]
}

fn marks() -> Vec<Planted> {
    let engraved = |shape: Region| with(|design| design.layers[1].marks.push(engraving(shape)));
    let scored = |radius: f64| with(|design| design.layers[1].marks.push(mark("", Work::Score, circle(radius))));
    let holed = |shape: Region| with(|design| design.layers[1].marks.push(window("", shape)));
    let counter = circle(3.0).difference(&circle(1.5)).at(15.0, 150.0);
    let bridged = counter.difference(&rectangle(1.6, 8.0).at(17.0, 150.0));
    let moat = || circle(11.5).difference(&circle(9.0));
    let on_front = with(|design| design.layers[0].marks.push(engraving(rectangle(5.0, 5.0).shifted(5.0, 0.0))));
    let on_back = with(|design| {
        design.layers[0].marks.push(Mark { face: Face::Back, ..engraving(rectangle(5.0, 5.0).shifted(5.0, 0.0)) });
    });
    let two_pieces = with(|design| design.layers[1].outline = circle(30.0).union(&circle(3.0).shifted(40.0, 0.0)));
    let crowded = |radius: f64| {
        with(|design| {
            let inner = ring("inner", radius, &even(6), |_| circle(1.5));
            design.layers[0].rings.push(Ring { face: Face::Back, ..inner });
            let inner = ring("outer", radius, &even(6), |at| circle(1.5).at(if at == 2 { 2.4 } else { 4.0 }, 90.0));
            design.layers[0].rings.push(Ring { face: Face::Back, ..inner });
        })
    };
    let near = |gap: f64| {
        engraved(
            rectangle(2.0, 5.0).at(15.0, 180.0).union(&rectangle(2.0, 5.0).at(15.0, 180.0).shifted(2.0 + gap, 0.0)),
        )
    };
    let speck = |radius: f64| engraved(circle(radius).at(15.0, 180.0));
    let below = |y: f64| engraved(rectangle(10.0, 4.0).shifted(0.0, y));
    vec![
        (
            "opening-outside-outline",
            "a window beside the part",
            holed(circle(3.0).at(40.0, 90.0)),
            holed(circle(3.0).at(20.0, 90.0)),
        ),
        ("mark-outside-outline", "engraving over the rim", below(-28.0), below(-20.0)),
        (
            "mark-near-edge",
            "0.5 mm from the rim",
            engraved(circle(2.0).at(27.5, 180.0)),
            engraved(circle(2.0).at(26.5, 180.0)),
        ),
        ("mark-near-edge", "a score 0.8 mm from the rim", scored(29.2), scored(28.9)),
        (
            "mark-near-edge",
            "0.5 mm from a window",
            engraved(circle(1.0).at(12.0, 0.0)),
            engraved(circle(1.0).at(11.0, 0.0)),
        ),
        ("mark-cut-away", "engraving across a window", below(12.0), below(-15.0)),
        ("mark-cut-away", "engraving across a pocket", on_front, on_back),
        ("loose-piece", "the middle of a ring", holed(counter), holed(bridged)),
        ("loose-piece", "an outline in two pieces", two_pieces, sound()),
        ("loose-piece", "the hub cut free", holed(moat()), holed(moat().difference(&rectangle(4.0, 60.0)))),
        ("nothing-left", "a window as large as the cover", holed(circle(30.0)), sound()),
        (
            "feature-too-small",
            "a stroke of 0.2 mm",
            engraved(rectangle(0.2, 5.0).at(15.0, 180.0)),
            engraved(rectangle(0.4, 5.0).at(15.0, 180.0)),
        ),
        ("feature-too-small", "a gap of 0.2 mm", near(0.2), near(0.4)),
        ("feature-too-small", "a dot of 0.2 mm", speck(0.1), speck(0.2)),
        ("labels-overlap", "one label over another", crowded(12.0), with(|_| {})),
    ]
}

fn check(planted: Vec<Planted>) {
    check_by(found, planted);
}

/// Every fault that is planted: the name of its finding, and its words.
pub(crate) fn names() -> Vec<(&'static str, &'static str)> {
    let all = [readings(), readings_of_other_kinds(), fits(), webs_and_floors(), marks()];
    all.into_iter().flatten().map(|(name, fault, ..)| (name, fault)).collect()
}

/// Every fault is found by its name, and its sound twin is silent.
pub fn check_by(found: impl Fn(&Design) -> Vec<&'static str>, planted: Vec<Planted>) {
    let mut wrong = Vec::new();
    for (name, fault, bad, good) in planted {
        let (in_bad, in_good) = (found(&bad), found(&good));
        if !in_bad.contains(&name) {
            wrong.push(format!("{fault}: {name} not found, only {in_bad:?}"));
        }
        if !in_good.is_empty() {
            wrong.push(format!("sound twin of {fault}: {in_good:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn faults_in_readings_are_named() {
    check(readings());
}

#[test]
fn faults_in_readings_of_other_kinds_are_named() {
    check(readings_of_other_kinds());
}

#[test]
fn faults_in_fit_are_named() {
    check(fits());
}

#[test]
fn faults_in_webs_floors_and_magnets_are_named() {
    check(webs_and_floors());
}

#[test]
fn faults_in_marks_are_named() {
    check(marks());
}

#[test]
fn more_than_forty_faults_are_planted() {
    assert!(names().len() > 40);
}

/// Every message is one sentence without a full stop, names no type, and has a place, a help and a subject.
#[test]
fn every_finding_is_well_spoken() {
    let all = [readings(), readings_of_other_kinds(), fits(), webs_and_floors(), marks()];
    for (_, fault, bad, _) in all.into_iter().flatten() {
        for problem in all_found(&bad) {
            assert!(!problem.labels.is_empty() && problem.help.is_some() && problem.subject.is_some(), "{fault}");
            assert!(!problem.message.ends_with('.'), "{}", problem.message);
            assert!(!problem.message.contains("inf") && !problem.message.contains("NaN"), "{}", problem.message);
        }
    }
}

/// The map that grows an outline for the largest scale.
#[test]
fn the_largest_scale_fits_and_no_larger() {
    let mut design = with(|design| design.slot = slot(circle(29.0), None));
    let scale = audit(&design).fit.unwrap().largest_scale;
    assert!((scale - 29.0 / 30.0).abs() < 1e-4, "{scale}");
    for layer in &mut design.layers {
        layer.outline = layer.outline.transformed(Affine::scale(scale - 1e-4));
    }
    assert!(audit(&design).fit.unwrap().worst().unwrap().clearance.as_mm() >= 0.0);
}

/// Designs with nothing in them, or with names and counts that do not match, are audited without a panic.
#[test]
fn bare_designs_are_audited() {
    let bare = [
        design(Vec::new(), Vec::new(), Vec::new()),
        design(vec![layer("alone", Region::empty())], Vec::new(), vec![reads("none", &["nowhere"])]),
        design(vec![layer("a", circle(9.0)), layer("b", circle(9.0))], vec![turns(0, &[])], Vec::new()),
        with(|design| ring_of(design).labels.clear()),
        with(|design| ring_of(design).labels.truncate(2)),
        with(|design| ring_of(design).labels[1].ink = Region::empty()),
        with(|design| stops_of(design).clear()),
        with(|design| set_outlines(design, &Region::empty())),
        with(|design| design.joints.clear()),
        with(|design| design.slot = slot(Region::empty(), None)),
        with(|design| drop(design.layers.pop())),
    ];
    for design in &bare {
        let found = audit(design);
        assert!(found.reading_check.readings.len() <= 1);
        assert_eq!(found.strength.layers.len(), design.layers.len());
    }
    // An empty label has nothing to hide.
    assert!(audit(&bare[5]).reading_check.reads());
}
