//! Whether the campaign notices mistakes of the control program: each turns a cell red that is green without it.

use loader::planted::{Defect, choose};
use trunnion_desk::bench::Bench;
use trunnion_rig::campaign::{CampaignError, Order, run};
use trunnion_rig::run::{Rig, RigError};

use super::bench::LoaderBench;
use super::campaign::CHARTER;

/// Mistakes in what the control program does about a failure, and a cell that tells.
const TOLD_BY: &[(Defect, &str)] = &[
    (Defect::LeverTimeOutBackwards, "left_lever:lost@driving"),
    (Defect::DipClearsLatch, "supply_voltage:open@driving"),
    (Defect::SeatDelayTooLong, "seat_occupied:open@driving"),
    (Defect::SeatForgottenForWork, "seat_occupied:open@working"),
    (Defect::AskForgottenAfterSeat, "seat_occupied:open@at_rest"),
    (Defect::BarForgottenForAuxiliary, "restraint_bar_down:open@auxiliary"),
    (Defect::WorkGateLeftOpen, "restraint_bar_down:open@working"),
    (Defect::FirstContactOnly, "emergency_stop_second:open@driving"),
    (Defect::KeyOffKeepsSupply, "key_on:open@driving"),
    (Defect::StopRampBypassed, "lock_released:open@driving"),
];

type Loader = <LoaderBench as Bench>::Machine;
type Plant = <LoaderBench as Bench>::Plant;

/// What is red about a cell, with a mistake in the program or without.
fn red(rig: &Rig<Loader, Plant>, defect: Option<Defect>, cell: &str) -> Vec<String> {
    choose(defect);
    let order = Order { cell: Some(cell.to_owned()), ..Order::default() };
    let campaign = run(rig, &CHARTER, &order, &|_| {});
    choose(None);
    match campaign {
        Ok(campaign) => campaign.results.into_iter().flat_map(|(_, result)| result.red).collect(),
        Err(error @ CampaignError::Unsound { .. }) => vec![error.to_string()],
        Err(error) => vec![format!("cannot be run: {error}")],
    }
}

/// Plants each mistake and says what its cell comes to; `false` when one goes by unnoticed, or a cell is red without.
pub fn all_told() -> Result<bool, RigError> {
    let rig = Rig::new(LoaderBench::REQUIREMENTS)?;
    let mut good = true;
    for (defect, cell) in TOLD_BY {
        let (sound, wrong) = (red(&rig, None, cell), red(&rig, Some(*defect), cell));
        let told = wrong.first().map_or("goes by unnoticed", String::as_str);
        println!("{:28} {cell:40} {told}", defect.id());
        for line in &sound {
            println!("{:28} without it as well: {line}", "");
        }
        good &= sound.is_empty() && !wrong.is_empty();
    }
    Ok(good)
}
