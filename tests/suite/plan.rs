//! The plan against hand-reckoned places, overlaps added up apart, and closed forms.

use dialwright::design::{Design, Face, FlipChoice, Ink, Shape, Wait, Work};
use dialwright::diagnostics::{Finding, Severity};
use dialwright::geometry::{Region, shapes};
use dialwright::plan::{
    CutEdge, Effort, Item, LaidInto, Layout, Operation, OperationKind, OutlineCache, Plan, Sheet, Turned, Turns,
    least_centred, nest, plan, plan_with,
};
use dialwright::units::{Angle, Length};
use kurbo::{Affine, ParamCurve, Point, Rect, Shape as _};
use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::designs::boards::*;
use super::designs::made_by_passes;
use super::overlap::{self, Chords};

fn planned(design: &Design) -> Plan {
    let (plan, problems) = plan(design);
    assert!(!problems.has_errors(), "{problems:?}");
    plan.unwrap()
}

/// Laid in rows alone, without a search.
fn in_rows(design: &Design) -> Plan {
    plan_with(design.into(), Effort(0), &OutlineCache::default()).0.unwrap()
}

fn findings(design: &Design) -> Vec<&'static str> {
    let (_, problems) = plan(design);
    problems.into_sorted().iter().map(|found| found.finding.name()).collect()
}

fn region(operation: &Operation) -> &Region {
    match operation.shape() {
        Some(Shape::Region(region)) => region,
        _ => panic!("a region is wanted: {operation:?}"),
    }
}

/// What an operation is, in short.
fn kind(operation: &Operation) -> &'static str {
    match operation.kind {
        OperationKind::Engrave { .. } => "engrave",
        OperationKind::Score { .. } => "score",
        OperationKind::Pocket { .. } => "pocket",
        OperationKind::Cut { edge: CutEdge::Opening, .. } => "opening",
        OperationKind::Cut { edge: CutEdge::Outline, .. } => "outline",
        OperationKind::Cut { edge: CutEdge::Holder, .. } => "holder",
        OperationKind::Pause { .. } => "pause",
    }
}

fn kinds(plan: &Plan, board: usize, setup: usize) -> Vec<&'static str> {
    plan.boards[board].setups[setup].operations.iter().map(kind).collect()
}

/// The first operation of a kind on a part in a setup of the first board.
fn find<'a>(plan: &'a Plan, setup: usize, what: &str, part: &str) -> &'a Operation {
    let operations = &plan.boards[0].setups[setup].operations;
    operations.iter().find(|it| kind(it) == what && it.part.as_deref() == Some(part)).unwrap()
}

fn centre(region: &Region) -> Point {
    region.bounds().unwrap().center()
}

fn shared_area(a: &Region, b: &Region) -> f64 {
    overlap::shared_area(&Chords::of(a.path()), &Chords::of(b.path()))
}

/// Everything cut free of the board, holders too: its tool paths must not meet.
fn cut_free(plan: &Plan, board: usize) -> Vec<Region> {
    let operations = plan.boards[board].setups.iter().flat_map(|setup| &setup.operations);
    operations.filter(|it| matches!(kind(it), "outline" | "holder")).map(|it| region(it).clone()).collect()
}

fn assert_sound(plan: &Plan) {
    for (number, board) in plan.boards.iter().enumerate() {
        let free = cut_free(plan, number);
        let chords: Vec<Chords> = free.iter().map(|cut| Chords::of(cut.path())).collect();
        let whole = Rect::new(0.0, 0.0, board.size.0.as_mm(), board.size.1.as_mm());
        for (index, a) in free.iter().enumerate() {
            assert!(whole.contains_rect(a.bounds().unwrap()), "{:?} leaves the board", a.bounds());
            for b in &chords[index + 1..] {
                assert_eq!(overlap::shared_area(&chords[index], b), 0.0, "two cuts on board {number} meet");
            }
        }
    }
}

#[test]
fn each_setup_keeps_the_order_of_the_trade() {
    let plan = planned(&two_layers(1));
    // Common practice, no source: engrave, score, pockets of this face, inner cuts, outer cuts, then the person.
    let first = ["engrave", "engrave", "score", "pocket", "opening", "outline", "outline", "pause"];
    assert_eq!(kinds(&plan, 0, 0), first);
    assert_eq!(kinds(&plan, 0, 1), ["pocket"]);
    assert_eq!(plan.boards.len(), 1);
    assert_eq!(plan.part_count(), 2);
}

#[test]
fn each_operation_names_what_asked_for_it() {
    let plan = planned(&two_layers(1));
    let opening = find(&plan, 0, "opening", "cover-1");
    assert_eq!(opening.name.as_deref(), Some("peep"));
    assert_eq!(opening.face, Some(Face::Front));
    assert_eq!(opening.origin, Some(at(6)));
    assert_eq!(find(&plan, 0, "engrave", "base-1").name.as_deref(), Some("crew"));
    assert_eq!(find(&plan, 1, "pocket", "cover-1").face, Some(Face::Back));
    assert_eq!(find(&plan, 0, "outline", "cover-1").origin, Some(at(2)));
}

#[test]
fn eight_dials_lie_on_one_board_without_meeting() {
    // Common practice, no source: eight two-layer dials of some 70 mm from one board of 12 inches.
    for across in [60.0, 70.0] {
        let mut design = two_layers(8);
        for layer in &mut design.layers {
            layer.outline = disc(across);
            layer.stock.board = (mm(304.8), mm(304.8));
        }
        let plan = planned(&design);
        assert_eq!(plan.boards.len(), 1);
        assert_eq!(plan.part_count(), 16);
        assert_sound(&plan);
        assert_sound(&in_rows(&design));
    }
}

#[test]
fn spares_are_made_and_boards_added() {
    let mut design = two_layers(8);
    design.run.spares = 4;
    let plan = planned(&design);
    assert_eq!(plan.part_count(), 24);
    assert_eq!(plan.boards_of("birch"), 2);
    assert_sound(&plan);
}

#[test]
fn kerf_moves_outlines_out_and_openings_in() {
    let plan = planned(&two_layers(1));
    // Common practice, no source: the tool's path stands half a kerf off; here 0.08 mm, on circles 60 and 12 mm wide.
    let outline = region(find(&plan, 0, "outline", "cover-1")).bounds().unwrap();
    assert!((outline.width() - 60.16).abs() < 1e-3, "{}", outline.width());
    let opening = region(find(&plan, 0, "opening", "cover-1")).bounds().unwrap();
    assert!((opening.width() - 11.84).abs() < 1e-3, "{}", opening.width());
    let OperationKind::Cut { kerf_offset, .. } = find(&plan, 0, "outline", "cover-1").kind else { panic!() };
    assert_eq!(kerf_offset, Length::mm(0.08));
}

#[test]
fn the_cut_outline_of_a_polygon_has_steiners_area() {
    // Rounded pentagon, closed form: area 2904.7526613709 at 0, 2914.8503092731 at +0.05 (Steiner, A + P d + pi d²).
    let (n, sharp, corner) = (5.0_f64, 35.0_f64, 4.0_f64);
    let alpha = std::f64::consts::PI / n;
    let core = sharp - corner / alpha.cos();
    let corners = (0..5).map(|k| {
        let bearing = 2.0 * alpha * f64::from(k);
        disc(2.0 * corner).transformed(Affine::translate((core * bearing.sin(), core * bearing.cos())))
    });
    let mut outline = corners.reduce(|a, b| a.union(&b)).unwrap();
    let mut hull = kurbo::BezPath::new();
    for k in 0..5 {
        let (a, b) = (2.0 * alpha * f64::from(k), 2.0 * alpha * f64::from(k + 1));
        let side = a + alpha;
        for (bearing, reach) in [(a, core), (b, core)] {
            let at =
                Point::new(reach * bearing.sin() + corner * side.sin(), reach * bearing.cos() + corner * side.cos());
            if hull.elements().is_empty() { hull.move_to(at) } else { hull.line_to(at) }
        }
    }
    hull.close_path();
    outline = outline.union(&Region::from_path(&hull, dialwright::geometry::Rule::NonZero).unwrap());
    assert!((outline.area() - 2904.7526613709).abs() < 0.01, "{}", outline.area());
    let mut body = layer("body", outline);
    body.stock.kerf = mm(0.1);
    let plan = planned(&design(vec![body]));
    let cut = region(find(&plan, 0, "outline", "body-1")).area();
    assert!((cut / 2914.8503092731 - 1.0).abs() < 1e-5, "{cut}");
}

#[test]
fn an_opening_over_the_edge_becomes_part_of_the_outline() {
    let mut body = layer("body", disc(60.0));
    body.marks.push(mark(Face::Front, Work::Hole, disc_at(10.0, 30.0, 0.0), 5));
    body.marks.push(mark(Face::Front, Work::Hole, disc_at(10.0, 0.0, 0.0), 6));
    body.marks.push(mark(Face::Front, Work::Window, disc_at(10.0, 5.0, 0.0), 7));
    let plan = planned(&design(vec![body]));
    assert_eq!(kinds(&plan, 0, 0), ["opening", "outline"]);
    let opening = region(find(&plan, 0, "opening", "body-1"));
    assert!((opening.bounds().unwrap().width() - 14.84).abs() < 1e-3, "two that overlap are cut as one");
    let outline = region(find(&plan, 0, "outline", "body-1"));
    assert!(outline.area() < disc(60.16).area() - 30.0, "the notch is cut with the outline");
    assert_eq!(outline.contours().len(), 1);
}

#[test]
fn holes_of_the_outline_are_openings() {
    let body = layer("body", disc(60.0).difference(&disc(20.0)));
    let plan = planned(&design(vec![body]));
    assert_eq!(kinds(&plan, 0, 0), ["opening", "outline"]);
    let opening = region(find(&plan, 0, "opening", "body-1")).bounds().unwrap();
    assert!((opening.width() - 19.84).abs() < 1e-3);
}

/// Where a place on the layer comes to lie on the board, in each setup.
fn lie(plan: &Plan, part: &str, setup: usize) -> Affine {
    plan.boards[0].parts.iter().find(|it| it.name == part).unwrap().lies[setup].at
}

#[test]
fn a_turned_part_drops_back_into_its_own_opening() {
    let plan = planned(&two_layers(1));
    let axis = lie(&plan, "cover-1", 0) * Point::ORIGIN;
    let pocket = centre(region(find(&plan, 1, "pocket", "cover-1")));
    assert!(pocket.distance(axis) < 0.002, "the pocket stands {} off the axis", pocket.distance(axis));
    let cut = region(find(&plan, 0, "outline", "cover-1"));
    let turned = disc(60.0).transformed(lie(&plan, "cover-1", 1));
    assert!((shared_area(cut, &turned) / disc(60.0).area() - 1.0).abs() < 1e-4);
    let Turned::PartsOver(over) = &plan.boards[0].setups[1].turned else { panic!("parts are turned") };
    assert_eq!(over.len(), 1);
    assert_eq!((over[0].part.as_str(), over[0].into), ("cover-1", LaidInto::OwnOpening));
    let shift = over[0].play.shift.as_mm();
    assert!((0.16..0.162).contains(&shift), "the kerf's outer wall stands one kerf off the finished edge: {shift}");
    assert_eq!(over[0].play.turn, None, "nothing keeps a disc from turning");
}

#[test]
fn pockets_of_turned_parts_stay_on_their_axis_however_they_are_laid() {
    let mut design = two_layers(9);
    for layer in &mut design.layers {
        layer.outline = shapes::polygon(5, 33.0, 5.0).unwrap();
    }
    let plan = planned(&design);
    for (board, setup, operation) in plan.operations().filter(|(_, _, it)| kind(it) == "pocket") {
        let part = plan.boards[board].parts.iter().find(|it| Some(&it.name) == operation.part.as_ref()).unwrap();
        let off = centre(region(operation)).distance(part.lies[setup].at * Point::ORIGIN);
        assert!(off < 0.005, "a pocket of {} stands {off} mm off", part.name);
    }
}

/// A part is moved and turned at random as far as it goes inside the opening that a kerf of 0.16 mm leaves; whether it
/// still fits is asked of the opening itself, point by point.
#[test]
fn no_misplacement_exceeds_the_play_that_is_stated() {
    let mut rng = fastrand::Rng::with_seed(7);
    let pentagon = shapes::polygon(5, 33.0, 5.0).unwrap();
    let oblong = shapes::rectangle(50.0, 20.0, 3.0).unwrap();
    // Its hull is nearly a disc; what keeps it in place are the notches.
    let notched = (0..12).fold(disc(58.0), |body, at| {
        let bearing = f64::from(at) * std::f64::consts::TAU / 12.0;
        body.difference(&disc_at(6.0, 29.0 * bearing.cos(), 29.0 * bearing.sin()))
    });
    for outline in [pentagon, oblong, disc(40.0), crooked(), notched] {
        let plan = planned(&design(vec![lettered_back(outline.clone(), FlipChoice::Chosen)]));
        let Turned::PartsOver(over) = &plan.boards[0].setups[1].turned else { panic!("parts are turned") };
        let play = over[0].play;
        let opening = outline.offset(0.16);
        let edge: Vec<Point> = outline.flattened(0.05).into_iter().flatten().map(|[x, y]| Point::new(x, y)).collect();
        let most = play.turn.map_or(180.0, Angle::as_degrees);
        let fits = |map: Affine| edge.iter().all(|at| opening.contains(map * *at));
        let (mut farthest, mut fitting) = (0.0_f64, 0);
        for _ in 0..800 {
            let turn = Affine::rotate(((2.0 * rng.f64() - 1.0) * most).to_radians());
            let way = kurbo::Vec2::from_angle(std::f64::consts::TAU * rng.f64());
            let (mut least, mut far) = (0.0, 0.6);
            if !fits(turn) {
                continue;
            }
            for _ in 0..7 {
                let middle = (least + far) / 2.0;
                if fits(Affine::translate(way * middle) * turn) { least = middle } else { far = middle }
            }
            fitting += 1;
            farthest = farthest.max(least);
            assert!(least <= play.shift.as_mm(), "off by {least}, said to be at most {}", play.shift);
            let place = Point::new(20.0, 0.0);
            let off = (Affine::translate(way * least) * turn * place).distance(place);
            assert!(off <= play.off(mm(20.0)).as_mm(), "a place 20 mm out is off by {off}");
        }
        assert!(fitting > 80, "{fitting} of the draws fitted");
        assert!(farthest > 0.93 * play.shift.as_mm(), "the bound is not idle: {farthest} of {}", play.shift);
    }
}

/// Where a closed path or a filled region is begun.
fn entry(operation: &Operation) -> Point {
    match kind(operation) {
        "engrave" | "pocket" => centre(region(operation)),
        _ => operation.path().unwrap().segments().next().unwrap().start(),
    }
}

#[test]
fn neighbours_come_before_what_is_far_and_small_cuts_before_large() {
    let mut design = two_layers(8);
    design.layers[1].outline = disc(54.0);
    design.layers[1].marks.retain(|mark| !matches!(mark.work, Work::Score));
    let plan = planned(&design);
    let setup = &plan.boards[0].setups[0];
    let outlines: Vec<f64> =
        setup.operations.iter().filter(|it| kind(it) == "outline").map(|it| region(it).area()).collect();
    assert!(outlines.is_sorted_by(|a, b| *a <= b * 1.001), "{outlines:?}");
    let kinds = kinds(&plan, 0, 0);
    let last_of = |what: &str| kinds.iter().rposition(|it| *it == what).unwrap();
    let first_of = |what: &str| kinds.iter().position(|it| *it == what).unwrap();
    assert!(last_of("opening") < first_of("outline") && last_of("pocket") < first_of("opening"));
    // The travel is added up again here, from the machine's zero to each operation's beginning.
    let mut at = Point::ORIGIN;
    let mut travel = 0.0;
    for operation in setup.operations.iter().filter(|it| kind(it) != "pause") {
        travel += at.distance(entry(operation));
        at = entry(operation);
    }
    assert!((travel - setup.travel.as_mm()).abs() < 1e-6 * travel, "{travel} {}", setup.travel);
    assert!(setup.travel_saved.as_mm() > 0.0);
    assert!(plan.travel().as_mm() >= travel);
}

#[test]
fn clamps_are_kept_free_on_both_faces_of_a_turned_board() {
    let mut body = lettered_back(disc(60.0), FlipChoice::Board(at(8)));
    body.stock.keep_out = disc_at(60.0, 0.0, 150.0);
    let mut design = design(vec![body]);
    design.run.dials = 12;
    let plan = planned(&design);
    assert_sound(&plan);
    for board in &plan.boards {
        for lie in board.parts.iter().flat_map(|part| &part.lies) {
            let part = disc(60.0).transformed(lie.at);
            assert_eq!(shared_area(&part, &disc_at(60.0, 0.0, 150.0)), 0.0, "a part lies under the clamp");
        }
    }
}

#[test]
fn the_share_that_becomes_parts_stands_beside_the_bound() {
    let plan = planned(&two_layers(8));
    let [used] = plan.stocks.as_slice() else { panic!("one stock") };
    // Sixteen discs of 60 mm on 305 by 305 mm.
    let share = 16.0 * std::f64::consts::PI * 900.0 / (305.0 * 305.0);
    assert_eq!((used.boards, used.least_boards), (1, 1));
    assert!((used.share / share - 1.0).abs() < 1e-6, "{}", used.share);
}

/// A layer with an L on the back, its corner at (10, 4), and a disc engraved on the front.
fn lettered_back(outline: Region, flip: FlipChoice) -> dialwright::design::Layer {
    let mut body = layer("body", outline);
    body.marks.push(mark(Face::Front, engrave(), disc_at(3.0, -5.0, -5.0), 5));
    body.marks.push(mark(Face::Back, engrave(), letter_l().transformed(Affine::translate((10.0, 4.0))), 6));
    body.flip = flip;
    body
}

#[test]
fn a_mark_on_the_back_lands_mirrored() {
    // Turned about the upright axis, what stands right of it stands left: the L's corner (10, 4) goes to (-10, 4),
    // and its foot points left. About the level axis the corner goes to (10, -4), and the stem points down.
    for (bearing, corner, size) in [(0.0, (-18.0, 4.0), (8.0, 12.0)), (90.0, (10.0, -16.0), (8.0, 12.0))] {
        let flip = FlipChoice::About(Angle::degrees(bearing), at(8));
        let plan = planned(&design(vec![lettered_back(disc(60.0), flip)]));
        let axis = lie(&plan, "body-1", 0) * Point::ORIGIN;
        let mark = region(find(&plan, 1, "engrave", "body-1"));
        let bounds = mark.bounds().unwrap() - axis.to_vec2();
        assert!((bounds.x0 - corner.0).abs() < 1e-9 && (bounds.y0 - corner.1).abs() < 1e-9, "{bounds:?}");
        assert!((bounds.width() - size.0).abs() < 1e-9 && (bounds.height() - size.1).abs() < 1e-9);
        // The square where stem and foot meet is inked, the one over the foot is not: hand-reckoned.
        let (inked, bare) =
            if bearing == 0.0 { ((-11.5, 14.0), (-16.5, 14.0)) } else { ((11.5, -14.0), (16.5, -14.0)) };
        assert!(mark.contains(axis + kurbo::Vec2::from(inked)));
        assert!(!mark.contains(axis + kurbo::Vec2::from(bare)));
    }
}

/// What lies over the rim is burnt up to the tool's path, half a kerf of 0.16 mm beyond it; what lies within stays as it was drawn,
/// however far from the axis that is. A disc about the rim keeps its half and a strip; a circle its half and two short arcs.
#[test]
fn what_runs_over_the_rim_is_burnt_up_to_the_cut() {
    let mut body = layer("body", drawn("M-20,-15 L20,-15 L20,15 L-20,15 Z"));
    let over = [disc_at(10.0, 20.0, 0.0), disc_at(4.0, 16.0, 11.0), disc_at(6.0, 30.0, 0.0)];
    body.marks.extend(over.map(|shape| named("filled", mark(Face::Front, engrave(), shape, 5))));
    body.marks.extend([-20.0, 0.0].map(|x| mark(Face::Front, Work::Score, disc_at(10.0, x, 0.0), 6)));
    let plan = planned(&design(vec![body]));
    let axis = lie(&plan, "body-1", 0);
    let operations = plan.boards[0].setups[0].operations.iter();
    let back = |it: &Operation| axis.inverse() * it.path().unwrap().clone();
    let rim = Rect::new(-20.08, -15.08, 20.08, 15.08).inflate(1e-6, 1e-6);
    for it in operations.clone().filter(|it| matches!(kind(it), "engrave" | "score")) {
        assert!(rim.contains_rect(back(it).bounding_box()), "{:?} leaves {rim:?}", back(it).bounding_box());
    }
    let mut areas: Vec<f64> = operations
        .clone()
        .filter(|it| kind(it) == "engrave")
        .map(|it| region(it).area())
        .filter(|it| *it > 0.0)
        .collect();
    areas.sort_by(f64::total_cmp);
    let (radius, past) = (5.0_f64, 0.08_f64);
    let half = radius.powi(2) * (std::f64::consts::PI - (past / radius).acos())
        + past * (radius.powi(2) - past.powi(2)).sqrt();
    assert_eq!(areas.len(), 2, "{areas:?}");
    assert!((areas[0] - 4.0 * std::f64::consts::PI).abs() < 1e-3 && (areas[1] - half).abs() < 1e-3, "{areas:?} {half}");
    let mut long: Vec<f64> = operations.filter(|it| kind(it) == "score").map(|it| it.score_length().as_mm()).collect();
    long.sort_by(f64::total_cmp);
    let arcs = 2.0 * radius * (std::f64::consts::PI - (past / radius).acos());
    let whole = 10.0 * std::f64::consts::PI;
    assert!((long[0] - arcs).abs() < 0.01 && (long[1] - whole).abs() < 0.01, "{long:?} {arcs} {whole}");
}

#[test]
fn the_planner_chooses_an_axis_of_symmetry() {
    // Symmetric about 90deg alone.
    let sideways = disc(40.0).union(&disc_at(16.0, 24.0, 0.0));
    let plan = planned(&design(vec![lettered_back(sideways, FlipChoice::Chosen)]));
    let Turned::PartsOver(over) = &plan.boards[0].setups[1].turned else { panic!("parts are turned") };
    assert_eq!(over[0].about, Angle::degrees(90.0));
    assert!(plan.boards[0].setups[0].operations.last().unwrap().instruction().unwrap().contains("level axis"));
}

/// Of parts that are lifted out the one with most play is told: a square goes as far as the kerf, and turns in its opening as well,
/// which moves its marks further than those of a disc of the same size. A part with work on one face alone is not lifted.
#[test]
fn the_least_centred_layer_is_the_one_with_most_play() {
    let named = |name: &str, outline: Region| {
        let mut body = lettered_back(outline, FlipChoice::Chosen);
        body.name = name.into();
        body
    };
    let square = || named("square", shapes::rectangle(60.0, 60.0, 0.0).unwrap());
    let round = || named("round", disc(60.0));
    let mut plain = layer("plain", shapes::rectangle(60.0, 60.0, 0.0).unwrap());
    plain.marks.push(mark(Face::Front, engrave(), disc_at(3.0, 5.0, 5.0), 5));
    for layers in [vec![round(), square(), plain.clone()], vec![plain.clone(), square(), round()]] {
        let design = design(layers);
        for plan in [None, Some(planned(&design))] {
            let (layer, play) = least_centred((&design).into(), plan.as_ref(), &OutlineCache::default()).unwrap();
            assert_eq!(layer.name, "square");
            assert!(play.shift.as_mm() > 0.99 * layer.stock.kerf.as_mm() && play.turn.is_some());
        }
    }
    assert!(least_centred((&design(vec![plain.clone()])).into(), None, &OutlineCache::default()).is_none());
    let plan = planned(&design(vec![round(), square(), plain]));
    assert!(plan.lifts("round") && plan.lifts("square") && !plan.lifts("plain") && !plan.lifts("nobody"));
}

/// How a board lies on the machine is said of every setup: square to its stops at first, with its grain where it has one; unmoved
/// where parts were turned over, against the same stops where the board was.
#[test]
fn each_setup_says_how_the_board_lies() {
    let registers = |flip: FlipChoice, grain: Option<f64>| {
        let mut body = lettered_back(disc(60.0), flip);
        body.stock.grain = grain.map(Angle::degrees);
        let plan = planned(&design(vec![body]));
        plan.boards[0].setups.iter().map(|setup| setup.registers.clone()).collect::<Vec<_>>()
    };
    let [first, second] = &registers(FlipChoice::Chosen, None)[..] else { panic!("two setups") };
    let stock = layer("any", disc(9.0)).stock.name;
    assert!(first.starts_with(&format!(
        "Lay the board of `{stock}`, 305mm by 305mm, flat and square with its lower left corner"
    )));
    assert!(first.ends_with("fix a stop along its left edge and one along its lower edge."), "{first}");
    assert_eq!(second, "The board has not been moved since the setup before.");
    assert!(registers(FlipChoice::Chosen, Some(90.0))[0].ends_with("edge, its grain running at bearing 90deg."));
    assert_eq!(registers(FlipChoice::Board(at(8)), None)[1], "The turned board lies against the same two stops.");
    let turned = planned(&design(vec![lettered_back(disc(60.0), FlipChoice::Board(at(8)))]));
    let said = turned.boards[0].setups.iter().flat_map(|setup| &setup.operations).filter_map(|it| it.instruction());
    let said: Vec<&str> = said.collect();
    assert!(
        said.iter().any(|said| said.starts_with("Turn the whole board over") && said.contains("exactly 305mm wide")),
        "{said:?}"
    );
}

#[test]
fn only_the_back_worked_lies_back_up() {
    let mut body = layer("body", disc(60.0));
    body.marks.push(mark(Face::Back, engrave(), letter_l(), 5));
    body.marks.push(mark(Face::Front, Work::Window, disc_at(8.0, 15.0, 0.0), 6));
    let plan = planned(&design(vec![body]));
    assert_eq!(plan.boards[0].setups.len(), 1);
    assert_eq!(plan.boards[0].parts[0].lies[0].up, Face::Back);
    let axis = lie(&plan, "body-1", 0) * Point::ORIGIN;
    let window = centre(region(find(&plan, 0, "opening", "body-1")));
    assert!((window - axis - kurbo::Vec2::new(-15.0, 0.0)).hypot() < 1e-3, "seen from the back it stands left");
}

/// Symmetric about no line.
fn crooked() -> Region {
    disc(50.0).union(&disc_at(14.0, 26.0, 6.0)).union(&disc_at(8.0, -4.0, -26.0))
}

#[test]
fn without_an_axis_a_holder_is_cut() {
    let mut design = design(vec![lettered_back(crooked(), FlipChoice::Chosen)]);
    design.run.dials = 3;
    assert_eq!(findings(&design), ["no-flip-axis"]);
    let plan = planned(&design);
    assert_eq!(kinds(&plan, 0, 0).iter().filter(|it| **it == "holder").count(), 3);
    assert_sound(&plan);
    let holder = region(find(&plan, 0, "holder", "body-2"));
    let turned = crooked().transformed(lie(&plan, "body-2", 1));
    assert!((shared_area(holder, &turned) / crooked().area() - 1.0).abs() < 1e-4, "the turned part fits the holder");
    let finished = crooked().transformed(lie(&plan, "body-2", 0));
    let gap = |it: &Region| it.bounds().unwrap();
    let apart = (gap(&turned).x0 - gap(&finished).x1).max(gap(&turned).y0 - gap(&finished).y1);
    assert!((apart - 2.0).abs() < 1e-6, "part and holder stand {apart} apart");
}

#[test]
fn a_wrong_axis_is_told_with_the_right_one() {
    let sideways = disc(40.0).union(&disc_at(16.0, 24.0, 0.0));
    let flip = FlipChoice::About(Angle::ZERO, at(8));
    let (none, problems) = plan(&design(vec![lettered_back(sideways, flip)]));
    assert!(none.is_none());
    let found = problems.into_sorted().remove(0);
    assert_eq!(found.finding, Finding::FlipAxisNotSymmetric);
    assert_eq!(found.span(), Some(at(8)));
    assert!(found.help.unwrap().contains("`flip about 90deg`"));
}

#[test]
fn a_turned_board_cuts_nothing_free_before_the_last_face() {
    let body = lettered_back(crooked(), FlipChoice::Board(at(8)));
    let mut cover = layer("cover", disc(40.0));
    cover.marks.push(mark(Face::Front, engrave(), disc(5.0), 9));
    let plan = planned(&design(vec![body, cover]));
    assert_eq!(kinds(&plan, 0, 0), ["engrave", "pause"]);
    assert_eq!(kinds(&plan, 0, 1), ["engrave", "engrave", "outline", "outline"]);
    assert_eq!(plan.boards[0].setups[1].turned, Turned::BoardOver);
    // Left and right are swapped about the middle of a board 305 mm wide.
    let before = lie(&plan, "body-1", 0) * Point::new(7.0, 3.0);
    let after = lie(&plan, "body-1", 1) * Point::new(7.0, 3.0);
    assert!((before.x + after.x - 305.0).abs() < 1e-9 && (before.y - after.y).abs() < 1e-9);
    let lies = &plan.boards[0].parts.iter().find(|it| it.name == "cover-1").unwrap().lies;
    assert_eq!((lies[0].up, lies[1].up), (Face::Back, Face::Front), "worked and cut from its front, in one setup");
    assert_eq!((lies[0].worked, lies[1].worked, lies[1].cut), (false, true, true));
    assert_sound(&plan);
}

#[test]
fn grain_is_laid_along_the_boards() {
    for back in [false, true] {
        let mut body = layer("body", disc(60.0));
        body.stock.grain = Some(Angle::degrees(30.0));
        body.grain = Some(Angle::degrees(75.0));
        let face = if back { Face::Back } else { Face::Front };
        body.marks.push(mark(face, engrave(), disc(5.0), 5));
        let plan = planned(&design(vec![body]));
        let along = dialwright::geometry::polar(1.0, Angle::degrees(75.0));
        let laid = lie(&plan, "body-1", 0) * along - lie(&plan, "body-1", 0) * Point::ORIGIN;
        let bearing = laid.x.atan2(laid.y).to_degrees().rem_euclid(180.0);
        assert!((bearing - 30.0).abs() < 1e-9, "{bearing}");
    }
}

#[test]
fn grain_that_runs_askew_is_mirrored_with_the_board() {
    let mut body = lettered_back(disc(60.0), FlipChoice::Board(at(8)));
    body.stock.grain = Some(Angle::degrees(30.0));
    body.grain = Some(Angle::degrees(75.0));
    let plan = planned(&design(vec![body]));
    for (setup, wanted) in [(0, 30.0), (1, 150.0)] {
        let along = dialwright::geometry::polar(1.0, Angle::degrees(75.0));
        let laid = lie(&plan, "body-1", setup) * along - lie(&plan, "body-1", setup) * Point::ORIGIN;
        let bearing = laid.x.atan2(laid.y).to_degrees().rem_euclid(180.0);
        assert!((bearing - wanted).abs() < 1e-9, "{bearing} in setup {setup}");
    }
}

#[test]
fn a_part_larger_than_its_board_is_told_once() {
    let mut design = design(vec![layer("body", disc(300.0))]);
    design.run.dials = 4;
    assert_eq!(findings(&design), ["part-larger-than-board"]);
    assert!(plan(&design).0.is_none());
}

#[test]
fn a_long_part_is_turned_by_a_quarter_unless_grain_forbids() {
    let mut body = layer("body", drawn("M-60,-10 L60,-10 L60,10 L-60,10 Z"));
    body.stock.board = (mm(60.0), mm(200.0));
    let mut design = design(vec![body]);
    assert_sound(&planned(&design));
    design.layers[0].grain = Some(Angle::ZERO);
    assert_eq!(findings(&design), ["part-larger-than-board"]);
}

#[test]
fn an_opening_that_the_kerf_swallows_is_told() {
    let mut body = layer("body", disc(60.0));
    body.marks.push(named("slit", mark(Face::Front, Work::Hole, drawn("M-10,0 L10,0 L10,0.1 L-10,0.1 Z"), 5)));
    assert_eq!(findings(&design(vec![body.clone()])), ["opening-narrower-than-kerf"]);
    body.marks[0].shape = Shape::Region(drawn("M-10,0 L10,0 L10,0.3 L-10,0.3 Z"));
    assert!(findings(&design(vec![body])).is_empty());
}

#[test]
fn a_neck_or_a_notch_that_the_kerf_swallows_is_a_warning() {
    let neck = "M-10,-3 L-4,-3 L-4,-0.05 L4,-0.05 L4,-3 L10,-3 L10,3 L4,3 L4,0.05 L-4,0.05 L-4,3 L-10,3 Z";
    let mut body = layer("body", disc(60.0));
    body.marks.push(named("bell", mark(Face::Front, Work::Hole, drawn(neck), 5)));
    let (plan_of_it, problems) = plan(&design(vec![body]));
    assert!(plan_of_it.is_some());
    let found = problems.into_sorted().remove(0);
    assert_eq!((found.finding, found.severity), (Finding::OpeningNarrowerThanKerf, Severity::Warning));
    assert_eq!(found.subject.as_deref(), Some("bell"));
    // A keyhole: a round hole joined to the outside by a slot of 0.1 mm, which closes under a kerf of 0.16 mm.
    let slot = drawn("M-0.05,0 L0.05,0 L0.05,40 L-0.05,40 Z");
    let body = layer("body", disc(60.0).difference(&disc(10.0).union(&slot)));
    assert_eq!(findings(&design(vec![body])), ["opening-narrower-than-kerf"]);
}

#[test]
fn paint_and_ink_are_left_to_the_person() {
    let mut body = layer("body", disc(60.0));
    body.marks.push(mark(Face::Back, Work::Paint { colour: [0x20, 0x40, 0x60] }, disc(60.0), 5));
    body.marks.push(named("peep", mark(Face::Back, Work::Bare, disc_at(12.0, 0.0, 20.0), 6)));
    let inked = Work::Engrave { tone: 1.0, depth: None, ink: Some(Ink { name: "white".to_owned(), colour: None }) };
    body.marks.push(named("arrow", mark(Face::Front, inked, letter_l(), 7)));
    let mut design = design(vec![body]);
    design.run.dials = 3;
    let plan = planned(&design);
    let told: Vec<&str> = plan.operations().filter_map(|(_, _, it)| it.instruction()).collect();
    let wanted = [
        "Paint the back of body-1 to body-3 with #204060, leaving `peep` open.",
        "Fill `arrow` on the front of body-1 to body-3 with white.",
    ];
    assert_eq!(told, wanted);
    assert_eq!(plan.boards[0].setups.len(), 1, "paint alone asks for no second setup");
}

/// Patches without a name are counted, those with one named, and those on the other face left out.
#[test]
fn bare_patches_are_told_with_the_paint() {
    let told = |patches: &[(Option<&str>, Face)]| {
        let mut body = layer("body", disc(60.0));
        body.marks.push(mark(Face::Front, Work::Paint { colour: [0x20, 0x40, 0x60] }, disc(60.0), 5));
        for (at, (name, face)) in (6..).zip(patches) {
            let patch = mark(*face, Work::Bare, disc_at(6.0, 0.0, 20.0), at);
            body.marks.push(name.map_or(patch.clone(), |name| named(name, patch)));
        }
        let plan = planned(&design(vec![body]));
        let said = plan.operations().find_map(|(_, _, it)| it.instruction()).unwrap().to_owned();
        said.strip_prefix("Paint the front of body-1 with #204060").unwrap().to_owned()
    };
    let (none, front, back) = (None, Face::Front, Face::Back);
    assert_eq!((told(&[]), told(&[(none, back)])), (".".to_owned(), ".".to_owned()));
    assert_eq!(told(&[(none, front)]), ", leaving the bare patch open.");
    assert_eq!(told(&[(none, front), (none, front)]), ", leaving the bare patches open.");
    assert_eq!(
        told(&[(Some("peep"), front), (Some("eye"), front), (Some("far"), back)]),
        ", leaving `peep`, `eye` open."
    );
}

#[test]
fn passes_are_the_fewest_measured_that_reach_the_depth() {
    let plan = planned(&made_by_passes(two_layers(1)));
    let OperationKind::Pocket { depth, floor, .. } = find(&plan, 0, "pocket", "base-1").kind else { panic!() };
    assert_eq!(depth.asked(), mm(1.6));
    // Of a board of 3 mm.
    assert!((floor.as_mm() - (3.0 - 1.617)).abs() < 1e-12);
    // The line of least squares through the four readings, by hand: slope 1.99/5, 1.02 at 2.5 passes; two degrees of freedom,
    // t = 4.3027 (NIST/SEMATECH e-Handbook 1.3.6.7.2).
    let passes = depth.passes().unwrap();
    let residuals: f64 =
        [0.42 - 0.423, 0.83 - 0.821, 1.21 - 1.219, 1.62 - 1.617].map(|off: f64| off * off).iter().sum();
    let within = 4.3027 * (residuals / 2.0).sqrt() * (1.0_f64 + 0.25 + 2.25 / 5.0).sqrt();
    assert_eq!(passes.count, 4);
    assert!((passes.reach.as_mm() - 1.617).abs() < 1e-12);
    assert!((passes.within.unwrap().as_mm() - within).abs() < 1e-5);
    let mut deep = two_layers(1);
    deep.layers[0].marks[0].work = pocket(1.7);
    let deep = planned(&made_by_passes(deep));
    let OperationKind::Pocket { depth, .. } = find(&deep, 0, "pocket", "base-1").kind.clone() else { panic!() };
    assert_eq!(depth.passes(), None, "nothing is extrapolated");
    assert_eq!(depth.made(), mm(1.7));
}

#[test]
fn lengths_and_areas_add_up() {
    let plan = planned(&two_layers(2));
    let pi = std::f64::consts::PI;
    // Two dials: two outlines of 60.16 mm and one opening of 11.84 mm each; a score of 8 mm; pockets of 8.2 mm.
    let cut = 2.0 * pi * (2.0 * 60.16 + 11.84);
    assert!((plan.cut_length().as_mm() / cut - 1.0).abs() < 1e-5, "{}", plan.cut_length());
    assert!((plan.score_length().as_mm() / (2.0 * pi * 8.0) - 1.0).abs() < 5e-5);
    assert!((plan.pocket_area() / (2.0 * 2.0 * pi * 4.1 * 4.1) - 1.0).abs() < 5e-5);
    let engraved = 2.0 * (8.0 * pi * 4.0 + 8.0 * 3.0 + 3.0 * 9.0);
    assert!((plan.engraved_area() / engraved - 1.0).abs() < 5e-5);
}

fn sheet() -> Sheet {
    Sheet { width: 100.0, height: 80.0, margin: 4.0, gap: 1.5, keep_out: Region::empty() }
}

fn boxes(items: &[Item], layout: &Layout) -> Vec<Vec<(usize, Rect)>> {
    let placed = |board: &Vec<_>| {
        let placed = board.iter().map(|it: &dialwright::plan::Placement| {
            (it.item, items[it.item].outline.transformed(it.at).bounds().unwrap())
        });
        placed.collect()
    };
    layout.boards.iter().map(placed).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, rng_seed: RngSeed::Fixed(1), ..ProptestConfig::default() })]

    #[test]
    fn every_layout_keeps_margin_and_gap(sizes in prop::collection::vec((1.0f64..120.0, 1.0f64..90.0, any::<bool>()), 0..40)) {
        let items: Vec<Item> = sizes.iter().map(|&(width, height, free)| Item::whole(
            drawn(&format!("M3,-2 L{},-2 L{},{} L3,{} Z", 3.0 + width, 3.0 + width, height - 2.0, height - 2.0)),
            if free { Turns::Free } else { Turns::Half },
        )).collect();
        let layout = nest(&items, &sheet(), Effort(0));
        prop_assert_eq!(&layout, &nest(&items, &sheet(), Effort(0)));
        let boards = boxes(&items, &layout);
        let mut seen: Vec<usize> = boards.iter().flatten().map(|(item, _)| *item).chain(layout.too_large.clone()).collect();
        seen.sort_unstable();
        prop_assert_eq!(seen, (0..items.len()).collect::<Vec<_>>());
        for board in &boards {
            prop_assert!(!board.is_empty());
            for (index, (_, a)) in board.iter().enumerate() {
                prop_assert!(a.x0 > 4.0 - 1e-6 && a.y0 > 4.0 - 1e-6 && a.x1 < 96.0 + 1e-6 && a.y1 < 76.0 + 1e-6);
                for (_, b) in board.iter().skip(index + 1) {
                    prop_assert!(!a.inflate(0.75 - 1e-6, 0.75 - 1e-6).overlaps(b.inflate(0.75 - 1e-6, 0.75 - 1e-6)));
                }
            }
        }
        for &item in &layout.too_large {
            let (width, height, free) = sizes[item];
            prop_assert!(width > 92.0 || height > 72.0);
            prop_assert!(!free || width > 72.0 || height > 92.0);
        }
    }

    #[test]
    fn every_plan_is_sound(
        lobes in prop::collection::vec((-20.0f64..20.0, -20.0f64..20.0, 3.0f64..20.0), 1..4),
        dials in 1u32..9, kerf in 0.05f64..0.4, gap in 0.0f64..3.0, two_faced: bool, board: bool,
    ) {
        // Gaps between lobes may be too narrow to cut, which is a finding of its own.
        let body = lobes.iter().fold(disc(20.0), |body, &(x, y, size)| body.union(&disc_at(size, x, y))).outer();
        let flip = if board { FlipChoice::Board(at(8)) } else { FlipChoice::Chosen };
        let mut body = if two_faced { lettered_back(body, flip) } else { layer("body", body) };
        body.stock.kerf = mm(kerf);
        body.stock.gap = mm(gap);
        body.stock.board = (mm(200.0), mm(120.0));
        let mut design = design(vec![body]);
        design.run.dials = dials;
        let plan = planned(&design);
        prop_assert_eq!(plan.part_count(), usize::try_from(dials).unwrap());
        assert_sound(&plan);
        assert_sound(&in_rows(&design));
    }
}

/// A layer whose front is needed again: a disc engraved on the front, an L on the back after it, a pocket on the front after
/// that.
fn front_again(outline: Region, flip: FlipChoice) -> dialwright::design::Layer {
    let mut body = lettered_back(outline, flip);
    body.marks[0].name = Some("crown".to_owned());
    body.marks[1].name = Some("lining".to_owned());
    body.marks.push(named("well", mark(Face::Front, pocket(1.0), disc_at(6.0, 14.0, 8.0), 7)));
    let wait = |mark: usize, after: &str| Wait { mark: at(mark), name: None, after: after.to_owned(), origin: at(9) };
    body.waits = vec![wait(6, "crown"), wait(7, "lining")];
    body
}

#[test]
fn the_front_comes_up_again_where_work_waits_for_the_back() {
    let mut cover = layer("cover", disc(40.0));
    cover.marks.push(mark(Face::Front, engrave(), disc(5.0), 3));
    let mut plate = lettered_back(disc(50.0), FlipChoice::Chosen);
    plate.name = "plate".to_owned();
    let mut design = design(vec![front_again(disc(60.0), FlipChoice::Chosen), cover, plate]);
    design.run.dials = 2;
    assert_eq!(findings(&design), ["board-turned"]);
    let plan = planned(&design);
    assert_sound(&plan);
    assert_eq!(plan.boards[0].setups.len(), 3);
    let turned: Vec<&Turned> = plan.boards[0].setups.iter().map(|setup| &setup.turned).collect();
    assert_eq!(turned, [&Turned::AsLaid, &Turned::BoardOver, &Turned::BoardOver]);
    let done = |setup: usize, part: &str| -> Vec<&'static str> {
        let operations = &plan.boards[0].setups[setup].operations;
        operations.iter().filter(|it| it.part.as_deref() == Some(part)).map(kind).collect()
    };
    assert_eq!([done(0, "body-1"), done(1, "body-1")], [vec!["engrave"], vec!["engrave"]]);
    assert_eq!(done(2, "body-1"), ["pocket", "outline"]);
    assert_eq!([done(0, "cover-1"), done(1, "cover-1")], [vec![], Vec::<&str>::new()]);
    assert_eq!(done(2, "cover-1"), ["engrave", "outline"], "what has one face comes in last");
    assert_eq!(
        [done(0, "plate-2"), done(1, "plate-2"), done(2, "plate-2")],
        [vec![], vec!["engrave"], vec!["engrave", "outline"]]
    );
    assert!(plan.boards[0].setups[..2].iter().all(|it| it.operations.last().unwrap().instruction().is_some()));
    // The well stands under (14, 8) of the front frame in the last setup, where the board lies as in the first.
    let (first, last) = (lie(&plan, "body-1", 0), lie(&plan, "body-1", 2));
    assert_eq!(first, last);
    let well = centre(region(find(&plan, 2, "pocket", "body-1")));
    assert!(well.distance(last * Point::new(14.0, 8.0)) < 0.005);
    let lies = &plan.boards[0].parts.iter().find(|it| it.name == "body-1").unwrap().lies;
    assert_eq!(lies.iter().map(|lie| lie.up).collect::<Vec<_>>(), [Face::Front, Face::Back, Face::Front]);
    assert_eq!(lies.iter().map(|lie| lie.cut).collect::<Vec<_>>(), [false, false, true]);
}

#[test]
fn work_that_waits_takes_no_more_setups_than_it_must() {
    // The front waits for the back alone: back first does it, and each part can still be turned by itself.
    let mut body = front_again(disc(60.0), FlipChoice::Chosen);
    body.waits.remove(0);
    let plan = planned(&design(vec![body]));
    assert_eq!(plan.boards[0].setups.len(), 2);
    assert_eq!(kinds(&plan, 0, 0), ["engrave", "outline", "pause"]);
    assert_eq!(kinds(&plan, 0, 1), ["engrave", "pocket"]);
    let lies = &plan.boards[0].parts[0].lies;
    assert_eq!((lies[0].up, lies[1].up), (Face::Back, Face::Front));
    let said = plan.boards[0].setups[0].operations.last().unwrap().instruction().unwrap();
    assert!(said.contains("its own opening, front up"), "{said}");
    let well = centre(region(find(&plan, 1, "pocket", "body-1")));
    assert!(well.distance(lie(&plan, "body-1", 1) * Point::new(14.0, 8.0)) < 0.005);
}

#[test]
fn nothing_that_is_needed_again_is_cut_free_before() {
    for flip in [FlipChoice::About(Angle::ZERO, at(8)), FlipChoice::Holder(at(8))] {
        assert_eq!(findings(&design(vec![front_again(disc(60.0), flip)])), ["work-out-of-order"]);
    }
}

#[test]
fn grain_that_runs_askew_lies_along_a_board_turned_twice() {
    let mut body = front_again(disc(60.0), FlipChoice::Chosen);
    body.stock.grain = Some(Angle::degrees(30.0));
    body.grain = Some(Angle::degrees(75.0));
    let plan = planned(&design(vec![body]));
    for (setup, wanted) in [(0, 30.0), (1, 150.0), (2, 30.0)] {
        let along = dialwright::geometry::polar(1.0, Angle::degrees(75.0));
        let laid = lie(&plan, "body-1", setup) * along - lie(&plan, "body-1", setup) * Point::ORIGIN;
        let bearing = laid.x.atan2(laid.y).to_degrees().rem_euclid(180.0);
        assert!((bearing - wanted).abs() < 1e-9, "{bearing} in setup {setup}");
    }
}

#[test]
fn boards_are_turned_where_holders_would_take_more_of_them() {
    let mut design = design(vec![lettered_back(crooked(), FlipChoice::Chosen)]);
    design.run.dials = 14;
    let rows = |design: &Design| plan_with(design.into(), Effort(0), &OutlineCache::default());
    let named = |design: &Design| -> Vec<&'static str> {
        rows(design).1.into_sorted().iter().map(|found| found.finding.name()).collect()
    };
    assert_eq!(named(&design), ["board-turned"]);
    let plan = rows(&design).0.unwrap();
    assert_eq!((plan.boards.len(), &plan.boards[0].setups[1].turned), (1, &Turned::BoardOver));
    design.layers[0].flip = FlipChoice::Holder(at(8));
    let held = rows(&design).0.unwrap();
    assert!(named(&design).is_empty() && held.boards.len() > 1, "the maker's word goes before");
    assert_sound(&held);
}

/// Nine frames fill a board; nine coins lie in their openings, and each is cut before the opening that it lies in.
#[test]
fn what_lies_in_an_opening_is_cut_before_it() {
    let mut frame = layer("frame", disc(94.0));
    frame.marks.push(named("well", mark(Face::Front, Work::Hole, disc(60.0), 3)));
    let mut coin = layer("coin", disc(50.0));
    coin.marks.push(mark(Face::Front, engrave(), disc(5.0), 4));
    let mut design = design(vec![frame, coin]);
    design.run.dials = 9;
    let plan = planned(&design);
    assert_eq!(plan.boards.len(), 1);
    let board = &plan.boards[0];
    let operations = &board.setups[0].operations;
    let when = |what: &str, part: &str| {
        operations.iter().position(|it| kind(it) == what && it.part.as_deref() == Some(part)).unwrap()
    };
    let mut hosts = 0;
    for coin in board.parts.iter().filter(|part| part.layer == "coin") {
        let lies = region(&operations[when("outline", &coin.name)]);
        let inside =
            |frame: &&dialwright::plan::PlacedPart| region(find(&plan, 0, "opening", &frame.name)).covers(lies);
        let frame = board.parts.iter().filter(|part| part.layer == "frame").find(inside).unwrap();
        let (coin, well, rim) =
            (when("outline", &coin.name), when("opening", &frame.name), when("outline", &frame.name));
        assert!(when("engrave", &board.parts.iter().find(|it| it.layer == "coin").unwrap().name) < coin);
        assert!(coin < well && well < rim, "{coin} {well} {rim}");
        hosts += 1;
    }
    assert_eq!(hosts, 9);
    // What is lifted out and turned has no opening left to come back to.
    design.layers[1].marks.push(mark(Face::Back, engrave(), disc(8.0), 5));
    assert!(planned(&design).boards.len() > 1);
    design.layers[1].flip = FlipChoice::Board(at(8));
    assert_eq!(planned(&design).boards.len(), 1, "on a turned board everything is cut in the end");
}
