//! The hunt on the loader as it is: a short one; the suite's step `hunt` is longer.

use trunnion_desk::hunting::{Order, hunt};

use loader::desk::LoaderBench;

fn order(strategy: &str) -> Order {
    Order { strategy: strategy.to_owned(), seed: 11, simulations: 24, only: Vec::new(), shrink: true }
}

#[test]
fn a_short_hunt_finds_nothing_whatever_its_strategy() {
    for strategy in ["uniform", "branching"] {
        let caught = hunt::<LoaderBench>(&order(strategy), &mut |_| true).unwrap();
        assert_eq!(caught.story, None, "{strategy}: {}", caught.story.clone().unwrap_or_default());
        assert_eq!(caught.report.simulations, 24);
    }
}

#[test]
fn an_unknown_requirement_and_an_unknown_strategy_are_refused() {
    let wrong = Order { only: vec!["R-99".to_owned()], ..order("uniform") };
    let told = hunt::<LoaderBench>(&wrong, &mut |_| true).unwrap_err().to_string();
    assert_eq!(told, "loader has no requirement `R-99`");
    assert!(hunt::<LoaderBench>(&order("luck"), &mut |_| true).is_err());
}
