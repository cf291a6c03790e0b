//! The sparse unsymmetric LU behind each Newton step (library `faer`).
//!
//! Always the simplicial factorisation: its scalar loops give the same bits on every machine, while
//! the supernodal one chooses kernels by what the processor can do. The order of elimination is ours
//! (see `residual`): a general column order cannot know that flows go first.

use super::residual::Pattern;
use crate::numerics::sort_keys;
use faer::dyn_stack::{MemBuffer, MemStack};
use faer::perm::PermRef;
use faer::sparse::linalg::lu::simplicial;
use faer::sparse::linalg::{LuError, amd};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par};

pub(super) struct Factors {
    lu: simplicial::SimplicialLu<usize, f64>,
    row_order: Vec<usize>,
    row_place: Vec<usize>,
    column_place: Vec<usize>,
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

impl Factors {
    pub fn new(pattern: &Pattern) -> Self {
        let n = pattern.size;
        let memory = MemBuffer::new(
            simplicial::factorize_simplicial_numeric_lu_scratch::<usize, f64>(n, n)
                .or(simplicial::solve_in_place_scratch::<usize, f64>(n, 1, Par::Seq)),
        );
        Self {
            lu: simplicial::SimplicialLu::new(),
            row_order: vec![0; n],
            row_place: vec![0; n],
            column_place: inverse(&pattern.order),
            memory,
        }
    }

    /// Factorises the matrix of `values`.
    pub fn factorise(&mut self, pattern: &Pattern, values: &[f64]) -> Result<(), NoInverse> {
        let n = pattern.size;
        let shape = SymbolicSparseColMatRef::new_checked(n, n, &pattern.column_starts, None, &pattern.rows);
        let columns = PermRef::new_checked(&pattern.order, &self.column_place, n);
        simplicial::factorize_simplicial_numeric_lu(
            &mut self.row_order,
            &mut self.row_place,
            &mut self.lu,
            SparseColMatRef::new(shape, values),
            columns,
            MemStack::new(&mut self.memory),
        )?;
        Ok(())
    }

    /// Overwrites `rhs` with the solution for the matrix factorised last.
    pub fn solve(&mut self, pattern: &Pattern, rhs: &mut [f64]) -> Result<(), NoInverse> {
        let n = pattern.size;
        let columns = PermRef::new_checked(&pattern.order, &self.column_place, n);
        self.lu.solve_in_place_with_conj(
            PermRef::new_checked(&self.row_order, &self.row_place, n),
            columns,
            Conj::No,
            MatMut::from_column_major_slice_mut(rhs, n, 1),
            Par::Seq,
            MemStack::new(&mut self.memory),
        );
        if rhs.iter().all(|x| x.is_finite()) { Ok(()) } else { Err(NoInverse) }
    }
}

fn inverse(order: &[usize]) -> Vec<usize> {
    let mut place = vec![0; order.len()];
    for (i, &unknown) in order.iter().enumerate() {
        place[unknown] = i;
    }
    place
}

/// Order of `n` unknowns by approximate minimum degree; `pairs` are those with an entry in common.
pub(super) fn minimum_degree(n: usize, pairs: Vec<(usize, usize)>) -> Vec<usize> {
    let mut keys: Vec<u128> =
        pairs.iter().map(|&(column, row)| (column as u128) << 64 | row as u128).collect();
    sort_keys(&mut keys);
    keys.dedup();
    let pairs: Vec<(usize, usize)> =
        keys.iter().map(|&key| ((key >> 64) as usize, key as u64 as usize)).collect();
    let mut starts = vec![0; n + 1];
    for (column, _) in &pairs {
        starts[column + 1] += 1;
    }
    for column in 0..n {
        starts[column + 1] += starts[column];
    }
    let rows: Vec<usize> = pairs.iter().map(|pair| pair.1).collect();
    let shape = SymbolicSparseColMatRef::new_checked(n, n, &starts, None, &rows);
    let (mut order, mut place) = (vec![0; n], vec![0; n]);
    let mut memory = MemBuffer::new(amd::order_scratch::<usize>(n, rows.len()));
    match amd::order(&mut order, &mut place, shape, amd::Control::default(), MemStack::new(&mut memory)) {
        Ok(_) => order,
        // Out of memory for the ordering: any order is correct, only slower.
        Err(_) => (0..n).collect(),
    }
}
