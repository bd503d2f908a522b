//! Every refusal is an error that can be told, compared, kept and sent.

use std::{error::Error, fmt::Debug, fs, path::Path};

use trunnion::quantity::Rpm;
use trunnion::{declare, fault, guard, lever, propel, ramp, sense, timing, valve, work};

/// What a caller does with an error: shows it, compares it in a test, boxes it, hands it to another thread, logs it on the
/// controller.
fn is_well_behaved<E: Error + Debug + Clone + PartialEq + Send + Sync + Logged + 'static>() {}

#[cfg(feature = "defmt")]
use defmt::Format as Logged;

/// Nothing is asked without the log's feature.
#[cfg(not(feature = "defmt"))]
trait Logged {}

#[cfg(not(feature = "defmt"))]
impl<E> Logged for E {}

macro_rules! well_behaved {
    ($($error:ty),* $(,)?) => {{
        $(is_well_behaved::<$error>();)*
        [$(stringify!($error)),*]
    }};
}

/// The names of all errors, which the compiler has held against [`is_well_behaved`].
fn held() -> Vec<&'static str> {
    let names = well_behaved!(
        declare::Refusal,
        fault::BlinkCodeConfigError,
        guard::CutOffMonitorConfigError,
        guard::CutOffTestConfigError,
        guard::DerateCurveConfigError,
        guard::HoldToRunConfigError,
        guard::ImmediateStopConfigError,
        guard::LastGateConfigError,
        guard::LockConfigError,
        guard::LoopAliveConfigError,
        guard::NeutralStartConfigError,
        guard::ParkBrakeConfigError,
        guard::PatternLatchConfigError,
        guard::PermissionGroupConfigError,
        guard::ReasonLogConfigError,
        guard::StandstillConfigError,
        guard::StationLatchConfigError,
        lever::AxisCalibrationConfigError<Rpm>,
        lever::AxisConfigError,
        lever::NeutralConfigError,
        lever::ResponseCurveError,
        propel::AntiStallConfigError,
        propel::CreepConfigError,
        propel::EngineSpeedRequestConfigError,
        propel::InchingConfigError,
        propel::MixerConfigError,
        propel::OverspeedConfigError,
        propel::SinglePathConfigError,
        propel::SpeedLimitsConfigError,
        propel::SteerAuthorityConfigError,
        propel::TravelSpeedConfigError,
        propel::TrimConfigError,
        propel::TwoSpeedConfigError,
        ramp::ControlledStopConfigError,
        ramp::DerateRampConfigError,
        ramp::JerkLimitConfigError,
        ramp::MotionRampConfigError,
        ramp::MotionRatesError,
        ramp::PairRampConfigError,
        ramp::RateLimitConfigError,
        sense::ContactPairConfigError,
        sense::CurrentLoopSensorConfigError,
        sense::DebounceBankConfigError,
        sense::DebounceConfigError,
        sense::FreshnessConfigError,
        sense::LookupTableError,
        sense::LowPassConfigError,
        sense::PeriodSpeedConfigError,
        sense::PulseSpeedConfigError,
        sense::RatiometricSensorConfigError,
        sense::RedundantPairConfigError<Rpm>,
        sense::SpeedComparisonConfigError,
        sense::TwoPhaseDirectionConfigError,
        timing::DelayConfigError,
        timing::FlasherConfigError,
        timing::HysteresisConfigError<Rpm>,
        timing::ServiceIntervalConfigError,
        valve::CoilBankError,
        valve::CoilConfigError,
        valve::CoilMonitorConfigError,
        valve::CoilPairConfigError,
        valve::CurrentLoopConfigError,
        valve::CurrentMapConfigError,
        valve::DitherConfigError,
        valve::PairExclusionConfigError,
        valve::PeakAndHoldConfigError,
        valve::StartUpTestConfigError,
        valve::TestPulseConfigError,
        work::AutoLevelConfigError,
        work::ContinuousFlowConfigError,
        work::EndCushionConfigError,
        work::FanDriveConfigError,
        work::FloatConfigError,
        work::FlowSharingError,
        work::ReturnToPositionConfigError,
        work::SpoolConfigError,
    );
    let bare = |name: &'static str| {
        name.split('<').next().and_then(|path| path.rsplit(':').next()).unwrap_or(name).trim()
    };
    names.map(bare).to_vec()
}

fn sources(folder: &Path, found: &mut Vec<String>) {
    for entry in fs::read_dir(folder).expect("a folder of the crate").flatten() {
        if entry.path().is_dir() {
            sources(&entry.path(), found);
        } else {
            found.push(fs::read_to_string(entry.path()).expect("a source of the crate"));
        }
    }
}

#[test]
fn every_public_error_is_told_compared_kept_and_sent() {
    let held = held();
    let mut texts = Vec::new();
    sources(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"), &mut texts);
    let mut seen = 0;
    for line in texts.iter().flat_map(|text| text.lines()) {
        let Some(rest) = line.strip_prefix("pub enum ").or_else(|| line.strip_prefix("pub struct ")) else {
            continue;
        };
        let name = rest.split(|letter: char| !letter.is_alphanumeric()).next().unwrap_or("");
        if name.ends_with("Error") {
            seen += 1;
            assert!(held.contains(&name), "{name} is not held against the rules here");
        }
    }
    assert!(seen > 60, "only {seen} errors seen");
}
