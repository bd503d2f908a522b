//! A short mode of the table, and that the hunt gives the same on any number of threads.

use chasing_cars::{Course, Formula, table};
use rayon::ThreadPoolBuilder;
use trunnion_rig::hunt::{Budget, Hunt, Report, STRATEGIES, strategy};

fn search(name: &str, threads: usize) -> Report {
    let course = Course(Formula::Cc2);
    let pool = ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
    let budget = Budget { simulations: 120 };
    pool.install(|| {
        let mut chosen = strategy::<Course>(name, 5).unwrap();
        Hunt::run(&course, chosen.as_mut(), budget, &mut |_| true)
    })
}

#[test]
fn every_strategy_gives_the_same_on_one_thread_and_on_three() {
    for name in STRATEGIES {
        assert_eq!(search(name, 1), search(name, 3), "{name}");
    }
}

#[test]
fn what_was_found_is_found_again_by_its_genes() {
    use trunnion_rig::hunt::Field;
    let row = table::row(Formula::Cc3, "branching", 1..4, 300);
    assert_eq!(row.falsified(), 3);
    for report in row.reports {
        let course = Course(Formula::Cc3);
        let genes = report.found.unwrap().genes;
        let mut cars = course.open(&[]);
        for piece in genes.chunks_exact(2) {
            course.go_on(&mut cars, piece);
        }
        assert!(Formula::Cc3.margin(&cars.gaps) < 0.0);
        assert!(Formula::Cc3.margin(&cars.finer().gaps) < 0.0);
    }
}

#[test]
fn branching_falsifies_the_easy_formulas_within_a_small_budget() {
    for formula in [Formula::Cc1, Formula::Cc3] {
        let row = table::row(formula, "branching", 1..4, 400);
        assert_eq!(row.falsified(), 3, "{}", formula.name());
    }
}
