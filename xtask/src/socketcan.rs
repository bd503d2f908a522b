//! The desk program on SocketCAN, tried on a Linux of its own: a kernel with a virtual CAN interface in an emulated computer, on
//! it the simulated machine, `candump` and `cansend` of Linux, and the desk program as the tester.
//!
//! Containers and small kernels have no CAN, so this computer's own kernel is not asked.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, ExitCode, Stdio},
    time::Duration,
};

use crate::{
    Verdict,
    command::{Task, ask, on_path},
    progress::say,
    setup::{self, Need},
    tally::Tally,
    toolchain::Toolchain,
    workspace::Workspace,
};

const MACHINE: &str = "loader";
/// The story that the machine is served with.
const STORY: &str = "tests/python/bus/permitted.scenario";
/// The package that always depends on the newest kernel.
const KERNEL: &str = "linux-image-amd64";
/// What the kernel must have loaded for a virtual CAN interface.
const MODULES: [&str; 4] = ["can", "can-dev", "can-raw", "vcan"];
/// Programs that go into the emulated computer beside the machine's.
const PROGRAMS: [&str; 3] = ["busybox", "candump", "cansend"];
/// What runs there.
const INIT: &str = include_str!("socketcan/init.sh");
/// The trial takes half a minute; behind that it hangs.
const LIMIT: Duration = Duration::from_secs(300);

/// The verb.
pub fn verb(workspace: &Workspace) -> Verdict {
    if !cfg!(all(target_os = "linux", target_arch = "x86_64")) {
        return Err(
            "the trial emulates a PC under Linux with this computer's own programs: x86-64 only".to_owned()
        );
    }
    let own = Toolchain::own()?;
    let needs = [Need::QemuPc, Need::Busybox, Need::CanUtils, Need::Cpio];
    if let Some(lack) = setup::provide(workspace, &own, &needs).first() {
        return Err(format!("no {}: {}", lack.need.name(), lack.reason));
    }
    let words = ["build", "--release", "--package", MACHINE, "--bin", MACHINE];
    if !own.cargo(workspace, "loader").args(words).run(workspace).success {
        return Err("the desk program does not build; see above".to_owned());
    }
    let scratch = workspace.target.join("socketcan");
    let kernel = kernel(workspace, &scratch)?;
    let archive = archive(workspace, &scratch, &kernel)?;
    let task = Task::new(workspace, "emulated computer", "qemu-system-x86_64")
        .args(["-nographic", "-no-reboot", "-m", "512", "-smp", "2", "-net", "none", "-kernel"])
        .args([kernel.image])
        .args(["-append", "console=ttyS0 quiet panic=-1", "-initrd"])
        .args([archive])
        .limit(LIMIT);
    let outcome = task.run(workspace);
    let tally = judged(&outcome.text, checks());
    say(tally.counts());
    Ok(if tally.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// How many checks the script makes.
fn checks() -> usize {
    INIT.lines().filter(|line| line.starts_with("holds \"")).count()
}

/// What the emulated computer said of each check.
fn judged(text: &str, checks: usize) -> Tally {
    let mut tally = Tally::default();
    let lines = || text.lines().map(str::trim);
    for line in lines() {
        if let Some(what) = line.strip_prefix("PASS ") {
            tally.pass(what);
        } else if let Some(what) = line.strip_prefix("FAIL ") {
            tally.fail(what, "see what was said, above".to_owned());
        }
    }
    let made = tally.passed + tally.failed.len();
    if made != checks || !lines().any(|line| line == "END") {
        let why = format!("{made} of {checks} checks were made; see above");
        tally.fail("the emulated computer comes to its end", why);
    }
    tally
}

/// A kernel, unpacked and not installed.
struct Kernel {
    image: PathBuf,
    modules: Vec<PathBuf>,
}

fn kernel(workspace: &Workspace, scratch: &Path) -> Result<Kernel, String> {
    let depends = ask("apt-cache", ["depends", KERNEL]).unwrap_or_default();
    let package = depends
        .split_whitespace()
        .find(|word| word.starts_with("linux-image-") && *word != KERNEL)
        .ok_or("apt-cache names no kernel: are there package lists?")?;
    let folder = scratch.join(package);
    if !folder.is_dir() {
        let packed = scratch.join("packed");
        renew(&packed)?;
        let fetched = Command::new("apt-get")
            .args(["download", "-qq", package])
            .current_dir(&packed)
            .stderr(Stdio::inherit())
            .status()
            .is_ok_and(|status| status.success());
        let file = fs::read_dir(&packed).ok().and_then(|mut files| files.find_map(Result::ok));
        let file =
            file.filter(|_| fetched).ok_or_else(|| format!("apt-get download {package} fetched nothing"))?;
        let unpack =
            Task::new(workspace, "dpkg-deb", "dpkg-deb").args(["-x"]).args([file.path(), folder.clone()]);
        if !unpack.run(workspace).success {
            return Err(format!("{} cannot be unpacked", file.path().display()));
        }
    }
    let version = package.trim_start_matches("linux-image-");
    let image = folder.join("boot").join(format!("vmlinuz-{version}"));
    let modules: Result<Vec<PathBuf>, String> = MODULES
        .iter()
        .map(|module| {
            let name = format!("{module}.ko");
            found(&folder.join("lib/modules"), &name).ok_or_else(|| format!("{package} has no {name}"))
        })
        .collect();
    Ok(Kernel { image, modules: modules? })
}

fn found(folder: &Path, name: &str) -> Option<PathBuf> {
    let entries = fs::read_dir(folder).ok()?.filter_map(Result::ok).map(|entry| entry.path());
    let (folders, files): (Vec<PathBuf>, Vec<PathBuf>) = entries.partition(|path| path.is_dir());
    let is_it = |path: &&PathBuf| path.file_name().is_some_and(|own| own == name);
    files.iter().find(is_it).cloned().or_else(|| folders.iter().find_map(|folder| found(folder, name)))
}

/// All files of the emulated computer, as the kernel takes them.
fn archive(workspace: &Workspace, scratch: &Path, kernel: &Kernel) -> Result<PathBuf, String> {
    let root = scratch.join("root");
    renew(&root)?;
    for folder in ["bin", "modules", "proc", "sys", "dev"] {
        create(&root.join(folder))?;
    }
    for module in &kernel.modules {
        copy(module, &root.join("modules").join(module.file_name().unwrap_or_default()))?;
    }
    copy(&workspace.root.join(STORY), &root.join("permitted.scenario"))?;
    let mut programs = vec![workspace.target.join("release").join(MACHINE)];
    for name in PROGRAMS {
        programs.push(on_path(name).ok_or_else(|| format!("{name} was installed and is not on the path"))?);
    }
    for program in programs {
        for library in ask("ldd", [&program]).unwrap_or_default().split_whitespace() {
            let library = Path::new(library);
            if let Ok(place) = library.strip_prefix("/") {
                create(&root.join(place).parent().map(Path::to_owned).unwrap_or_default())?;
                copy(library, &root.join(place))?;
            }
        }
        copy(&program, &root.join("bin").join(program.file_name().unwrap_or_default()))?;
    }
    let init = root.join("init");
    fs::write(&init, INIT).map_err(|error| format!("{}: {error}", init.display()))?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        fs::set_permissions(&init, fs::Permissions::from_mode(0o755))
            .map_err(|error| format!("{}: {error}", init.display()))?;
    }
    let archive = scratch.join("files.cpio");
    let command = "find . | cpio --create --format=newc --quiet > ../files.cpio";
    let packed = Command::new("sh").args(["-c", command]).current_dir(&root).status();
    if packed.is_ok_and(|status| status.success()) { Ok(archive) } else { Err(format!("`{command}` failed")) }
}

fn renew(folder: &Path) -> Result<(), String> {
    if folder.exists() {
        fs::remove_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    }
    create(folder)
}

fn create(folder: &Path) -> Result<(), String> {
    fs::create_dir_all(folder).map_err(|error| format!("{}: {error}", folder.display()))
}

fn copy(from: &Path, to: &Path) -> Result<(), String> {
    fs::copy(from, to).map(drop).map_err(|error| format!("{} to {}: {error}", from.display(), to.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_emulated_computer_says_is_counted_and_an_early_end_is_a_failure() {
        let whole = judged("boot\r\nPASS a b\r\nFAIL c\r\nwhy\r\nEND\r\n", 2);
        assert_eq!((whole.passed, whole.failed.len()), (1, 1));
        let cut = judged("PASS a b\r\n", 1);
        assert_eq!((cut.passed, cut.failed.len()), (1, 1));
        let lost = judged("xPASS a\r\nPASS b\r\nEND\r\n", 2);
        assert_eq!((lost.passed, lost.failed.len()), (1, 1));
    }

    #[test]
    fn every_check_of_the_script_is_one_that_can_fail() {
        assert!(checks() >= 10, "{}", checks());
        assert!(INIT.contains("poweroff -f"));
    }
}
