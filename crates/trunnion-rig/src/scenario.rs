//! Scenarios: a text file that an engineer can read aloud.
//!
//! ```text
//! # Everything behind a # is a comment.
//! scenario  Lever unplugged at speed in the H pattern
//! about     Both sides must come to rest;
//!           a machine with one live side spins.
//! seed      7
//! length    12 s
//! parameter drive_forward_maximum = 800 ‰
//! set       operator_seated = yes, restraint_bar_down = yes
//! at 0.5 s  park_brake = no
//! at 2 s    left_lever_y moves to 80 % over 0.4 s
//! at 6 s    break left_lever: lost
//! at 9 s    mend left_lever
//! after 1 s parameter pivot_point = 400 ‰
//! require   S-01 (H-02) both tracks come to rest: from 8 s abs(true_left_speed) < 0.05 m/s
//! ```
//!
//! A statement begins with its first word at the beginning of a line; a line that begins with a blank continues
//! the one above. Every statement but `scenario`, `seed` and `length` may stand any number of times.
//!
//! | statement | says |
//! |---|---|
//! | `scenario` title | what it is called; must stand |
//! | `about` text | what it is about, for the report |
//! | `seed` whole number | seed of everything random in the plant and of the machine's entropy; 0 when left out |
//! | `length` time | how long it lasts; must stand; at least one tick, at most an hour |
//! | `parameter` name `=` value | a stored parameter that differs from its default, from the start |
//! | `set` name `=` value | an action that differs from its rest, from the start |
//! | `at` time deeds | what happens at that time |
//! | `after` time deeds | what happens that long after the moment of the line above it |
//! | `require` id (hazard) sentence`:` formula | what must hold, besides what the machine must always do; the hazard may be left out |
//!
//! | deed | does |
//! |---|---|
//! | name `=` value | puts a control or a condition of the surroundings there at once |
//! | name `moves to` value `over` time | moves it there evenly; a later deed on the same name takes over from where it is |
//! | `break` signal`:` failure | breaks a signal in one of its ways |
//! | `mend` signal | mends everything that is broken about it |
//! | `parameter` name `=` value | writes a parameter of the running machine; those of one tick are one write, which the machine takes or refuses as a whole |
//!
//! A value is a number with its unit, or the name of a choice (`yes`, `no`, `iso` …; what is not a letter or
//! digit in a choice's name is written `_`). Which names there are, and in which ranges, the machine's parameters
//! and the [plant](crate::run::Plant)'s actions and breaks say; an unknown name is refused with the nearest
//! one, a value outside its range with the range. Formulas: [`requirement`](crate::requirement).
//!
//! A deed takes effect at the first tick that begins at or after its time, and is seen in that tick's row.
//!
//! # Grammar
//!
//! ```text
//! scenario  = { statement }
//! statement = "scenario" text | "about" text | "seed" decimal | "length" time
//!           | "parameter" setting { "," setting } | "set" setting { "," setting }
//!           | ( "at" | "after" ) time deed { "," deed }
//!           | "require" id [ "(" text ")" ] text ":" formula
//! deed      = setting | name "moves" "to" value "over" time | "parameter" setting
//!           | "break" name ":" name | "mend" name
//! setting   = name "=" value
//! value     = [ "-" ] decimal [ unit ] | name
//! time      = decimal unit
//! ```

mod lines;
mod parse;
mod print;
mod reader;
mod story;

pub use story::{Deed, Event, Moment, Scenario, Setting, StatedRequirement, Value};
