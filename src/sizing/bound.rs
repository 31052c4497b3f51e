//! Upper bounds of lengths that are not known, from those that are.

use super::bus::Link;
use crate::schedule::Feet;
use petgraph::algo::dijkstra;
use petgraph::graph::{NodeIndex, UnGraph};

/// From `from` to each of `nodes` places, not more than this: the shortest
/// way along the known links, as a wire between two places need not be
/// longer than a way that others take. `None` where no known way leads.
pub fn at_most(nodes: usize, links: &[Link], from: usize) -> Vec<Option<Feet>> {
    let mut graph: UnGraph<(), f64> = UnGraph::with_capacity(nodes, links.len());
    for _ in 0..nodes {
        graph.add_node(());
    }
    for link in links {
        if let Some(length) = link.length
            && link.a < nodes
            && link.b < nodes
        {
            graph.add_edge(NodeIndex::new(link.a), NodeIndex::new(link.b), length.0);
        }
    }
    if from >= nodes {
        return vec![None; nodes];
    }
    let ways = dijkstra(&graph, NodeIndex::new(from), None, |edge| *edge.weight());
    (0..nodes)
        .map(|node| ways.get(&NodeIndex::new(node)).copied().map(Feet))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bound_is_the_shortest_known_way() {
        let link = |a, b, feet: Option<f64>| Link {
            a,
            b,
            length: feet.map(Feet),
        };
        // By hand: 0-1-2 is 70 ft, 0-2 direct is unknown, 3 hangs on nothing.
        let links = [
            link(0, 1, Some(30.0)),
            link(1, 2, Some(40.0)),
            link(0, 2, None),
        ];
        let found = at_most(4, &links, 0);
        assert_eq!(
            found,
            [Some(Feet(0.0)), Some(Feet(30.0)), Some(Feet(70.0)), None]
        );
        assert_eq!(at_most(1, &[], 7), [None]);
    }
}
