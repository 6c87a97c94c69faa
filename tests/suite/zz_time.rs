#[test]
fn zz_time() {
    use std::time::Instant;
    use dialwright::*;
    for name in ["crew.dial", "toll.dial"] {
        let path = crate::dials::root().join("examples/saltmarsh").join(name);
        let (project, name, shown) = cli::disk::DiskProject::of(&path);
        for _ in 0..2 {
            let t = Instant::now();
            let loaded = check::load(&project, &name, &shown).unwrap();
            let t1 = t.elapsed();
            let t = Instant::now();
            let (checked, _) = check::Checked::new(&loaded, &project);
            let t2 = t.elapsed();
            let t = Instant::now();
            let (design, _) = checked.design(None, &Default::default(), &project);
            let t3 = t.elapsed();
            let design = design.unwrap();
            let t = Instant::now();
            let (proof, _) = audit::prove(&design);
            let t4 = t.elapsed();
            let t = Instant::now();
            let _ = audit::tolerance::tolerance(&design, &proof, &Default::default());
            let t5 = t.elapsed();
            let t = Instant::now();
            let _ = audit::fit::fit(&design);
            let t6 = t.elapsed();
            let t = Instant::now();
            let _ = audit::true_turning::true_turning(&design);
            let t7 = t.elapsed();
            let t = Instant::now();
            let _ = audit::strength::strength(&design);
            let t8 = t.elapsed();
            let t = Instant::now();
            let (plan, _) = plan::plan(&design);
            let t9 = t.elapsed();
            let t = Instant::now();
            let _ = output::files(&design, &plan.unwrap(), &loaded.sources);
            let t10 = t.elapsed();
            println!("load {t1:?} check {t2:?} design {t3:?} prove {t4:?} tol {t5:?} fit {t6:?} true {t7:?} strength {t8:?} plan {t9:?} out {t10:?}");
        }
    }
}
