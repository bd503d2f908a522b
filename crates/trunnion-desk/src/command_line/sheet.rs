//! The verb `sheet`.

use trunnion::machine::Machine;

use super::arguments::{SheetArguments, Which};
use super::selection::BenchRig;
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::sheets::{
    fault_list, identifier_list, memory_list, message_list, parameter_sheet, signal_list, wiring_list,
};

/// Prints a sheet and nothing else.
pub(super) fn sheet<B: Bench>(
    arguments: &SheetArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let sheet = match arguments.which {
        Which::Wiring => wiring_list::<B::Machine>(B::PORTS),
        Which::Parameters => parameter_sheet::<<B::Machine as Machine>::Parameters>(),
        Which::Faults => fault_list::<<B::Machine as Machine>::Faults>(B::REACTIONS),
        Which::Messages => message_list(B::MESSAGES, &<B::Machine as Machine>::Parameters::default()),
        Which::Identifiers => identifier_list::<B::Machine>(B::MOTIONS, B::BLACK_BOX.is_some()),
        Which::Memory => memory_list::<B::Machine>(B::BLACK_BOX.as_ref().map(|black_box| &black_box.memory)),
        Which::Signals => signal_list(BenchRig::<B>::new(B::REQUIREMENTS)?.columns()),
    };
    streams.out.write_all(sheet.write(arguments.format).as_bytes())?;
    Ok(Outcome::AllHeld)
}
