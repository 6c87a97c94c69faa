//! The order of the work as properties that hold for every dial of the tests and examples. The order itself is common
//! practice, no source: burn before cutting, inner before outer, small before large, near before far.

use std::fs;
use std::path::Path;

use dialwright::analysis::{Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::plan::{Board, CutEdge, Effort, Operation, OperationKind, Plan, Turned};
use kurbo::Shape as _;

/// Every plan of every dial, laid in rows, with the name of its file.
fn plans() -> Vec<(String, Plan)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders = ["tests/dials", "examples", "examples/saltmarsh"];
    let mut files: Vec<_> = folders
        .iter()
        .flat_map(|folder| fs::read_dir(root.join(folder)).unwrap().map(|entry| entry.unwrap().path()))
        .filter(|path| path.extension().is_some_and(|it| it == "dial") && !path.ends_with("shop.dial"))
        .collect();
    files.sort();
    let read = |path: &std::path::PathBuf| {
        let (project, name, shown) = DiskProject::of(path);
        let analysis = analyse(&project, &name, &shown, &Request { effort: Effort(0), ..Request::default() }).unwrap();
        let named = path.file_name().unwrap().to_string_lossy().into_owned();
        analysis.dials.into_iter().filter_map(move |dial| Some((named.clone(), dial.plan?))).collect::<Vec<_>>()
    };
    files.iter().flat_map(read).collect()
}

/// The stage of an operation: burning in three, openings, what is cut free.
fn stage(operation: &Operation) -> Option<u8> {
    match operation.kind {
        OperationKind::Engrave { .. } => Some(0),
        OperationKind::Score { .. } => Some(1),
        OperationKind::Pocket { .. } => Some(2),
        OperationKind::Cut { edge: CutEdge::Opening, .. } => Some(3),
        OperationKind::Cut { .. } => Some(4),
        OperationKind::Pause { .. } => None,
    }
}

fn area(operation: &Operation) -> f64 {
    operation.path().unwrap().area().abs()
}

/// Setup and place in it at which a part is cut free.
fn freed(board: &Board, part: &str) -> (usize, usize) {
    let found = board.setups.iter().enumerate().find_map(|(setup, it)| {
        let outline = |it: &Operation| {
            matches!(it.kind, OperationKind::Cut { edge: CutEdge::Outline, .. }) && it.part.as_deref() == Some(part)
        };
        it.operations.iter().position(outline).map(|at| (setup, at))
    });
    found.unwrap_or_else(|| panic!("{part} is cut out"))
}

fn assert_in_order(name: &str, board: &Board) {
    for (number, setup) in board.setups.iter().enumerate() {
        let stages: Vec<u8> = setup.operations.iter().filter_map(stage).collect();
        assert!(stages.is_sorted(), "{name}: {stages:?}");
        let free = |it: &&Operation| matches!(it.kind, OperationKind::Cut { edge: CutEdge::Outline, .. });
        let sizes: Vec<f64> = setup.operations.iter().filter(free).map(area).collect();
        assert!(sizes.is_sorted_by(|a, b| *a <= b * 1.05), "{name}: a large part is cut before a small one: {sizes:?}");
        for part in &board.parts {
            let of_part = |it: &&Operation| it.part.as_ref() == Some(&part.name) && stage(it) == Some(3);
            let openings: Vec<f64> = setup.operations.iter().filter(of_part).map(area).collect();
            assert!(openings.is_sorted(), "{name}: {openings:?}");
        }
        assert!(setup.travel_saved.as_mm() >= 0.0, "{name}");
        let asks = setup.operations.last().is_some_and(|it| it.instruction().is_some());
        assert!(asks || number + 1 == board.setups.len(), "{name}: a person turns what comes next");
        assert_eq!(setup.turned == Turned::AsLaid, number == 0, "{name}");
    }
    for part in &board.parts {
        let (setup, at) = freed(board, &part.name);
        for (later, it) in board.setups.iter().enumerate().skip(setup) {
            let after = it.operations.iter().enumerate().filter(|(place, _)| (later, *place) > (setup, at));
            for (_, operation) in after.filter(|(_, it)| it.part.as_ref() == Some(&part.name)) {
                let up = part.lies[setup].up;
                let is_next = operation.face != Some(up) && later == setup + 1;
                assert!(is_next, "{name}: {} is worked on once it is cut free: {operation:?}", part.name);
            }
        }
    }
}

#[test]
fn every_board_keeps_the_order_of_the_trade() {
    let plans = plans();
    assert!(plans.len() > 20, "{}", plans.len());
    for (name, plan) in &plans {
        plan.boards.iter().for_each(|board| assert_in_order(name, board));
    }
    let saved: f64 = plans.iter().map(|(_, plan)| plan.travel_saved().as_mm()).sum();
    let travel: f64 = plans.iter().map(|(_, plan)| plan.travel().as_mm()).sum();
    assert!(saved > 0.05 * travel, "{saved} mm saved of {travel}");
    assert!(
        plans.iter().any(|(_, plan)| plan.boards.iter().any(|board| board.setups.len() == 3)),
        "a front comes again"
    );
}
