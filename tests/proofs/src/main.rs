//! The command line of the proofs; `cargo xtask prove` calls it.
fn main() {
    let progress = proofs::progress::Progress::new();
    let bench = proofs::proof::Bench { effort: proofs::proof::Effort::Quick, threads: 2, progress: &progress };
    let only: Vec<String> = std::env::args().skip(1).collect();
    for proof in proofs::catalogue::chosen(&only).unwrap() {
        let o = (proof.run)(&bench);
        println!("{:<22} {} conf {} states {} transitions {:.2} s {:?}", proof.name, o.configurations, o.states, o.transitions, o.seconds, o.measured);
        for f in &o.findings { println!("   !! {f}"); }
    }
}
