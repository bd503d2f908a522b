use std::sync::Arc;

/// Something that can be hunted in.
///
/// Everything about a run follows from its genes, numbers from 0 to 1: the same genes give the same run, whether
/// it was played from its opening or from a copy.
pub trait Field: Sync {
    /// A run under way. A copy of it goes on as the original would.
    type Run: Clone + Send + Sync + 'static;

    /// Number of genes that decide how a run opens.
    fn opening_genes(&self) -> usize;

    /// Number of genes of each leg.
    fn leg_genes(&self) -> usize;

    /// Number of legs of a run.
    fn legs(&self) -> usize;

    /// Opens a run.
    fn open(&self, genes: &[f64]) -> Self::Run;

    /// Goes on by a leg.
    fn go_on(&self, run: &mut Self::Run, genes: &[f64]);

    /// Ends a run after its last leg.
    fn end(&self, run: &mut Self::Run);

    /// What the run has come to so far.
    fn finding(&self, run: &Self::Run) -> Finding;

    /// The margin of each requirement on the same scale; endless where it has none. One that knows of one only need not say.
    fn margins(&self, run: &Self::Run) -> Vec<f64> {
        vec![self.finding(run).margin]
    }

    /// Number of all genes.
    fn genes(&self) -> usize {
        self.opening_genes() + self.legs() * self.leg_genes()
    }
}

/// What a run has come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Finding {
    /// The smallest margin of any requirement, as a share of what its signal spans; negative when violated.
    pub margin: f64,
    /// The place of the first violated requirement.
    pub violated: Option<usize>,
    /// The situation, coarsely: runs in the same situation have the same number.
    pub situation: u64,
}

/// Where a trial begins.
#[derive(Debug)]
pub enum Start<R> {
    /// At its opening.
    Opening,
    /// At a copy of a run that was played to the end of so many legs.
    Copy {
        /// The copy.
        run: Arc<R>,
        /// How many legs it has behind it.
        legs: usize,
    },
}

impl<R> Clone for Start<R> {
    fn clone(&self) -> Self {
        match self {
            Self::Opening => Self::Opening,
            Self::Copy { run, legs } => Self::Copy { run: Arc::clone(run), legs: *legs },
        }
    }
}

/// A run to be played.
#[derive(Debug, Clone)]
pub struct Trial<R> {
    /// Where it begins.
    pub start: Start<R>,
    /// All genes from the opening on; those before the start tell how to come there.
    pub genes: Vec<f64>,
    /// Keep copies between the legs.
    pub keep: bool,
}

/// A copy between two legs.
#[derive(Debug, Clone)]
pub struct Mark<R> {
    /// How many legs the run has behind it.
    pub legs: usize,
    /// What it has come to there.
    pub finding: Finding,
    /// The run.
    pub run: Arc<R>,
}

/// What a trial came to.
#[derive(Debug, Clone)]
pub struct Outcome<R> {
    /// At its end.
    pub finding: Finding,
    /// The margin of each requirement there.
    pub margins: Vec<f64>,
    /// Legs that were played, without those of the copy it began with.
    pub played: usize,
    /// Copies between the legs, if they were to be kept.
    pub marks: Vec<Mark<R>>,
}

/// Plays a trial to its end, or to the leg in which a requirement is violated.
pub(super) fn play<F: Field>(field: &F, trial: &Trial<F::Run>) -> Outcome<F::Run> {
    let (opening, legs) = trial.genes.split_at(field.opening_genes().min(trial.genes.len()));
    let (mut run, behind) = match &trial.start {
        Start::Opening => (field.open(opening), 0),
        Start::Copy { run, legs } => (F::Run::clone(run), *legs),
    };
    let mut outcome =
        Outcome { finding: field.finding(&run), margins: Vec::new(), played: 0, marks: Vec::new() };
    for (place, genes) in legs.chunks_exact(field.leg_genes().max(1)).enumerate().skip(behind) {
        if outcome.finding.violated.is_some() {
            return outcome;
        }
        field.go_on(&mut run, genes);
        outcome.played += 1;
        outcome.finding = field.finding(&run);
        if trial.keep && outcome.finding.violated.is_none() && place + 1 < field.legs() {
            let mark = Mark { legs: place + 1, finding: outcome.finding, run: Arc::new(run.clone()) };
            outcome.marks.push(mark);
        }
    }
    if outcome.finding.violated.is_none() {
        field.end(&mut run);
        outcome.finding = field.finding(&run);
    }
    outcome.margins = field.margins(&run);
    outcome
}
