//! What can go wrong, what it is called on the bus, and what it does.
//!
//! Not detected, and therefore residual hazards for the machine's risk assessment:
//! - both sensors of a lever that fail alike; a lever whose spring is broken and that stays where it is left;
//! - a contact that is stuck in its released position: seats, brake switch, key (one wire each);
//! - a current sense whose gain drifts by less than half; a coil wire that touches the battery before the cut-off: told, and the
//!   brake is applied, but nothing cuts it;
//! - a charge pressure sensor that rests or drifts inside its range; the motor's direction wire; a brake valve or a steering spool that
//!   does not follow: none has a read-back;
//! - an eccentric pickup that breaks while the drum rests.
//!
//! SPNs from 520192 are the range that SAE J1939-73 leaves to makers; numbers in it are this machine's own.

use trunnion::declare::{Latch, Reactions};

/// Stops the drive in a controlled way and keeps it stopped.
pub const STOP_DRIVE: Reactions = Reactions(1);
/// Closes the steering.
pub const STOP_STEER: Reactions = Reactions(2);
/// Stops the vibration in a controlled way and keeps it stopped.
pub const STOP_VIBRATION: Reactions = Reactions(4);
/// Stops everything at once and cuts the coil supply.
pub const CUT: Reactions = Reactions(8);
/// Stops the drive while the left station commands.
pub const LEFT_DRIVE: Reactions = Reactions(16);
/// Closes the steering while the left station commands.
pub const LEFT_STEER: Reactions = Reactions(32);
/// Stops the drive while the right station commands.
pub const RIGHT_DRIVE: Reactions = Reactions(64);
/// Closes the steering while the right station commands.
pub const RIGHT_STEER: Reactions = Reactions(128);
/// Stops everything in a controlled way.
pub const STOP_ALL: Reactions = STOP_DRIVE.union(STOP_STEER).union(STOP_VIBRATION);
/// The steering does not follow: the machine must come to rest.
pub const UNSTEERED: Reactions = STOP_DRIVE.union(STOP_STEER);
/// The left steer lever is lost: the machine must come to rest.
pub const LEFT_UNSTEERED: Reactions = LEFT_DRIVE.union(LEFT_STEER);
/// The right steer lever is lost: the machine must come to rest.
pub const RIGHT_UNSTEERED: Reactions = RIGHT_DRIVE.union(RIGHT_STEER);

trunnion::faults! {
    /// The roller's faults.
    pub enum Fault {
        /// Emergency stop pressed, or a contact of it open. Release it, then ask for permission anew.
        EmergencyStop: spn 520_192, fmi 31, set 0, clear 100, Latch::UntilNeutral, CUT, blink 11, "emergency stop, X2:5/6";
        /// The two contacts of the emergency stop disagree. Check both contacts and their wires.
        EmergencyStopContacts: spn 520_192, fmi 14, set 100, clear 100, Latch::UntilRestart, CUT, blink 12, "emergency stop, X2:5/6";
        /// Coil supply is there although it is cut off: the relay is welded or the wire is fed from elsewhere.
        CutOffStuckOn: spn 520_193, fmi 3, set 0, clear 500, Latch::UntilRestart, CUT, blink 13, "cut-off relay, X1:4/5";
        /// Coil supply does not come, or is lost while switched on. Check relay, fuse and read-back wire.
        CutOffStuckOff: spn 520_193, fmi 4, set 30, clear 500, Latch::UntilRestart, CUT, blink 14, "cut-off relay, X1:4/5";
        /// A coil carries current that is not asked for, or clearly more than asked for. Check the coil wire for a short to supply.
        StrayCurrent: spn 520_194, fmi 0, set 10, clear 500, Latch::UntilRestart, CUT, blink 15, "coil wires, X4";
        /// A closed last gate did not stop the current in time. Check the coil wires for a short; else change the controller.
        GateDisagrees: spn 520_195, fmi 7, set 0, clear 500, Latch::UntilRestart, CUT, blink 16, "output stage";
        /// Stored parameters contradict one another; the maker's defaults are in use. Store a sound set.
        ParametersReplaced: spn 520_196, fmi 13, set 0, clear 0, Latch::UntilRestart, STOP_ALL, blink 17, "controller";
        /// Control periods were missed. The controller is overloaded: restart it; if it comes back, change the controller.
        PeriodsMissed: spn 520_197, fmi 9, set 50, clear 1000, Latch::WhilePresent, STOP_ALL, blink 18, "controller";

        /// Supply below its limit (a dip, an empty battery, a loose terminal).
        SupplyLow: spn 168, fmi 4, set 30, clear 500, Latch::UntilNeutral, STOP_ALL, blink 21, "supply, X1:1";
        /// Supply above its limit. Check the alternator's regulator.
        SupplyHigh: spn 168, fmi 3, set 1000, clear 500, Latch::WhilePresent, Reactions::NONE, blink 22, "supply, X1:1";
        /// The 5 V sensor supply is outside 4.75–5.25 V. Unplug the sensors one by one.
        SensorSupply: spn 520_198, fmi 2, set 50, clear 500, Latch::UntilNeutral, UNSTEERED, blink 23, "sensor supply, X3:1";

        /// A sensor of the left drive lever reads too low. Check plug and wires for a break or a short to ground.
        LeftDriveLow: spn 520_200, fmi 4, set 30, clear 500, Latch::UntilNeutral, LEFT_DRIVE, blink 24, "left drive lever, X7:1/2";
        /// A sensor of the left drive lever reads too high. Check plug and wires for a short to supply.
        LeftDriveHigh: spn 520_200, fmi 3, set 30, clear 500, Latch::UntilNeutral, LEFT_DRIVE, blink 24, "left drive lever, X7:1/2";
        /// The two sensors of the left drive lever disagree. Change the lever.
        LeftDriveDisagrees: spn 520_200, fmi 2, set 50, clear 500, Latch::UntilNeutral, LEFT_DRIVE, blink 24, "left drive lever, X7:1/2";
        /// A sensor of the left steer lever reads too low. Check plug and wires for a break or a short to ground.
        LeftSteerLow: spn 520_201, fmi 4, set 30, clear 500, Latch::UntilNeutral, LEFT_UNSTEERED, blink 25, "left steer lever, X7:3/4";
        /// A sensor of the left steer lever reads too high. Check plug and wires for a short to supply.
        LeftSteerHigh: spn 520_201, fmi 3, set 30, clear 500, Latch::UntilNeutral, LEFT_UNSTEERED, blink 25, "left steer lever, X7:3/4";
        /// The two sensors of the left steer lever disagree. Change the lever.
        LeftSteerDisagrees: spn 520_201, fmi 2, set 50, clear 500, Latch::UntilNeutral, LEFT_UNSTEERED, blink 25, "left steer lever, X7:3/4";
        /// A sensor of the right drive lever reads too low. Check plug and wires for a break or a short to ground.
        RightDriveLow: spn 520_202, fmi 4, set 30, clear 500, Latch::UntilNeutral, RIGHT_DRIVE, blink 26, "right drive lever, X8:1/2";
        /// A sensor of the right drive lever reads too high. Check plug and wires for a short to supply.
        RightDriveHigh: spn 520_202, fmi 3, set 30, clear 500, Latch::UntilNeutral, RIGHT_DRIVE, blink 26, "right drive lever, X8:1/2";
        /// The two sensors of the right drive lever disagree. Change the lever.
        RightDriveDisagrees: spn 520_202, fmi 2, set 50, clear 500, Latch::UntilNeutral, RIGHT_DRIVE, blink 26, "right drive lever, X8:1/2";
        /// A sensor of the right steer lever reads too low. Check plug and wires for a break or a short to ground.
        RightSteerLow: spn 520_203, fmi 4, set 30, clear 500, Latch::UntilNeutral, RIGHT_UNSTEERED, blink 27, "right steer lever, X8:3/4";
        /// A sensor of the right steer lever reads too high. Check plug and wires for a short to supply.
        RightSteerHigh: spn 520_203, fmi 3, set 30, clear 500, Latch::UntilNeutral, RIGHT_UNSTEERED, blink 27, "right steer lever, X8:3/4";
        /// The two sensors of the right steer lever disagree. Change the lever.
        RightSteerDisagrees: spn 520_203, fmi 2, set 50, clear 500, Latch::UntilNeutral, RIGHT_UNSTEERED, blink 27, "right steer lever, X8:3/4";

        /// Neither or both contacts of the amplitude rocker are closed. Check the rocker and its wires.
        AmplitudeRocker: spn 520_204, fmi 2, set 300, clear 100, Latch::WhilePresent, STOP_VIBRATION, blink 31, "amplitude rocker, X2:9/10";
        /// The engine pickup gives an impossible speed. Check its gap, its wire and the number of teeth.
        EnginePickup: spn 190, fmi 2, set 100, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 32, "engine pickup, X3:3";
        /// Pickup and bus disagree on the engine speed. Check pickup wire, number of teeth and the engine controller.
        EngineSpeedDisagrees: spn 190, fmi 14, set 500, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 33, "engine pickup, X3:3";
        /// The engine controller is not heard or reports no speed. Check its plug and the bus.
        EngineControllerLost: spn 190, fmi 9, set 0, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 34, "machine bus, X5:1/2";
        /// The travel motor pickup gives no pulses although the drive runs, or an impossible speed. Check its gap and wire.
        TravelPickup: spn 520_205, fmi 2, set 1000, clear 1000, Latch::UntilNeutral, STOP_VIBRATION, blink 35, "travel motor pickup, X3:4";
        /// The eccentric pickup gives no pulses although the drum vibrates, or an impossible speed. Check its gap and wire.
        EccentricPickup: spn 520_206, fmi 2, set 3000, clear 1000, Latch::UntilNeutral, STOP_VIBRATION, blink 36, "eccentric pickup, X3:6";
        /// The charge pressure sensor is outside its range. Check plug and wires.
        ChargePressureSensor: spn 520_207, fmi 2, set 100, clear 500, Latch::WhilePresent, STOP_DRIVE, blink 37, "charge pressure sensor, X3:2";
        /// Charge pressure is below its limit with the engine running. Check filter, oil level and charge pump.
        ChargePressureLow: spn 520_207, fmi 1, set 1500, clear 500, Latch::WhilePresent, STOP_DRIVE, blink 38, "charge circuit";
        /// A coil current cannot be reached (hot coil, low supply). Let it cool; check supply and plugs.
        CurrentUnreachable: spn 520_208, fmi 18, set 200, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 39, "coils, X4";

        /// The drive forward coil draws no current. Check its plug and wires.
        DriveForwardOpen: spn 520_220, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 41, "drive forward coil, X4:1";
        /// The drive reverse coil draws no current. Check its plug and wires.
        DriveReverseOpen: spn 520_221, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 42, "drive reverse coil, X4:3";
        /// The steer left coil draws no current. Check its plug and wires.
        SteerLeftOpen: spn 520_222, fmi 5, set 40, clear 500, Latch::UntilNeutral, UNSTEERED, blink 43, "steer left coil, X4:5";
        /// The steer right coil draws no current. Check its plug and wires.
        SteerRightOpen: spn 520_223, fmi 5, set 40, clear 500, Latch::UntilNeutral, UNSTEERED, blink 44, "steer right coil, X4:7";
        /// The vibration high coil draws no current. Check its plug and wires.
        VibrationHighOpen: spn 520_224, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_VIBRATION, blink 45, "vibration high coil, X4:9";
        /// The vibration low coil draws no current. Check its plug and wires.
        VibrationLowOpen: spn 520_225, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_VIBRATION, blink 46, "vibration low coil, X4:11";

        /// The drive forward coil draws far more current than its resistance allows. Check it for a short.
        DriveForwardShort: spn 520_220, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 41, "drive forward coil, X4:1";
        /// The drive reverse coil draws far more current than its resistance allows. Check it for a short.
        DriveReverseShort: spn 520_221, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 42, "drive reverse coil, X4:3";
        /// The steer left coil draws far more current than its resistance allows. Check it for a short.
        SteerLeftShort: spn 520_222, fmi 6, set 20, clear 500, Latch::UntilNeutral, UNSTEERED, blink 43, "steer left coil, X4:5";
        /// The steer right coil draws far more current than its resistance allows. Check it for a short.
        SteerRightShort: spn 520_223, fmi 6, set 20, clear 500, Latch::UntilNeutral, UNSTEERED, blink 44, "steer right coil, X4:7";
        /// The vibration high coil draws far more current than its resistance allows. Check it for a short.
        VibrationHighShort: spn 520_224, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_VIBRATION, blink 45, "vibration high coil, X4:9";
        /// The vibration low coil draws far more current than its resistance allows. Check it for a short.
        VibrationLowShort: spn 520_225, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_VIBRATION, blink 46, "vibration low coil, X4:11";

        /// The drive forward coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        DriveForwardCurrent: spn 520_220, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 41, "drive forward coil, X4:1";
        /// The drive reverse coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        DriveReverseCurrent: spn 520_221, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 42, "drive reverse coil, X4:3";
        /// The steer left coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        SteerLeftCurrent: spn 520_222, fmi 7, set 60, clear 500, Latch::UntilNeutral, UNSTEERED, blink 43, "steer left coil, X4:5";
        /// The steer right coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        SteerRightCurrent: spn 520_223, fmi 7, set 60, clear 500, Latch::UntilNeutral, UNSTEERED, blink 44, "steer right coil, X4:7";
        /// The vibration high coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        VibrationHighCurrent: spn 520_224, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_VIBRATION, blink 45, "vibration high coil, X4:9";
        /// The vibration low coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        VibrationLowCurrent: spn 520_225, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_VIBRATION, blink 46, "vibration low coil, X4:11";
    }
}
