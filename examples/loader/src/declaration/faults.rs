//! What can go wrong, what it is called on the bus, and what it does.
//!
//! Not detected, and therefore residual hazards for the machine's risk assessment:
//! - a lever whose frames keep coming with data that no longer changes looks like one that is held still: bar, seat,
//!   brake switch and emergency stop remain; nor is a second sender with the same address that is much slower;
//! - a contact that is stuck in its released position: seat, bar, lock, brake switch, key (one wire each), and an
//!   emergency stop contact of which only the other one opens is found when it does;
//! - a supply reading or a read-back that rests or drifts inside its range: the current loops make up for the first, the
//!   next start-up test finds the second;
//! - a current sense whose gain drifts by less than half: its side runs faster or slower; an opposite coil that opens
//!   after the start-up test, until it is driven;
//! - a coil wire that touches the battery before the cut-off: told, and the brake is applied, but nothing cuts it;
//! - a pressure, temperature or throttle sensor that rests or drifts inside its range; a motor direction wire; valves of
//!   park brake and two-speed range that do not follow, a lamp or an alarm that is broken: none has a read-back.
//!
//! SPNs from 520192 are the range that SAE J1939-73 leaves to makers; numbers in it are this machine's own.

use trunnion::declare::{Latch, Reactions};

/// Stops the drive in a controlled way and keeps it stopped.
pub const STOP_DRIVE: Reactions = Reactions(1);
/// Stops boom and bucket in a controlled way and keeps them stopped.
pub const STOP_WORK: Reactions = Reactions(2);
/// Stops the auxiliary in a controlled way and keeps it stopped.
pub const STOP_AUXILIARY: Reactions = Reactions(4);
/// Stops everything at once and cuts the coil supply.
pub const CUT: Reactions = Reactions(8);
/// Drive at a reduced share.
pub const LIMIT: Reactions = Reactions(16);
/// Stops everything in a controlled way.
pub const STOP_ALL: Reactions = STOP_DRIVE.union(STOP_WORK).union(STOP_AUXILIARY);

trunnion::faults! {
    /// The loader's faults.
    pub enum Fault {
        /// Emergency stop pressed, or a contact of it open. Release it, then ask for permission anew.
        EmergencyStop: spn 520_192, fmi 31, set 0, clear 100, Latch::UntilNeutral, CUT, blink 11, "emergency stop, X2:6/7";
        /// The two contacts of the emergency stop disagree. Check both contacts and their wires.
        EmergencyStopContacts: spn 520_192, fmi 14, set 100, clear 100, Latch::UntilRestart, CUT, blink 12, "emergency stop, X2:6/7";
        /// Coil supply is there although it is cut off: the relay is welded or the wire is fed from elsewhere.
        CutOffStuckOn: spn 520_193, fmi 3, set 0, clear 500, Latch::UntilRestart, CUT, blink 13, "cut-off relay, X1:4/5";
        /// Coil supply does not come, or is lost while switched on. Check relay, fuse and read-back wire.
        CutOffStuckOff: spn 520_193, fmi 4, set 30, clear 500, Latch::UntilRestart, CUT, blink 14, "cut-off relay, X1:4/5";
        /// A coil carries current that is not asked for, or clearly more than asked for. Check the coil wire for a short to supply.
        StrayCurrent: spn 520_194, fmi 0, set 10, clear 500, Latch::UntilRestart, CUT, blink 15, "coil wires, X4";
        /// A closed last gate did not stop the current in time. Check the coil wires for a short; else change the controller.
        GateDisagrees: spn 520_195, fmi 7, set 0, clear 500, Latch::UntilRestart, CUT, blink 16, "output stage";
        /// Stored parameters contradict one another; the maker's defaults are in use.
        ParametersReplaced: spn 520_196, fmi 13, set 0, clear 0, Latch::UntilRestart, STOP_ALL, blink 17, "controller";
        /// Control periods were missed. The controller is overloaded: restart it; if it comes back, change the controller.
        PeriodsMissed: spn 520_197, fmi 9, set 50, clear 1000, Latch::WhilePresent, STOP_ALL, blink 18, "controller";

        /// Supply below its limit (a dip, an empty battery, a loose terminal).
        SupplyLow: spn 168, fmi 4, set 30, clear 500, Latch::UntilNeutral, STOP_ALL, blink 21, "supply, X1:1";
        /// Supply above its limit. Check the alternator's regulator.
        SupplyHigh: spn 168, fmi 3, set 1000, clear 500, Latch::WhilePresent, Reactions::NONE, blink 22, "supply, X1:1";
        /// The 5 V sensor supply is outside 4.75–5.25 V. Unplug the sensors one by one.
        SensorSupply: spn 520_198, fmi 2, set 50, clear 500, Latch::WhilePresent, STOP_DRIVE, blink 23, "sensor supply, X3:1";

        /// The left lever was never heard since power-up. Check its plug, address and the bus.
        LeftLeverNeverSeen: spn 520_200, fmi 12, set 0, clear 500, Latch::UntilNeutral, STOP_ALL, blink 24, "left lever, X5:1/2";
        /// The left lever is no longer heard. Check its plug, its supply and the bus.
        LeftLeverLost: spn 520_200, fmi 9, set 0, clear 500, Latch::UntilNeutral, STOP_ALL, blink 25, "left lever, X5:1/2";
        /// The left lever reports an error, nothing, or a value that is no position. Change the lever.
        LeftLeverValue: spn 520_200, fmi 19, set 40, clear 500, Latch::UntilNeutral, STOP_ALL, blink 26, "left lever";
        /// Flags and position of the left lever contradict one another. Change the lever.
        LeftLeverInconsistent: spn 520_200, fmi 2, set 40, clear 500, Latch::UntilNeutral, STOP_ALL, blink 27, "left lever";
        /// Two units send as the left lever. Look for a unit with the same address.
        LeftLeverDuplicated: spn 520_200, fmi 10, set 0, clear 500, Latch::UntilRestart, STOP_ALL, blink 28, "machine bus, X5:1/2";
        /// The right lever was never heard since power-up. Check its plug, address and the bus.
        RightLeverNeverSeen: spn 520_201, fmi 12, set 0, clear 500, Latch::UntilNeutral, STOP_ALL, blink 29, "right lever, X5:1/2";
        /// The right lever is no longer heard. Check its plug, its supply and the bus.
        RightLeverLost: spn 520_201, fmi 9, set 0, clear 500, Latch::UntilNeutral, STOP_ALL, blink 31, "right lever, X5:1/2";
        /// The right lever reports an error, nothing, or a value that is no position. Change the lever.
        RightLeverValue: spn 520_201, fmi 19, set 40, clear 500, Latch::UntilNeutral, STOP_ALL, blink 32, "right lever";
        /// Flags and position of the right lever contradict one another. Change the lever.
        RightLeverInconsistent: spn 520_201, fmi 2, set 40, clear 500, Latch::UntilNeutral, STOP_ALL, blink 33, "right lever";
        /// Two units send as the right lever. Look for a unit with the same address.
        RightLeverDuplicated: spn 520_201, fmi 10, set 0, clear 500, Latch::UntilRestart, STOP_ALL, blink 34, "machine bus, X5:1/2";
        /// Neither or both contacts of the pattern rocker are closed. Check the rocker and its wires.
        PatternRocker: spn 520_202, fmi 2, set 300, clear 100, Latch::WhilePresent, STOP_ALL, blink 35, "pattern rocker, X2:9/10";

        /// The engine pickup gives an impossible speed. Check its gap, its wire and the number of teeth.
        EnginePickup: spn 190, fmi 2, set 100, clear 1000, Latch::WhilePresent, LIMIT, blink 36, "engine pickup, X3:5";
        /// Pickup and bus disagree on the engine speed. Check pickup wire, number of teeth and the engine controller.
        EngineSpeedDisagrees: spn 190, fmi 14, set 500, clear 1000, Latch::WhilePresent, LIMIT, blink 37, "engine pickup, X3:5";
        /// The engine controller is not heard or reports no speed. Check its plug and the bus.
        EngineControllerLost: spn 190, fmi 9, set 0, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 38, "machine bus, X5:1/2";
        /// A motor pickup gives no pulses although its side is driven, or an impossible speed. Check its gap and wire.
        LeftMotorPickup: spn 520_203, fmi 2, set 1000, clear 1000, Latch::WhilePresent, LIMIT, blink 53, "left motor pickup, X3:6";
        /// A motor pickup gives no pulses although its side is driven, or an impossible speed. Check its gap and wire.
        RightMotorPickup: spn 520_204, fmi 2, set 1000, clear 1000, Latch::WhilePresent, LIMIT, blink 54, "right motor pickup, X3:8";

        /// The charge pressure sensor is outside its range. Check plug and wires.
        ChargePressureSensor: spn 520_205, fmi 2, set 100, clear 500, Latch::WhilePresent, STOP_DRIVE, blink 55, "charge pressure sensor, X3:2";
        /// Charge pressure is below its limit with the engine running. Check filter, oil level and charge pump.
        ChargePressureLow: spn 520_205, fmi 1, set 1500, clear 500, Latch::WhilePresent, STOP_DRIVE, blink 56, "charge circuit";
        /// The oil temperature sensor is outside its range; the drive is at its cold share.
        OilTemperatureSensor: spn 1638, fmi 2, set 500, clear 500, Latch::WhilePresent, LIMIT, blink 57, "oil temperature sensor, X3:3";
        /// The hydraulic oil is too hot. Let the machine idle.
        OilHot: spn 1638, fmi 0, set 2000, clear 5000, Latch::WhilePresent, LIMIT, blink 58, "hydraulic oil";
        /// The hand throttle sensor is outside its range; the drive yields as if the throttle were fully open.
        HandThrottleSensor: spn 91, fmi 2, set 200, clear 500, Latch::WhilePresent, Reactions::NONE, blink 59, "hand throttle sensor, X3:4";
        /// A pump current cannot be reached (hot coil, low supply); both sides are reduced alike.
        DriveCurrentUnreachable: spn 520_206, fmi 18, set 200, clear 1000, Latch::WhilePresent, LIMIT, blink 61, "pump coils, X4:1-8";
        /// A boom, bucket or auxiliary current cannot be reached (hot coil, low supply).
        WorkCurrentUnreachable: spn 520_207, fmi 18, set 200, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 62, "spool coils, X4:9-22";
        /// More frames came for the controller than it could keep: levers are not affected, testers must ask again.
        BusOverrun: spn 520_208, fmi 0, set 0, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 63, "machine bus, X5:1/2";
        /// The controller left the bus after too many errors. Check termination, wires and the bit rate of all units.
        BusOff: spn 639, fmi 9, set 0, clear 1000, Latch::WhilePresent, Reactions::NONE, blink 64, "machine bus, X5:1/2";

        /// The left pump forward coil draws no current. Check its plug and wires.
        LeftPumpForwardOpen: spn 520_220, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 41, "left pump forward coil, X4:1";
        /// The left pump reverse coil draws no current. Check its plug and wires.
        LeftPumpReverseOpen: spn 520_221, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 42, "left pump reverse coil, X4:3";
        /// The right pump forward coil draws no current. Check its plug and wires.
        RightPumpForwardOpen: spn 520_222, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 43, "right pump forward coil, X4:5";
        /// The right pump reverse coil draws no current. Check its plug and wires.
        RightPumpReverseOpen: spn 520_223, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 44, "right pump reverse coil, X4:7";
        /// The boom raise coil draws no current. Check its plug and wires.
        BoomRaiseOpen: spn 520_224, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_WORK, blink 45, "boom raise coil, X4:9";
        /// The boom lower coil draws no current. Check its plug and wires.
        BoomLowerOpen: spn 520_225, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_WORK, blink 46, "boom lower coil, X4:11";
        /// The boom float coil draws no current. Check its plug and wires.
        BoomFloatOpen: spn 520_226, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_WORK, blink 47, "boom float coil, X4:13";
        /// The bucket curl coil draws no current. Check its plug and wires.
        BucketCurlOpen: spn 520_227, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_WORK, blink 48, "bucket curl coil, X4:15";
        /// The bucket dump coil draws no current. Check its plug and wires.
        BucketDumpOpen: spn 520_228, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_WORK, blink 49, "bucket dump coil, X4:17";
        /// The auxiliary A coil draws no current. Check its plug and wires.
        AuxiliaryAOpen: spn 520_229, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_AUXILIARY, blink 51, "auxiliary A coil, X4:19";
        /// The auxiliary B coil draws no current. Check its plug and wires.
        AuxiliaryBOpen: spn 520_230, fmi 5, set 40, clear 500, Latch::UntilNeutral, STOP_AUXILIARY, blink 52, "auxiliary B coil, X4:21";

        /// The left pump forward coil draws far more current than its resistance allows. Check it for a short.
        LeftPumpForwardShort: spn 520_220, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 41, "left pump forward coil, X4:1";
        /// The left pump reverse coil draws far more current than its resistance allows. Check it for a short.
        LeftPumpReverseShort: spn 520_221, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 42, "left pump reverse coil, X4:3";
        /// The right pump forward coil draws far more current than its resistance allows. Check it for a short.
        RightPumpForwardShort: spn 520_222, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 43, "right pump forward coil, X4:5";
        /// The right pump reverse coil draws far more current than its resistance allows. Check it for a short.
        RightPumpReverseShort: spn 520_223, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 44, "right pump reverse coil, X4:7";
        /// The boom raise coil draws far more current than its resistance allows. Check it for a short.
        BoomRaiseShort: spn 520_224, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_WORK, blink 45, "boom raise coil, X4:9";
        /// The boom lower coil draws far more current than its resistance allows. Check it for a short.
        BoomLowerShort: spn 520_225, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_WORK, blink 46, "boom lower coil, X4:11";
        /// The boom float coil draws far more current than its resistance allows. Check it for a short.
        BoomFloatShort: spn 520_226, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_WORK, blink 47, "boom float coil, X4:13";
        /// The bucket curl coil draws far more current than its resistance allows. Check it for a short.
        BucketCurlShort: spn 520_227, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_WORK, blink 48, "bucket curl coil, X4:15";
        /// The bucket dump coil draws far more current than its resistance allows. Check it for a short.
        BucketDumpShort: spn 520_228, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_WORK, blink 49, "bucket dump coil, X4:17";
        /// The auxiliary A coil draws far more current than its resistance allows. Check it for a short.
        AuxiliaryAShort: spn 520_229, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_AUXILIARY, blink 51, "auxiliary A coil, X4:19";
        /// The auxiliary B coil draws far more current than its resistance allows. Check it for a short.
        AuxiliaryBShort: spn 520_230, fmi 6, set 20, clear 500, Latch::UntilNeutral, STOP_AUXILIARY, blink 52, "auxiliary B coil, X4:21";

        /// The left pump forward coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        LeftPumpForwardCurrent: spn 520_220, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 41, "left pump forward coil, X4:1";
        /// The left pump reverse coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        LeftPumpReverseCurrent: spn 520_221, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 42, "left pump reverse coil, X4:3";
        /// The right pump forward coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        RightPumpForwardCurrent: spn 520_222, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 43, "right pump forward coil, X4:5";
        /// The right pump reverse coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        RightPumpReverseCurrent: spn 520_223, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 44, "right pump reverse coil, X4:7";
        /// The boom raise coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        BoomRaiseCurrent: spn 520_224, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_WORK, blink 45, "boom raise coil, X4:9";
        /// The boom lower coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        BoomLowerCurrent: spn 520_225, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_WORK, blink 46, "boom lower coil, X4:11";
        /// The boom float coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        BoomFloatCurrent: spn 520_226, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_WORK, blink 47, "boom float coil, X4:13";
        /// The bucket curl coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        BucketCurlCurrent: spn 520_227, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_WORK, blink 48, "bucket curl coil, X4:15";
        /// The bucket dump coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        BucketDumpCurrent: spn 520_228, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_WORK, blink 49, "bucket dump coil, X4:17";
        /// The auxiliary A coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        AuxiliaryACurrent: spn 520_229, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_AUXILIARY, blink 51, "auxiliary A coil, X4:19";
        /// The auxiliary B coil does not carry the current asked for. Check plugs for corrosion, then the coil.
        AuxiliaryBCurrent: spn 520_230, fmi 7, set 60, clear 500, Latch::UntilNeutral, STOP_AUXILIARY, blink 52, "auxiliary B coil, X4:21";
    }
}
