//! Which row goes with which column, so that the sum of the costs is least.

/// For each row its column, all different; as many columns as rows or more.
///
/// Source of the method, from memory: H. W. Kuhn, *The Hungarian method for the assignment problem*, Naval Research Logistics
/// Quarterly 2 (1955), in the form with potentials and shortest augmenting paths.
pub(super) fn assigned(costs: &[Vec<f32>]) -> Vec<usize> {
    let rows = costs.len();
    let columns = costs.first().map_or(0, Vec::len);
    // Row and column 0 are a start that means none.
    let mut row_potential = vec![0f32; rows + 1];
    let mut column_potential = vec![0f32; columns + 1];
    let mut row_of = vec![0usize; columns + 1];
    for row in 1..=rows {
        let mut before = vec![0usize; columns + 1];
        let mut least = vec![f32::INFINITY; columns + 1];
        let mut used = vec![false; columns + 1];
        row_of[0] = row;
        let mut column = 0;
        while row_of[column] != 0 {
            used[column] = true;
            let from = row_of[column];
            let (mut step, mut next) = (f32::INFINITY, 0);
            for to in (1..=columns).filter(|to| !used[*to]) {
                let cost = costs[from - 1][to - 1] - row_potential[from] - column_potential[to];
                if cost < least[to] {
                    (least[to], before[to]) = (cost, column);
                }
                if least[to] < step || next == 0 {
                    (step, next) = (least[to], to);
                }
            }
            for to in 0..=columns {
                if used[to] {
                    row_potential[row_of[to]] += step;
                    column_potential[to] -= step;
                } else {
                    least[to] -= step;
                }
            }
            column = next;
        }
        while column != 0 {
            row_of[column] = row_of[before[column]];
            column = before[column];
        }
    }
    let mut column_of = vec![0; rows];
    for (column, row) in row_of.iter().enumerate().skip(1) {
        if *row > 0 {
            column_of[row - 1] = column - 1;
        }
    }
    column_of
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against all orders of five rows over six columns.
    #[test]
    fn nothing_is_cheaper() {
        fn least(costs: &[Vec<f32>], used: &mut [bool]) -> f32 {
            let Some((row, rest)) = costs.split_first() else {
                return 0.0;
            };
            let mut best = f32::INFINITY;
            for column in 0..row.len() {
                if !used[column] {
                    used[column] = true;
                    best = best.min(row[column] + least(rest, used));
                    used[column] = false;
                }
            }
            best
        }
        let mut seed = 1u32;
        for _ in 0..50 {
            let mut cost = || {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                (seed >> 24) as f32
            };
            let costs: Vec<Vec<f32>> = (0..5).map(|_| (0..6).map(|_| cost()).collect()).collect();
            let found = assigned(&costs);
            let sum: f32 = found.iter().zip(&costs).map(|(c, row)| row[*c]).sum();
            assert_eq!(sum, least(&costs, &mut [false; 6]));
        }
    }

    /// Each row has a column of its own, though one is the cheapest for all.
    #[test]
    fn by_hand() {
        let costs = [[1.0, 2.0, 9.0], [1.0, 5.0, 9.0], [1.0, 5.0, 6.0]];
        let costs: Vec<Vec<f32>> = costs.iter().map(|row| row.to_vec()).collect();
        assert_eq!(assigned(&costs), [1, 0, 2]);
        assert_eq!(assigned(&costs[..1]), [0]);
        assert_eq!(assigned(&[]), Vec::<usize>::new());
    }
}
