//! The control program as a machine that hosts and boards step.

use trunnion::machine::SafeStart;
use trunnion_board::black_box::Boxed;
use trunnion_can::mailbox::Filter;

use crate::control::Control;
use crate::declaration::Parameters;

/// Bytes of each of the black box's two segments: some two seconds of work, and longer at rest.
pub const BOX_BYTES: usize = 8_192;

/// The loader's controller.
pub type Loader = SafeStart<Boxed<Control, BOX_BYTES>>;

/// The messages that the bus has to bring: both levers and the engine controller, in the order of the slots.
pub fn filters(parameters: &Parameters) -> [Filter; 5] {
    use trunnion_can::id::pgn;
    let from = |group, source| Filter { pgn: group, source };
    [
        from(pgn::BASIC_JOYSTICK_1, parameters.left_lever_address()),
        from(pgn::EXTENDED_JOYSTICK_1, parameters.left_lever_address()),
        from(pgn::BASIC_JOYSTICK_1, parameters.right_lever_address()),
        from(pgn::EXTENDED_JOYSTICK_1, parameters.right_lever_address()),
        from(pgn::ELECTRONIC_ENGINE_CONTROLLER_1, parameters.engine_address()),
    ]
}
