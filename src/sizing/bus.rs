//! The communication bus as a graph: which units its runs join, in what
//! order, and what keeps it from being one chain. Nodes are numbered from
//! zero by the caller; every step here is linear in runs, sorting aside.

use crate::schedule::Feet;
use petgraph::algo::dijkstra;
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::unionfind::UnionFind;
use petgraph::visit::EdgeRef;
use std::collections::BTreeMap;

/// One run between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Link {
    pub a: usize,
    pub b: usize,
    /// `None` where the schedule gives none.
    pub length: Option<Feet>,
}

/// How a stop of the walk hangs on the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hangs {
    /// Where the walk begins.
    Start,
    /// Next on the chain.
    Chain,
    /// The first unit of a further arm.
    Branch,
    /// Not joined to the start.
    Apart,
}

/// The node that a stop was reached from, and the link.
pub type By = Option<(usize, usize)>;

/// One stop of the walk along the bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    pub node: usize,
    pub by: By,
    pub hangs: Hangs,
    /// Sum of the known lengths of all runs walked so far.
    pub total: Feet,
}

/// The runs of one system.
#[derive(Debug)]
pub struct BusGraph {
    links: Vec<Link>,
    start: Option<usize>,
    /// Without repeated links and links from a node to itself.
    graph: UnGraph<(), usize>,
    /// The same without the links that close a loop.
    forest: UnGraph<(), usize>,
    repeated: Vec<(usize, usize)>,
    closing: Vec<usize>,
}

impl BusGraph {
    /// Links with an end outside `0..nodes` are left out.
    pub fn new(nodes: usize, start: Option<usize>, links: Vec<Link>) -> Self {
        let mut graph = UnGraph::with_capacity(nodes, links.len());
        let mut forest = UnGraph::with_capacity(nodes, links.len());
        for _ in 0..nodes {
            graph.add_node(());
            forest.add_node(());
        }
        let mut first_of: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let mut joined = UnionFind::<usize>::new(nodes);
        let (mut repeated, mut closing) = (Vec::new(), Vec::new());
        for (index, link) in links.iter().enumerate() {
            if link.a >= nodes || link.b >= nodes {
                continue;
            }
            if link.a == link.b {
                closing.push(index);
                continue;
            }
            let pair = (link.a.min(link.b), link.a.max(link.b));
            if let Some(&first) = first_of.get(&pair) {
                repeated.push((index, first));
                continue;
            }
            first_of.insert(pair, index);
            let (a, b) = (NodeIndex::new(link.a), NodeIndex::new(link.b));
            graph.add_edge(a, b, index);
            if joined.union(link.a, link.b) {
                forest.add_edge(a, b, index);
            } else {
                closing.push(index);
            }
        }
        Self {
            links,
            start: start.filter(|&start| start < nodes),
            graph,
            forest,
            repeated,
            closing,
        }
    }

    pub fn nodes(&self) -> usize {
        self.graph.node_count()
    }

    pub fn start(&self) -> Option<usize> {
        self.start
    }

    /// Links that join a pair joined before, each with the earlier one.
    pub fn repeated(&self) -> &[(usize, usize)] {
        &self.repeated
    }

    /// Links without which no loop is left: the later rows of each loop.
    pub fn closing(&self) -> &[usize] {
        &self.closing
    }

    /// The links at a node, in their order; repeated ones left out.
    pub fn links_at(&self, node: usize) -> Vec<usize> {
        let mut links: Vec<usize> = self
            .graph
            .edges(NodeIndex::new(node))
            .map(|edge| *edge.weight())
            .collect();
        links.sort_unstable();
        links
    }

    /// The number of links at a node once loops are opened.
    pub fn arms(&self, node: usize) -> usize {
        self.forest.edges(NodeIndex::new(node)).count()
    }

    /// Whether each node is joined to the start, over whatever links.
    pub fn reached(&self) -> Vec<bool> {
        let mut reached = vec![false; self.nodes()];
        for stop in self.walk() {
            reached[stop.node] = stop.hangs != Hangs::Apart;
        }
        reached
    }

    /// The separate parts that hold a link and not the start.
    pub fn parts_apart(&self) -> usize {
        self.walk()
            .iter()
            .filter(|stop| {
                stop.hangs == Hangs::Apart && stop.by.is_none() && self.arms(stop.node) > 0
            })
            .count()
    }

    /// The node farthest from the start, and how far at least: a link
    /// without a length counts nothing, and of two ways the shorter counts.
    pub fn farthest(&self) -> Option<(usize, Feet)> {
        let start = self.start?;
        let cost = |index: &usize| self.links[*index].length.map_or(0.0, |feet| feet.0);
        let distances = dijkstra(&self.graph, NodeIndex::new(start), None, |edge| {
            cost(edge.weight())
        });
        let mut best: Option<(usize, f64)> = None;
        for node in 0..self.nodes() {
            let Some(&distance) = distances.get(&NodeIndex::new(node)) else {
                continue;
            };
            if node != start && best.is_none_or(|(_, most)| distance > most) {
                best = Some((node, distance));
            }
        }
        best.map(|(node, distance)| (node, Feet(distance)))
    }

    /// The bus as one follows it with a finger: from the start along each
    /// arm to its end, arms in the order of their rows, then the parts that
    /// the start does not reach.
    pub fn walk(&self) -> Vec<Stop> {
        let mut stops = Vec::with_capacity(self.nodes());
        let mut seen = vec![false; self.nodes()];
        let mut total = Feet(0.0);
        for root in self.roots() {
            if seen[root] {
                continue;
            }
            seen[root] = true;
            let start = self.start == Some(root);
            let hangs = if start { Hangs::Start } else { Hangs::Apart };
            let mut stack: Vec<(usize, By, Hangs)> = vec![(root, None, hangs)];
            while let Some((node, by, hangs)) = stack.pop() {
                if let Some((_, link)) = by {
                    total = total + self.links[link].length.unwrap_or(Feet(0.0));
                }
                stops.push(Stop {
                    node,
                    by,
                    hangs,
                    total,
                });
                let mut next = self.forest_neighbours(node);
                next.retain(|&(_, neighbour)| !seen[neighbour]);
                for (order, (link, neighbour)) in next.into_iter().enumerate().rev() {
                    seen[neighbour] = true;
                    let hangs = match (hangs, order) {
                        (Hangs::Apart, _) => Hangs::Apart,
                        (_, 0) => Hangs::Chain,
                        _ => Hangs::Branch,
                    };
                    stack.push((neighbour, Some((node, link)), hangs));
                }
            }
        }
        stops
    }

    fn forest_neighbours(&self, node: usize) -> Vec<(usize, usize)> {
        let mut next: Vec<(usize, usize)> = self
            .forest
            .edges(NodeIndex::new(node))
            .map(|edge| {
                let other = if edge.source().index() == node {
                    edge.target()
                } else {
                    edge.source()
                };
                (*edge.weight(), other.index())
            })
            .collect();
        next.sort_unstable();
        next
    }

    /// The start, then ends of parts, then all others.
    fn roots(&self) -> Vec<usize> {
        let ends = (0..self.nodes()).filter(|&node| self.arms(node) == 1);
        self.start
            .into_iter()
            .chain(ends)
            .chain(0..self.nodes())
            .collect()
    }

    /// All nodes in one chain from the start that keeps as many of the
    /// links as any chain can, once loops are opened at their later rows.
    pub fn propose(&self) -> Vec<usize> {
        let walk = self.walk();
        let mut children: Vec<Vec<usize>> = vec![Vec::new(); self.nodes()];
        for stop in &walk {
            if let Some((parent, _)) = stop.by {
                children[parent].push(stop.node);
            }
        }
        // A node with two arms below it that are free to be joined is best
        // left unjoined above; its own parent loses nothing by that.
        let mut free = vec![true; self.nodes()];
        for stop in walk.iter().rev() {
            let below = children[stop.node].iter().filter(|&&child| free[child]);
            free[stop.node] = below.count() <= 1;
        }
        let mut kept: Vec<Vec<usize>> = vec![Vec::new(); self.nodes()];
        let mut below_another = vec![false; self.nodes()];
        for stop in &walk {
            let node = stop.node;
            let room = if below_another[node] || self.start == Some(node) {
                1
            } else {
                2
            };
            let by_freedom = |wanted: bool| {
                let free = &free;
                children[node]
                    .iter()
                    .copied()
                    .filter(move |&child| free[child] == wanted)
            };
            let chosen: Vec<usize> = by_freedom(true)
                .chain(by_freedom(false))
                .take(room)
                .collect();
            for &child in &chosen {
                below_another[child] = true;
            }
            kept[node] = chosen;
        }
        let mut chain = Vec::with_capacity(self.nodes());
        for stop in walk.iter().filter(|stop| !below_another[stop.node]) {
            let arm = |first: Option<&usize>| {
                let mut arm = Vec::new();
                let mut next = first.copied();
                while let Some(node) = next {
                    arm.push(node);
                    next = kept[node].first().copied();
                }
                arm
            };
            chain.extend(arm(kept[stop.node].get(1)).into_iter().rev());
            chain.push(stop.node);
            chain.extend(arm(kept[stop.node].first()));
        }
        chain
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn graph(nodes: usize, pairs: &[(usize, usize)]) -> BusGraph {
        let links = pairs
            .iter()
            .map(|&(a, b)| Link {
                a,
                b,
                length: Some(Feet(10.0)),
            })
            .collect();
        BusGraph::new(nodes, Some(0), links)
    }

    fn order(graph: &BusGraph) -> Vec<(usize, Hangs)> {
        graph.walk().iter().map(|s| (s.node, s.hangs)).collect()
    }

    #[test]
    fn a_chain_is_walked_from_the_outdoor_unit() {
        use Hangs::{Chain, Start};
        let chain = graph(4, &[(2, 3), (1, 2), (0, 1)]);
        assert_eq!(
            order(&chain),
            [(0, Start), (1, Chain), (2, Chain), (3, Chain)]
        );
        assert_eq!(chain.walk()[3].total, Feet(30.0));
        assert_eq!(chain.farthest(), Some((3, Feet(30.0))));
        assert_eq!(chain.propose(), [0, 1, 2, 3]);
        assert!(chain.closing().is_empty() && chain.repeated().is_empty());
    }

    #[test]
    fn stars_loops_and_broken_ends_are_told_apart() {
        use Hangs::{Apart, Branch, Chain, Start};
        let star = graph(4, &[(0, 1), (0, 2), (0, 3)]);
        assert_eq!(star.links_at(0), [0, 1, 2]);
        assert_eq!(
            order(&star),
            [(0, Start), (1, Chain), (2, Branch), (3, Branch)]
        );
        assert_eq!(star.propose(), [0, 1, 2, 3]);
        let ring = graph(4, &[(0, 1), (1, 2), (2, 3), (3, 0)]);
        assert_eq!(ring.closing(), [3]);
        assert_eq!((ring.arms(0), ring.links_at(0).len()), (1, 2));
        let broken = graph(5, &[(0, 1), (2, 3), (3, 4)]);
        assert_eq!(broken.reached(), [true, true, false, false, false]);
        assert_eq!(broken.parts_apart(), 1);
        assert_eq!(order(&broken)[2], (2, Apart));
        let twice = graph(2, &[(0, 1), (1, 0), (1, 1)]);
        assert_eq!(twice.repeated(), [(1, 0)]);
        assert_eq!(twice.closing(), [2]);
    }

    #[test]
    fn a_proposal_keeps_what_it_can() {
        // A branch below the first unit: both of its further runs can stay
        // only if the run from the outdoor unit goes; the natural chain
        // keeps as many.
        let branch = graph(4, &[(0, 1), (1, 2), (1, 3)]);
        assert_eq!(branch.propose(), [0, 1, 2, 3]);
        // The outdoor unit in the middle keeps its first arm.
        let middle = graph(5, &[(0, 1), (1, 2), (0, 3), (3, 4)]);
        assert_eq!(middle.propose(), [0, 1, 2, 3, 4]);
        // A unit of three arms of two units each: two arms stay whole.
        let arms = graph(8, &[(0, 1), (1, 2), (2, 3), (1, 4), (4, 5), (1, 6), (6, 7)]);
        assert_eq!(kept(&arms), 5);
    }

    #[test]
    fn a_long_chain_needs_no_deep_stack() {
        let pairs: Vec<_> = (0..100_000).map(|n| (n, n + 1)).collect();
        let long = graph(100_001, &pairs);
        assert_eq!(long.walk().len(), 100_001);
        assert_eq!(long.propose().last(), Some(&100_000));
    }

    /// Scheduled links that stand next to each other in the proposal.
    fn kept(graph: &BusGraph) -> usize {
        let chain = graph.propose();
        chain
            .windows(2)
            .filter(|pair| {
                graph
                    .links
                    .iter()
                    .any(|l| (l.a, l.b) == (pair[0], pair[1]) || (l.b, l.a) == (pair[0], pair[1]))
            })
            .count()
    }

    /// The most links of a forest that any chain from node 0 can keep, by
    /// trying every subset.
    fn most(graph: &BusGraph) -> usize {
        let links: Vec<_> = graph.forest.edge_indices().collect();
        let mut best = 0;
        for subset in 0_u32..1 << links.len() {
            let mut degree = vec![0; graph.nodes()];
            for (bit, edge) in links.iter().enumerate() {
                if subset >> bit & 1 == 1 {
                    let link = graph.links[graph.forest[*edge]];
                    degree[link.a] += 1;
                    degree[link.b] += 1;
                }
            }
            if degree[0] <= 1 && degree.iter().all(|&d| d <= 2) {
                best = best.max(subset.count_ones() as usize);
            }
        }
        best
    }

    proptest! {
        #[test]
        fn a_proposal_holds_every_unit_once_and_keeps_the_most(
            pairs in prop::collection::vec((0_usize..8, 0_usize..8), 0..11)
        ) {
            let graph = graph(8, &pairs);
            let mut chain = graph.propose();
            prop_assert_eq!(chain.first(), Some(&0));
            // A link left out to open a loop may come in again by chance.
            prop_assert!(kept(&graph) >= most(&graph));
            chain.sort_unstable();
            prop_assert_eq!(chain, (0..8).collect::<Vec<_>>());
        }
    }
}
