//! Forward and back through a box.

/// What can be typed.
const HELP: &str = "  Enter or n  one period forward\n  b           one period back\n  +20  -20    so many forward or back\n  \
                    120         to that period\n  > <         to the next or last one in which something happened\n  \
                    f           to the one that decided\n  q           end";

/// Where one is in a box.
#[derive(Debug)]
pub(super) struct Walk {
    at: usize,
    last: usize,
    deciding: usize,
    changes: Vec<usize>,
}

impl Walk {
    /// Begins somewhere in a box of so many periods, in some of which something happened.
    pub fn new(at: usize, periods: usize, deciding: usize, changes: Vec<usize>) -> Self {
        Self { at, last: periods.saturating_sub(1), deciding, changes }
    }

    pub const fn at(&self) -> usize {
        self.at
    }

    /// Goes where a line says; false at the end. An error tells why it went nowhere.
    pub fn go(&mut self, line: &str) -> Result<bool, String> {
        let by = |number: &str| number.parse::<usize>().ok();
        let to = match line {
            "q" => return Ok(false),
            "?" => return Err(HELP.to_owned()),
            "" | "n" => self.at.saturating_add(1),
            "b" => self.at.checked_sub(1).ok_or("this is the first period")?,
            "f" => self.deciding,
            ">" => {
                *self.changes.iter().find(|at| **at > self.at).ok_or("nothing happens behind this period")?
            }
            "<" => {
                *self.changes.iter().rfind(|at| **at < self.at).ok_or("nothing happens before this period")?
            }
            _ => match (line.strip_prefix('+').and_then(by), line.strip_prefix('-').and_then(by), by(line)) {
                (Some(more), _, _) => self.at.saturating_add(more),
                (None, Some(less), _) => self.at.saturating_sub(less),
                (None, None, Some(to)) => to,
                (None, None, None) => return Err(format!("`{line}` goes nowhere; type ? for help")),
            },
        };
        if to > self.last {
            return Err(format!("the last period is {}", self.last));
        }
        self.at = to;
        Ok(true)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_goes_where_it_says_and_never_out_of_the_box() {
        let mut walk = Walk::new(50, 100, 50, vec![10, 50, 70]);
        for (line, at) in
            [("", 51), ("n", 52), ("b", 51), ("+20", 71), ("<", 70), ("<", 50), ("-60", 0), (">", 10)]
        {
            assert_eq!(walk.go(line), Ok(true), "{line}");
            assert_eq!(walk.at(), at, "{line}");
        }
        assert_eq!((walk.go("99"), walk.at()), (Ok(true), 99));
        for line in ["n", "+1", "100", ">", "left", "-", "18446744073709551616"] {
            assert!(walk.go(line).is_err(), "{line}");
            assert_eq!(walk.at(), 99, "{line}");
        }
        assert_eq!((walk.go("f"), walk.at()), (Ok(true), 50));
        assert_eq!((walk.go("0"), walk.go("b").is_err(), walk.go("q")), (Ok(true), true, Ok(false)));
    }
}
