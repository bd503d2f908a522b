//! The loader with its black box, and a tester on its bus: the whole control step, as in `path/loader_boxed`.

use core::marker::PhantomData;

use loader::Loader;
use loader::declaration::{Outputs, SetPoints};
use trunnion::machine::{Boot, Machine};
use trunnion_can::bus_slot::BusSlot;
use trunnion_service::work::WorkOrder;

use crate::loader_bench::{Bench, WORKING};
use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::path::loader::Step;
use crate::tester::{Frames, Talk, Tester};

/// What comes in a stream.
pub trait Traffic {
    /// Name of the subject.
    const NAME: &'static str;
    /// What the tester says.
    const TALK: Talk;
    /// A period of the machine, when it gave this.
    fn after(bench: &Bench, random: &mut Random, outputs: &Outputs, set_points: &SetPoints) -> Bench;
}

/// The loader.
pub struct Block<T>(Loader, PhantomData<T>);

/// What comes in a period, and who asks.
#[derive(Clone, Copy)]
pub struct Asked {
    bench: Bench,
    tester: Tester,
}

impl<T: Traffic> Subject for Block<T> {
    const NAME: &'static str = T::NAME;
    const LEAD_IN: u32 = WORKING + 30;
    type Input = Asked;
    type Output = (Outputs, SetPoints);

    fn new() -> Self {
        Self(Loader::start(&Boot::default()).0, PhantomData)
    }

    fn input(_: &mut Random, _: Option<&Asked>) -> Asked {
        Asked { bench: Bench::new(), tester: Tester::new(T::TALK) }
    }

    fn input_after(random: &mut Random, previous: &Asked, output: &Self::Output) -> Asked {
        let (outputs, set_points) = output;
        let Asked { bench, mut tester } = *previous;
        let mut bench = T::after(&bench, random, outputs, set_points);
        let slots = [
            (outputs.bus_out_1_head, outputs.bus_out_1_data),
            (outputs.bus_out_2_head, outputs.bus_out_2_data),
            (outputs.bus_out_3_head, outputs.bus_out_3_data),
            (outputs.bus_out_4_head, outputs.bus_out_4_data),
        ];
        let heard = slots.map(|(head, data)| BusSlot { head, data }.frame());
        let order = WorkOrder {
            kind: outputs.work_kind,
            number: outputs.work_number,
            place: outputs.work_place,
            item: outputs.work_item,
        };
        let frames = tester.after(random, &heard, order);
        bring(&mut bench, &frames);
        bench.inputs.work_report = tester.work.report;
        bench.inputs.work_report_number = tester.work.number;
        bench.inputs.work_report_item = tester.work.item;
        bench.inputs.entropy = random.bits();
        Asked { bench, tester }
    }

    fn step(&mut self, asked: &Asked) -> Self::Output {
        (self.0.step(&asked.bench.inputs, &asked.bench.reports), self.0.set_points())
    }

    fn input_words(asked: &Asked, into: &mut Words) -> usize {
        Step::<Loader>::input_words(&asked.bench, into)
    }

    fn output_words(output: &Self::Output, into: &mut Words) -> usize {
        Step::<Loader>::output_words(output, into)
    }
}

fn bring(bench: &mut Bench, frames: &Frames) {
    let inputs = &mut bench.inputs;
    let places = [
        (&mut inputs.bus_in_1_head, &mut inputs.bus_in_1_data),
        (&mut inputs.bus_in_2_head, &mut inputs.bus_in_2_data),
        (&mut inputs.bus_in_3_head, &mut inputs.bus_in_3_data),
        (&mut inputs.bus_in_4_head, &mut inputs.bus_in_4_data),
        (&mut inputs.bus_in_5_head, &mut inputs.bus_in_5_data),
        (&mut inputs.bus_in_6_head, &mut inputs.bus_in_6_data),
        (&mut inputs.bus_in_7_head, &mut inputs.bus_in_7_data),
        (&mut inputs.bus_in_8_head, &mut inputs.bus_in_8_data),
    ];
    for ((head, data), frame) in places.into_iter().zip(frames) {
        let slot = BusSlot::of(frame.as_ref());
        (*head, *data) = (slot.head, slot.data);
    }
}
