use proptest::prelude::*;

use super::*;

fn permille(value: i16) -> Permille {
    Permille::new(value).unwrap()
}

fn share(value: i32) -> Ratio {
    Ratio::from_permille(value).unwrap()
}

/// Pivot point 50 %, band 10 %: common practice, no source.
const DEFAULTS: MixerConfig = MixerConfig {
    law: MixLaw::Banded,
    pivot_point: Permille::new(500).unwrap(),
    pivot_band: Permille::new(100).unwrap(),
    sensitivity: Permille::MAX,
    blend_drive: Permille::new(300).unwrap(),
    convention: ReverseConvention::PathFollowing,
    reverse_blend: Permille::new(100).unwrap(),
};

fn ratio() -> impl Strategy<Value = Ratio> {
    prop_oneof![
        4 => (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap()),
        2 => (-1000..=1000).prop_map(share),
        1 => (-3..=3).prop_map(share),
        1 => prop_oneof![Just(Ratio::ZERO), Just(Ratio::ONE), Just(Ratio::MINUS_ONE)],
    ]
}

fn law() -> impl Strategy<Value = MixLaw> {
    prop_oneof![Just(MixLaw::Banded), Just(MixLaw::Blended)]
}

fn convention() -> impl Strategy<Value = ReverseConvention> {
    prop_oneof![Just(ReverseConvention::PathFollowing), Just(ReverseConvention::YawFixed)]
}

fn config() -> impl Strategy<Value = MixerConfig> {
    let shape = (200i16..=800, 0i16..=300, 200i16..=1000);
    let blends = (50i16..=500, 20i16..=500);
    (law(), convention(), shape, blends).prop_map(|(law, convention, shape, blends)| MixerConfig {
        law,
        pivot_point: permille(shape.0),
        pivot_band: permille(shape.1),
        sensitivity: permille(shape.2),
        blend_drive: permille(blends.0),
        convention,
        reverse_blend: permille(blends.1),
    })
}

fn mixer(config: MixerConfig) -> Mixer {
    Mixer::new(config).unwrap()
}

/// From rest, with the travel that follows from the drive.
fn mix(config: MixerConfig, drive: Ratio, steer: Ratio) -> Sides {
    mixer(config).step(drive, steer, drive)
}

fn signs(sides: Sides) -> (i32, i32) {
    (sides.left.to_bits().signum(), sides.right.to_bits().signum())
}

fn largest_change(from: Sides, to: Sides) -> i64 {
    let change = |from: Ratio, to: Ratio| (i64::from(from.to_bits()) - i64::from(to.to_bits())).abs();
    change(from.left, to.left).max(change(from.right, to.right))
}

#[test]
fn full_deflection_has_the_signs_of_the_table() {
    use ReverseConvention::{PathFollowing, YawFixed};
    let (full, back, none) = (Ratio::ONE, Ratio::MINUS_ONE, Ratio::ZERO);
    for law in [MixLaw::Banded, MixLaw::Blended] {
        let signs =
            |drive, steer, convention| signs(mix(MixerConfig { law, convention, ..DEFAULTS }, drive, steer));
        for convention in [PathFollowing, YawFixed] {
            assert_eq!(signs(full, back, convention), (-1, 1), "forward, left");
            assert_eq!(signs(full, none, convention), (1, 1), "forward, straight");
            assert_eq!(signs(full, full, convention), (1, -1), "forward, right");
            assert_eq!(signs(none, back, convention), (-1, 1), "spin left");
            assert_eq!(signs(none, none, convention), (0, 0), "nothing");
            assert_eq!(signs(none, full, convention), (1, -1), "spin right");
            assert_eq!(signs(back, none, convention), (-1, -1), "reverse, straight");
        }
        assert_eq!(signs(back, full, PathFollowing), (-1, 1), "reverse, the tail goes right");
        assert_eq!(signs(back, back, PathFollowing), (1, -1), "reverse, the tail goes left");
        assert_eq!(signs(back, full, YawFixed), (1, -1), "reverse, clockwise");
        assert_eq!(signs(back, back, YawFixed), (-1, 1), "reverse, anticlockwise");
    }
}

/// Common practice, no source: 0–45 % slows the inner side linearly to zero, 55–100 % reverses it up to equal and opposite.
#[test]
fn the_banded_law_slows_the_inner_side_holds_it_and_reverses_it() {
    for drive in [1000, 640, 8] {
        for steer in 0..=1000 {
            let sides = mix(DEFAULTS, share(drive), share(steer));
            let inner = match steer {
                0..=450 => 1.0 - f64::from(steer) / 450.0,
                451..=549 => 0.0,
                _ => -f64::from(steer - 550) / 450.0,
            };
            let expected = f64::from(drive) / 1000.0 * inner * f64::from(Ratio::ONE_BITS);
            assert_eq!(sides.left, share(drive), "the outer side runs at the drive");
            assert!((f64::from(sides.right.to_bits()) - expected).abs() <= 4.0, "{drive} {steer}: {sides:?}");
        }
    }
}

#[test]
fn the_banded_law_jumps_between_almost_no_drive_and_none() {
    let almost = mix(DEFAULTS, share(1), Ratio::ONE);
    let none = mix(DEFAULTS, Ratio::ZERO, Ratio::ONE);
    assert!(almost.largest() <= share(1));
    assert_eq!(none, Sides::spin(Ratio::ONE));
    assert!(
        largest_change(almost, none) >= i64::from(share(999).to_bits()),
        "full scale within 0.1 % of lever travel"
    );
    assert_eq!(DEFAULTS.largest_change_per_drive(), None);
}

#[test]
fn the_bound_of_the_blended_law_is_what_its_formula_says() {
    let blended = MixerConfig { law: MixLaw::Blended, ..DEFAULTS };
    let per_mille = |ratio: Ratio| f64::from(ratio.to_bits()) / f64::from(Ratio::ONE_BITS) * 1000.0;
    let path_following = per_mille(blended.largest_change_per_drive().unwrap());
    let yaw_fixed = MixerConfig { convention: ReverseConvention::YawFixed, ..blended };
    let yaw_fixed = per_mille(yaw_fixed.largest_change_per_drive().unwrap());
    assert!((path_following - (1.0 + 2.0 / 0.3)).abs() < 1e-4);
    assert!((yaw_fixed - (1.0 + 1.0 / 0.3)).abs() < 1e-4);
    assert!((per_mille(blended.largest_change_per_steer()) - 1.5 / 0.45).abs() < 1e-4);
    let soft = MixerConfig { sensitivity: permille(400), ..blended };
    assert!((per_mille(soft.largest_change_per_steer()) - 2.2 * 1.5 / 0.45).abs() < 1e-4);
}

#[test]
fn the_bound_of_the_blended_law_is_not_idle() {
    let config = MixerConfig { law: MixLaw::Blended, ..DEFAULTS };
    let steepest = |change: &dyn Fn(i32, i32) -> i64| {
        (-1000..1000)
            .flat_map(|moving| (-20..=20).map(move |held| (moving, held * 50)))
            .map(|(a, b)| change(a, b))
            .max()
    };
    let by_drive = steepest(&|drive, steer| {
        largest_change(mix(config, share(drive), share(steer)), mix(config, share(drive + 1), share(steer)))
    });
    let by_steer = steepest(&|steer, drive| {
        largest_change(mix(config, share(drive), share(steer)), mix(config, share(drive), share(steer + 1)))
    });
    let reached = |change: Option<i64>, bound: Ratio| change.unwrap() as f64 / f64::from(bound.to_bits());
    let (drive, steer) = (config.largest_change_per_drive().unwrap(), config.largest_change_per_steer());
    assert!(reached(by_drive, drive) > 0.75, "{}", reached(by_drive, drive));
    assert!(reached(by_steer, steer) > 0.75, "{}", reached(by_steer, steer));
}

proptest! {
    #[test]
    fn nothing_asked_is_nothing_done(config in config(), travel in ratio()) {
        prop_assert_eq!(mixer(config).step(Ratio::ZERO, Ratio::ZERO, travel), Sides::ZERO);
    }

    #[test]
    fn no_steer_is_straight_at_the_drive(config in config(), drive in ratio(), travel in ratio()) {
        prop_assert_eq!(mixer(config).step(drive, Ratio::ZERO, travel), Sides::straight(drive));
    }

    #[test]
    fn at_zero_drive_steer_right_is_clockwise_whichever_way_the_machine_still_rolls(
        config in config(), steer in ratio(), travel in ratio()
    ) {
        let config = MixerConfig { sensitivity: Permille::MAX, ..config };
        prop_assert_eq!(mixer(config).step(Ratio::ZERO, steer, travel), Sides::spin(steer));
    }

    #[test]
    fn full_steer_of_the_blended_law_is_a_spin_at_full_speed_at_any_drive_forward(config in config(), drive in ratio()) {
        let config = MixerConfig { law: MixLaw::Blended, ..config };
        let spin = mix(config, drive.magnitude(), Ratio::ONE);
        prop_assert!(largest_change(spin, Sides::spin(Ratio::ONE)) <= 4, "{:?}", spin);
    }

    #[test]
    fn the_mirrored_lever_moves_the_mirrored_machine_bit_for_bit(
        config in config(), drive in ratio(), steer in ratio(), travels in proptest::collection::vec(ratio(), 1..5)
    ) {
        let (mut machine, mut mirror) = (mixer(config), mixer(config));
        for travel in travels {
            let sides = machine.step(drive, steer, travel);
            prop_assert_eq!(mirror.step(drive, steer.reversed(), travel), sides.swapped());
        }
    }

    #[test]
    fn path_following_reverse_of_the_banded_law_drives_the_forward_path_backwards(
        config in config(), drive in ratio(), steer in ratio()
    ) {
        prop_assume!(!drive.is_zero());
        let convention = ReverseConvention::PathFollowing;
        let config = MixerConfig { law: MixLaw::Banded, convention, ..config };
        prop_assert_eq!(mix(config, drive.reversed(), steer), mix(config, drive, steer).reversed());
    }

    #[test]
    fn path_following_reverse_of_the_blended_law_does_so_beyond_the_blend(
        config in config(), drive in ratio(), steer in ratio()
    ) {
        let drive = drive.magnitude().at_least(config.blend_drive.into());
        let convention = ReverseConvention::PathFollowing;
        let config = MixerConfig { law: MixLaw::Blended, convention, ..config };
        prop_assert_eq!(mix(config, drive.reversed(), steer), mix(config, drive, steer).reversed());
    }

    #[test]
    fn yaw_fixed_reverse_turns_as_forward_does(config in config(), drive in ratio(), steer in ratio()) {
        let config = MixerConfig { convention: ReverseConvention::YawFixed, ..config };
        let (forward, reverse) = (mix(config, drive, steer), mix(config, drive.reversed(), steer));
        prop_assert_eq!(reverse.half_difference(), forward.half_difference());
        prop_assert_eq!(reverse.mean(), forward.mean().reversed());
    }

    #[test]
    fn travel_is_the_same_by_both_laws(config in config(), drive in ratio(), steer in ratio()) {
        prop_assume!(!drive.is_zero());
        let (banded, blended) =
            (MixerConfig { law: MixLaw::Banded, ..config }, MixerConfig { law: MixLaw::Blended, ..config });
        let (banded, blended) = (mix(banded, drive, steer).mean(), mix(blended, drive, steer).mean());
        prop_assert!(banded.distance_to(blended) <= 4);
    }

    #[test]
    fn steer_up_to_the_pivot_band_keeps_the_inner_side_at_or_above_zero(
        config in config(), drive in 1..=Ratio::ONE_BITS, steer in ratio(), reverse: bool
    ) {
        let config = MixerConfig { sensitivity: Permille::MAX, ..config };
        let drive = Ratio::from_bits(drive).unwrap();
        let drive = match config.law {
            MixLaw::Banded => drive,
            MixLaw::Blended => drive.at_least(config.blend_drive.into()),
        };
        let band_end = Ratio::from_quotient(
            i64::from(config.pivot_point.raw()) * 2 + i64::from(config.pivot_band.raw()), 2000
        );
        let steer = steer.times(band_end);
        let sides = if reverse {
            mix(config, drive.reversed(), steer).reversed()
        } else {
            mix(config, drive, steer)
        };
        prop_assert!(sides.left.to_bits() >= -1 && sides.right.to_bits() >= -1, "{:?}", sides);
    }

    #[test]
    fn more_steer_never_turns_less_and_never_travels_faster(
        config in config(), drive in ratio(), one in ratio(), other in ratio()
    ) {
        let (less, more) = (one.magnitude().at_most(other.magnitude()), one.magnitude().at_least(other.magnitude()));
        let (less, more) = (mix(config, drive.magnitude(), less), mix(config, drive.magnitude(), more));
        prop_assert!(more.half_difference().to_bits() >= less.half_difference().to_bits() - 4);
        prop_assert!(more.mean().to_bits() <= less.mean().to_bits() + 4);
    }

    #[test]
    fn more_drive_never_travels_slower(config in config(), steer in ratio(), one in ratio(), other in ratio()) {
        let travel = |drive| mixer(config).step(drive, steer, Ratio::ZERO).mean().to_bits();
        prop_assert!(travel(one.at_least(other)) >= travel(one.at_most(other)) - 4);
    }

    #[test]
    fn a_small_move_of_the_drive_lever_changes_no_side_of_the_blended_law_by_more_than_its_bound(
        config in config(), drive in ratio(), steer in ratio(), travel in ratio()
    ) {
        let config = MixerConfig { law: MixLaw::Blended, ..config };
        let mut mixer = mixer(config);
        let before = mixer.step(drive, steer, travel);
        let after = mixer.step(drive.plus(share(1)), steer, travel);
        let bound = config.largest_change_per_drive().unwrap().to_bits();
        prop_assert!(largest_change(before, after) <= i64::from(bound));
    }

    #[test]
    fn a_small_move_of_the_steer_lever_changes_no_side_of_any_law_by_more_than_its_bound(
        config in config(), drive in ratio(), steer in ratio(), travel in ratio()
    ) {
        let mut mixer = mixer(config);
        let before = mixer.step(drive, steer, travel);
        let after = mixer.step(drive, steer.plus(share(1)), travel);
        prop_assert!(largest_change(before, after) <= i64::from(config.largest_change_per_steer().to_bits()));
    }

    #[test]
    fn while_it_rolls_path_following_yaws_by_the_way_it_rolls_whatever_the_drive_lever_says(
        config in config(), drive in ratio(), steer in ratio(), travel in ratio()
    ) {
        let config = MixerConfig { convention: ReverseConvention::PathFollowing, ..config };
        let beyond = |value: Ratio, least: Permille| {
            let magnitude = value.magnitude().at_least(least.into()).at_least(Ratio::saturating(1));
            if value < Ratio::ZERO { magnitude.reversed() } else { magnitude }
        };
        let travel = beyond(travel, config.reverse_blend);
        let drive = match config.law {
            MixLaw::Banded => beyond(drive, Permille::ZERO),
            MixLaw::Blended => beyond(drive, config.blend_drive),
        };
        let yaw = mixer(config).step(drive, steer, travel).half_difference();
        let wrong = if travel > Ratio::ZERO { yaw.opposite_direction(steer) } else { yaw.same_direction(steer) };
        prop_assert!(!wrong, "rolls {:?}, steer {:?}, yaw {:?}", travel, steer, yaw);
    }

    #[test]
    fn a_trembling_travel_does_not_turn_yaw_back_and_forth(
        config in config(), rolls in ratio(), tremble in proptest::collection::vec(-1000i32..=1000, 2..20)
    ) {
        let config = MixerConfig { convention: ReverseConvention::PathFollowing, ..config };
        let mut mixer = mixer(config);
        let amplitude = share(config.reverse_blend.raw() as i32 * 3 / 8 - 1);
        let (drive, steer) = (Ratio::MINUS_ONE, Ratio::ONE);
        let mut turns = 0;
        let mut last = mixer.step(drive, steer, rolls);
        for around in tremble {
            let now = mixer.step(drive, steer, rolls.plus(amplitude.times(share(around))));
            turns += i32::from(last.half_difference().opposite_direction(now.half_difference()));
            last = now;
        }
        prop_assert!(turns <= 1, "yaw turned round {} times", turns);
    }
}

#[test]
fn a_reversal_keeps_its_yaw_until_the_machine_has_almost_stopped() {
    let mut mixer = mixer(MixerConfig { law: MixLaw::Blended, ..DEFAULTS });
    let mut clockwise =
        |travel| mixer.step(share(-800), share(300), share(travel)).half_difference() > Ratio::ZERO;
    assert!(!clockwise(0), "from rest the lever decides");
    assert!(clockwise(900), "rolling forward");
    assert!(
        clockwise(26),
        "still rolling forward, below the 10 % from which it counts, above a quarter of it"
    );
    assert!(!clockwise(25), "at rest");
    assert!(!clockwise(99), "a start forward has not begun to count");
    assert!(!clockwise(-500), "rolling in reverse");
}

#[test]
fn a_value_outside_its_range_is_refused_with_the_range_and_changes_nothing() {
    let mut mixer = mixer(DEFAULTS);
    let error = mixer.reconfigure(MixerConfig { pivot_band: permille(301), ..DEFAULTS }).unwrap_err();
    assert_eq!(error, MixerConfigError::PivotBand(permille(301)));
    assert_eq!(std::format!("{error}"), "pivot band of 301 ‰: set 0 ‰ to 300 ‰");
    let (pivot_point, sensitivity) = (permille(199), permille(199));
    let refused = |config| Mixer::new(config).unwrap_err();
    assert_eq!(refused(MixerConfig { pivot_point, ..DEFAULTS }), MixerConfigError::PivotPoint(pivot_point));
    assert_eq!(refused(MixerConfig { sensitivity, ..DEFAULTS }), MixerConfigError::Sensitivity(sensitivity));
    let (blend_drive, reverse_blend) = (permille(49), permille(501));
    assert_eq!(refused(MixerConfig { blend_drive, ..DEFAULTS }), MixerConfigError::BlendDrive(blend_drive));
    assert_eq!(
        refused(MixerConfig { reverse_blend, ..DEFAULTS }),
        MixerConfigError::ReverseBlend(reverse_blend)
    );
    assert_eq!(mixer.step(Ratio::ONE, share(225), Ratio::ZERO).right.to_permille().raw(), 500);
}

trait Distance {
    fn distance_to(self, other: Self) -> i64;
}

impl Distance for Ratio {
    fn distance_to(self, other: Self) -> i64 {
        (i64::from(self.to_bits()) - i64::from(other.to_bits())).abs()
    }
}

four_verbs! {
    new: Mixer::new,
    configs: (DEFAULTS, MixerConfig { law: MixLaw::Blended, pivot_point: permille(400), pivot_band: permille(60), sensitivity: permille(700), blend_drive: permille(200), convention: ReverseConvention::YawFixed, reverse_blend: permille(200) }),
    accepted: [
        MixerConfig { pivot_point: permille(200), ..DEFAULTS },
        MixerConfig { pivot_point: permille(800), ..DEFAULTS },
        MixerConfig { pivot_band: permille(0), ..DEFAULTS },
        MixerConfig { pivot_band: permille(300), ..DEFAULTS },
        MixerConfig { sensitivity: permille(200), ..DEFAULTS },
        MixerConfig { sensitivity: permille(1000), ..DEFAULTS },
        MixerConfig { blend_drive: permille(50), ..DEFAULTS },
        MixerConfig { blend_drive: permille(500), ..DEFAULTS },
        MixerConfig { reverse_blend: permille(20), ..DEFAULTS },
        MixerConfig { reverse_blend: permille(500), ..DEFAULTS },
    ],
    refused: [
        MixerConfig { pivot_point: permille(199), ..DEFAULTS } => "pivot point of 199 ‰: set 200 ‰ to 800 ‰",
        MixerConfig { pivot_point: permille(801), ..DEFAULTS } => "pivot point of 801 ‰: set 200 ‰ to 800 ‰",
        MixerConfig { pivot_band: permille(-1), ..DEFAULTS } => "pivot band of -1 ‰: set 0 ‰ to 300 ‰",
        MixerConfig { pivot_band: permille(301), ..DEFAULTS } => "pivot band of 301 ‰: set 0 ‰ to 300 ‰",
        MixerConfig { sensitivity: permille(199), ..DEFAULTS } => "sensitivity of 199 ‰: set 200 ‰ to 1000 ‰",
        MixerConfig { blend_drive: permille(49), ..DEFAULTS } => "blend of drive of 49 ‰: set 50 ‰ to 500 ‰",
        MixerConfig { blend_drive: permille(501), ..DEFAULTS } => "blend of drive of 501 ‰: set 50 ‰ to 500 ‰",
        MixerConfig { reverse_blend: permille(19), ..DEFAULTS } => "travel that counts as rolling of 19 ‰: set 20 ‰ to 500 ‰",
        MixerConfig { reverse_blend: permille(501), ..DEFAULTS } => "travel that counts as rolling of 501 ‰: set 20 ‰ to 500 ‰",
    ],
    inputs: (ratio(), ratio(), ratio()),
    step: |block, (drive, steer, travel)| block.step(drive, steer, travel),
    reset: |block| block.reset(),
}

#[test]
fn the_way_the_machine_rolls_is_kept_down_to_a_quarter_of_the_reverse_blend_both_ways() {
    let within = Ratio::from_quotient(DEFAULTS.reverse_blend.raw().into(), 4_000).to_bits();
    let (half, steer) = (share(500), share(200));
    for reverse in [false, true] {
        // The lever asks for the other way: it decides as soon as the machine rests.
        let drive = if reverse { half } else { half.reversed() };
        let mut mixer = mixer(DEFAULTS);
        for (travel, rolls) in
            [(within, false), (4 * within, true), (within + 1, true), (within, false), (within + 1, false)]
        {
            let travel = Ratio::from_bits(if reverse { -travel } else { travel }).unwrap();
            let sides = mixer.step(drive, steer, travel);
            assert_eq!(sides.left < sides.right, reverse == rolls, "{travel} in reverse: {reverse}");
        }
    }
}
