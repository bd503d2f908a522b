//! All proofs, and how they are listed.

use serde::Serialize;

use crate::{
    maps,
    proof::{Kind, Proof},
    walks,
};

/// A line of the list, as tools read it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Listed {
    /// Name on the command line.
    pub name: String,
    /// Room and file of the block.
    pub block: String,
    /// How it covers.
    pub kind: Kind,
    /// Which configurations are gone through.
    pub family: String,
    /// What is claimed.
    pub claims: Vec<String>,
}

/// All sweeps and walks.
pub fn all() -> Vec<Proof> {
    let mut all = maps::all();
    all.extend(walks::all());
    all
}

/// Those of these names or blocks or kinds; all without a name. Fails with the name that nothing has.
pub fn chosen(only: &[String]) -> Result<Vec<Proof>, String> {
    let fits =
        |proof: &Proof, name: &String| proof.name == name || proof.block == name || proof.kind.name() == name;
    for name in only {
        if !all().iter().any(|proof| fits(proof, name)) {
            let names: Vec<&str> = all().iter().map(|proof| proof.name).collect();
            return Err(format!(
                "no proof `{name}`: give `sweep`, `walk`, a block such as `lever/axis`, or one of {}",
                names.join(", ")
            ));
        }
    }
    let mut proofs = all();
    proofs.retain(|proof| only.is_empty() || only.iter().any(|name| fits(proof, name)));
    Ok(proofs)
}

/// How a proof is listed.
pub fn listed(proof: &Proof) -> Listed {
    Listed {
        name: proof.name.to_owned(),
        block: proof.block.to_owned(),
        kind: proof.kind,
        family: proof.family.to_owned(),
        claims: proof.claims.iter().map(|claim| (*claim).to_owned()).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_unique_and_every_proof_says_what_it_claims() {
        let proofs = all();
        for (place, proof) in proofs.iter().enumerate() {
            assert!(!proof.claims.is_empty() && !proof.family.is_empty(), "{}", proof.name);
            assert!(proof.block.contains('/'), "{}: `{}` is no room and file", proof.name, proof.block);
            assert!(proofs.iter().skip(place + 1).all(|other| other.name != proof.name), "{}", proof.name);
        }
    }

    #[test]
    fn a_name_that_nothing_has_is_told_with_those_that_there_are() {
        let refusal = chosen(&["debonce".to_owned()]).err().unwrap_or_default();
        assert!(refusal.contains("`debonce`") && refusal.contains("debounce"), "{refusal}");
        assert_eq!(chosen(&["walk".to_owned()]).map(|proofs| proofs.len()), Ok(walks::all().len()));
    }
}
