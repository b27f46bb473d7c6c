//! Connected components of an undirected graph.

/// Which component each of `count` nodes belongs to, and how many there are, numbered in the order of their first nodes.
///
/// Union by the smallest number with halving of paths (Tarjan and van Leeuwen, "Worst-case analysis of set union
/// algorithms", J. ACM 31 (1984)).
///
/// # Panics
/// If an edge leaves the range: a mistake in the calling code.
pub fn components(count: usize, edges: impl Iterator<Item = (usize, usize)>) -> (Vec<usize>, usize) {
    let mut parents: Vec<usize> = (0..count).collect();
    fn root(parents: &mut [usize], mut node: usize) -> usize {
        while parents[node] != node {
            parents[node] = parents[parents[node]];
            node = parents[node];
        }
        node
    }
    for (a, b) in edges {
        let (a, b) = (root(&mut parents, a), root(&mut parents, b));
        parents[a.max(b)] = a.min(b);
    }
    let mut numbers = parents;
    let mut found = 0;
    // The parent of a node never has a higher number, so it has its component's number by then.
    for node in 0..count {
        if numbers[node] == node {
            numbers[node] = found;
            found += 1;
        } else {
            numbers[node] = numbers[numbers[node]];
        }
    }
    (numbers, found)
}

#[cfg(test)]
mod tests {
    use super::components;
    use proptest::prelude::*;

    proptest! {
        /// Two nodes share a component if and only if a walk along edges leads from one to the other.
        #[test]
        fn components_are_what_can_be_walked_to(
            edges in proptest::collection::vec((0usize..12, 0usize..12), 0..20),
        ) {
            let (numbers, found) = components(12, edges.iter().copied());
            let mut seen = 0;
            for start in 0..12 {
                let mut reached = vec![start];
                let mut next = 0;
                while next < reached.len() {
                    for &(a, b) in &edges {
                        for (from, to) in [(a, b), (b, a)] {
                            if from == reached[next] && !reached.contains(&to) {
                                reached.push(to);
                            }
                        }
                    }
                    next += 1;
                }
                for other in 0..12 {
                    prop_assert_eq!(numbers[start] == numbers[other], reached.contains(&other));
                }
                if reached.iter().all(|&node| node >= start) {
                    prop_assert_eq!(numbers[start], seen);
                    seen += 1;
                }
            }
            prop_assert_eq!(found, seen);
        }
    }
}
