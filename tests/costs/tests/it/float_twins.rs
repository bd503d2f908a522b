//! The twins in `f32` do what the blocks do, within the distance that each states.

use costs::{FLOAT_TWINS, scale::FloatEntry};

const STREAM: u32 = 1_000;
const STREAMS: u32 = 1_000;

#[test]
fn every_twin_in_floating_point_keeps_its_distance_over_a_million_steps() {
    let findings: Vec<String> = FLOAT_TWINS.iter().filter_map(finding).collect();
    assert!(findings.is_empty(), "\n{}", findings.join("\n"));
}

fn finding(twin: &FloatEntry) -> Option<String> {
    let (mut apart, mut first) = (0_u32, None);
    for seed in 0..STREAMS {
        let mut step = 0;
        (twin.compare)(seed, STREAM, &mut |expected, output| {
            assert_eq!(
                (expected.len(), output.len()),
                (twin.distance.len(), twin.distance.len()),
                "{}",
                twin.name
            );
            let far = |((expected, output), distance): ((&i32, &f32), &f32)| {
                let apart = (f64::from(*expected) - f64::from(*output)).abs();
                apart.is_nan() || apart > f64::from(*distance)
            };
            if expected.iter().zip(output).zip(twin.distance).any(far) {
                apart += 1;
                first.get_or_insert_with(|| {
                    format!("seed {seed}, step {step}: block {expected:?}, twin {output:?}")
                });
            }
            step += 1;
        });
    }
    (apart > twin.apart_in_a_million).then(|| {
        let allowed = twin.apart_in_a_million;
        format!(
            "{}: {apart} of a million steps apart, {allowed} allowed; {}",
            twin.name,
            first.unwrap_or_default()
        )
    })
}
