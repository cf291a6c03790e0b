//! The sparse unsymmetric LU behind each Newton step (library `faer`).
//!
//! Always the simplicial factorisation: its scalar loops give the same bits on every machine, while
//! the supernodal one chooses kernels by what the processor can do.

use super::residual::Pattern;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::linalg::{LuError, SupernodalThreshold, lu};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par};

pub(super) struct Factors {
    symbolic: lu::SymbolicLu<usize>,
    numeric: lu::NumericLu<usize, f64>,
    memory: MemBuffer,
}

/// The matrix has no inverse.
#[derive(Debug)]
pub(super) struct NoInverse;

impl From<LuError> for NoInverse {
    fn from(_: LuError) -> Self {
        Self
    }
}

fn matrix(pattern: &Pattern) -> SymbolicSparseColMatRef<'_, usize> {
    SymbolicSparseColMatRef::new_checked(
        pattern.size,
        pattern.size,
        &pattern.column_starts,
        None,
        &pattern.rows,
    )
}

impl Factors {
    pub fn new(pattern: &Pattern) -> Result<Self, NoInverse> {
        let params = lu::LuSymbolicParams {
            supernodal_flop_ratio_threshold: SupernodalThreshold::FORCE_SIMPLICIAL,
            ..Default::default()
        };
        let symbolic = lu::factorize_symbolic_lu(matrix(pattern), params).map_err(|_| NoInverse)?;
        let memory = MemBuffer::new(
            symbolic
                .factorize_numeric_lu_scratch::<f64>(Par::Seq, Default::default())
                .or(symbolic.solve_in_place_scratch::<f64>(1, Par::Seq)),
        );
        Ok(Self { symbolic, numeric: lu::NumericLu::new(), memory })
    }

    /// Factorises the matrix of `values` and overwrites `rhs` with the solution.
    pub fn solve(&mut self, pattern: &Pattern, values: &[f64], rhs: &mut [f64]) -> Result<(), NoInverse> {
        let lu = self.symbolic.factorize_numeric_lu(
            &mut self.numeric,
            SparseColMatRef::new(matrix(pattern), values),
            Par::Seq,
            MemStack::new(&mut self.memory),
            Default::default(),
        )?;
        let n = rhs.len();
        lu.solve_in_place_with_conj(
            Conj::No,
            MatMut::from_column_major_slice_mut(rhs, n, 1),
            Par::Seq,
            MemStack::new(&mut self.memory),
        );
        if rhs.iter().all(|x| x.is_finite()) { Ok(()) } else { Err(NoInverse) }
    }
}
