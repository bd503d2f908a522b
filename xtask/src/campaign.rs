//! The loader's fault campaign: everything broken in every way in every state, a sample of pairs, and whether the campaign can
//! fail.

use crate::{defects::PROGRAM, programs::Programs, tally::Tally, toolchain::Toolchain, workspace::Workspace};

const WHOLE: [&str; 5] = ["run", "--package", "loader", "--", "campaign"];
const PAIRS: [&str; 8] = ["run", "--package", "loader", "--", "campaign", "--pairs", "--sample", "400"];

/// A step of the suite: every cell and a sample of pairs are as declared, and mistakes of the control program turn cells red.
/// The long mode for pairs is `loader campaign --pairs --shard k/n` on many computers.
pub fn whole(workspace: &Workspace, own: &Toolchain, programs: &Programs, tally: &mut Tally) {
    for (what, name, words) in [
        ("every cell of the loader's campaign is as it declares", "campaign", &WHOLE[..]),
        ("a sample of pairs of failures is as the loader declares", "pairs", &PAIRS),
    ] {
        match programs.task(workspace, name, words) {
            Ok(task) => hold(what, task.run(workspace).success, tally),
            Err(why) => tally.fail(what, why),
        }
    }
    let outcome =
        own.cargo(workspace, "planted-cells").args(PROGRAM).args(["--", "--campaign"]).run(workspace);
    hold("mistakes planted in the control program turn cells red", outcome.success, tally);
}

fn hold(what: &str, success: bool, tally: &mut Tally) {
    if success {
        tally.pass(what);
    } else {
        tally.fail(what, "see above; each red cell names the command that replays it".to_owned());
    }
}
