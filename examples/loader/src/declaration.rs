//! Everything that is declared once: signals, parameters, faults.

pub mod diagnostics;
pub mod faults;
pub mod inputs;
pub mod messages;
pub mod outputs;
pub mod parameters;

pub use diagnostics::Diagnostics;
pub use faults::Fault;
pub use inputs::Inputs;
pub use messages::MESSAGES;
pub use outputs::{Coil, CoilReports, FastInputs, FastOutputs, Outputs, SetPoints};
pub use parameters::{Parameter, Parameters};
