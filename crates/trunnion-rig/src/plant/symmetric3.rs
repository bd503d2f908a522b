//! Three equations of motion with symmetric couplings: forward, leftward, yaw.

/// The equations, growing term by term; positive definite as long as no damping is negative.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Symmetric3 {
    diagonal: [f64; 3],
    xy: f64,
    xr: f64,
    yr: f64,
    right: [f64; 3],
}

impl Symmetric3 {
    /// A diagonal matrix (all entries positive) and a right-hand side.
    pub(crate) fn new(diagonal: [f64; 3], right: [f64; 3]) -> Self {
        Symmetric3 { diagonal, xy: 0.0, xr: 0.0, yr: 0.0, right }
    }

    /// Adds a force `force − damping·(direction·velocity)` along a direction.
    pub(crate) fn add(&mut self, [x, y, r]: [f64; 3], force: f64, damping: f64) {
        self.diagonal[0] += damping * x * x;
        self.diagonal[1] += damping * y * y;
        self.diagonal[2] += damping * r * r;
        self.xy += damping * x * y;
        self.xr += damping * x * r;
        self.yr += damping * y * r;
        self.right[0] += force * x;
        self.right[1] += force * y;
        self.right[2] += force * r;
    }

    /// LDLᵀ without pivoting, which positive definite systems do not need.
    pub(crate) fn solve(&self) -> [f64; 3] {
        let [first, yy, rr] = self.diagonal;
        let (lower_xy, lower_xr) = (self.xy / first, self.xr / first);
        let second = yy - lower_xy * self.xy;
        let rest = self.yr - lower_xy * self.xr;
        let lower_yr = rest / second;
        let third = rr - lower_xr * self.xr - lower_yr * rest;
        let [x, y, r] = self.right;
        let y = y - lower_xy * x;
        let r = (r - lower_xr * x - lower_yr * y) / third;
        let y = y / second - lower_yr * r;
        [x / first - lower_xy * y - lower_xr * r, y, r]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_solution_satisfies_the_equations(
            diagonal in proptest::array::uniform3(1.0f64..1e4),
            right in proptest::array::uniform3(-1e5f64..1e5),
            terms in proptest::collection::vec(
                (proptest::array::uniform3(-2.0f64..2.0), -1e4f64..1e4, 0.0f64..1e5), 0..8
            ),
        ) {
            let mut system = Symmetric3::new(diagonal, right);
            for &(direction, force, damping) in &terms {
                system.add(direction, force, damping);
            }
            let velocity = system.solve();
            for row in 0..3 {
                let mut rest = diagonal[row] * velocity[row] - right[row];
                let mut scale = right[row].abs() + 1.0;
                for (direction, force, damping) in &terms {
                    let along: f64 = direction.iter().zip(&velocity).map(|(d, v)| d * v).sum();
                    rest += direction[row] * (damping * along - force);
                    scale += (direction[row] * damping * along).abs() + force.abs();
                }
                assert_relative_eq!(rest / scale, 0.0, epsilon = 1e-9);
            }
        }
    }
}
