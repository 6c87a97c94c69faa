//! Several designs in one run, on shared boards.

use dialwright::design::Shape;
use dialwright::output;
use dialwright::plan::{Effort, OperationKind, OutlineCache, plan, plan_together};
use dialwright::project::MemoryProject;
use serde_json::Value;

use super::designs::boards::*;

#[test]
fn two_designs_share_their_boards() {
    let (mut first, mut second) = (two_layers(3), two_layers(4));
    first.title = "Reedbank: north".to_owned();
    second.title = "Reedbank: south".to_owned();
    second.layers[0].outline = disc(44.0);
    let alone: usize = [&first, &second].into_iter().map(|it| plan(it).0.unwrap().boards.len()).sum();
    let (together, problems) =
        plan_together(&[(&first).into(), (&second).into()], Effort::default(), &OutlineCache::default());
    let together = together.unwrap();
    assert!(!problems.has_errors(), "{problems:?}");
    assert_eq!((alone, together.boards.len(), together.part_count()), (2, 1, 14));
    let names: Vec<&str> = together.boards[0].parts.iter().map(|part| part.name.as_str()).collect();
    assert!(names.contains(&"reedbank-north.cover-3") && names.contains(&"reedbank-south.cover-4"), "{names:?}");
    let mut unlike: Vec<&str> = names.clone();
    unlike.sort_unstable();
    unlike.dedup();
    assert_eq!(unlike.len(), 14, "every name is its part's alone");
    let cut = |name: &str| {
        together.operations().find_map(|(_, _, it)| match (&it.kind, it.shape()) {
            (OperationKind::Cut { .. }, Some(Shape::Region(region))) if it.part.as_deref() == Some(name) => {
                region.bounds().map(|it| it.width())
            }
            _ => None,
        })
    };
    // Each is as wide as in its own design, a kerf of 0.16 mm added.
    assert!((cut("reedbank-south.base-1").unwrap() - 44.16).abs() < 1e-3);
    assert!((cut("reedbank-north.base-1").unwrap() - 60.16).abs() < 1e-3);
}

#[test]
fn stocks_that_differ_in_a_figure_are_kept_apart() {
    let (first, mut second) = (two_layers(1), two_layers(1));
    second.layers.iter_mut().for_each(|layer| layer.stock.kerf = mm(0.2));
    let (together, _) =
        plan_together(&[(&first).into(), (&second).into()], Effort::default(), &OutlineCache::default());
    let together = together.unwrap();
    assert_eq!(together.boards.len(), 2);
    let called: Vec<String> = together.stocks.iter().map(|used| used.called()).collect();
    assert!(called[0].contains("kerf 0.16mm") && called[1].contains("kerf 0.2mm"), "{called:?}");
    let (alone, _) = plan(&first);
    assert_eq!(alone.unwrap().stocks[0].called(), "birch");
}

#[test]
fn each_operation_names_its_own_file() {
    let text = |title: &str, across: u32| {
        format!(
            "dial \"{title}\"\noutline circle(diameter: {across}mm)\nlayer base of birch {{ engrave ring points {{ labels 0 to 9 }} }}\n\
             layer cover of birch {{ window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }}\n\
             stack {{ base; turn on magnets(disc); cover }}\nreads points through peep\n"
        )
    };
    let project = MemoryProject::default().with("a.dial", text("North", 60)).with("b.dial", text("South", 64));
    let read = |name: &str| dialwright::analysis::analyse(&project, name, "", &Default::default()).unwrap();
    let (a, b) = (read("a.dial"), read("b.dial"));
    let designs = [&a, &b].map(|it| (&it.dials[0].design, &it.dials[0].audit, &it.sources));
    let (plan, _) = plan_together(&[designs[0].0.into(), designs[1].0.into()], Effort(1), &OutlineCache::default());
    let files = output::files_together(&designs, &plan.unwrap());
    let list: Value = serde_json::from_slice(&files.last().unwrap().bytes).unwrap();
    assert_eq!(list["dial"], "North + South");
    assert_eq!(list["designs"].as_array().unwrap().len(), 2);
    let mut seen = 0;
    for operation in list["boards"][0]["setups"][0]["operations"].as_array().unwrap() {
        let Some(part) = operation["part"].as_str() else { continue };
        let file = if part.starts_with("north.") { "a.dial" } else { "b.dial" };
        if !operation["source"].is_null() {
            assert_eq!(operation["source"]["file"], file, "{part}");
            seen += 1;
        }
    }
    assert!(seen > 8);
    let schema: Value = serde_json::from_str(include_str!("../../grammar/operations.schema.json")).unwrap();
    let schema = jsonschema::draft202012::new(&schema).unwrap();
    assert_eq!(schema.iter_errors(&list).map(|error| error.to_string()).collect::<Vec<_>>(), Vec::<String>::new());
}
